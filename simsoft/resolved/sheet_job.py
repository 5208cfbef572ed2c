"""From a plate of the lure to a job: the sheet that bends, and the slabs that its elements are."""

from __future__ import annotations

import numpy as np

from simsoft.bodies.plate.equilibrium import extent
from simsoft.case.model import BodyInput
from simsoft.core.arrays import Array
from simsoft.geometry.planform import Planform
from simsoft.hydrodynamics.plate.flow import Flow, make_flow
from simsoft.lure.parts import Specimen, Strip
from simsoft.lure.plate_model import PlateModel, build_plate, cached_panels, interpolation_at
from simsoft.properties.water import Water
from simsoft.resolved.job import Job
from simsoft.resolved.pieces import with_body
from simsoft.resolved.sheet import SoftSheet
from simsoft.resolved.slabs import sheet_pieces
from simsoft.resolved.tail import KICK, body_sections


def virtual_flow(planform: Planform, density: float) -> Flow:
    """Return the load of water that has the added mass of a planform and does nothing else."""
    panels = cached_panels(planform.plan, planform.quads)
    return make_flow(
        planform.plan, planform.quads, panels, interpolation_at(planform, panels.middle), density,
        drag=0.0, friction=0.0, stall=0.0, attached=False, added_mass=True,
    )  # fmt: skip


def sheet_of(model: PlateModel, density: float, modulus: float, damping_time: float) -> SoftSheet:
    """Return the sheet of a plate in water of a density [kg/m^3], at rest as moulded.

    ``modulus`` [Pa] and ``damping_time`` [s] are of the material as the beat feels it.
    """
    planform = model.planform
    mass = model.mass.tocsr()
    return SoftSheet(
        plate=model.plate,
        flow=virtual_flow(planform, density),
        mass=mass.data,
        mass_columns=mass.indices.astype(np.int64),
        mass_rows=mass.indptr.astype(np.int64),
        dead=model.dead,
        modulus=modulus,
        damping=damping_time,
        length=extent(model),
        free=model.free,
        held=np.flatnonzero(planform.clamped),
        marks=np.column_stack([planform.centre, planform.edges]).astype(np.int64),
        root=model.root,
        state=model.state,
        rate=np.zeros_like(model.state),
    )


def kicked(sheet: SoftSheet, speed: float) -> SoftSheet:
    """Return the sheet that is let go with its tip at a speed [m/s] along y.

    The rate grows with the square of the way from the root, so that nothing starts at a kink.
    """
    way = np.linalg.norm(sheet.state[:, :3], axis=1)
    rate = np.zeros_like(sheet.state)
    rate[:, 1] = speed * (way / way.max()) ** 2
    return sheet._replace(rate=rate)


def plate_job(
    strip: Strip, surrounding: Water, values: dict[str, float], *, speed: float, modulus: float,
    damping_time: float, gravity: bool = True, body: BodyInput | None = None,
    elements: int | None = None, kick: float = KICK,
) -> Job:  # fmt: skip
    """Return the job of a plate held at its root in a stream along x; see ``tail.tail_job``.

    Its size is its largest width.
    """
    model = build_plate(Specimen(strip, surrounding, values, gravity=gravity, elements=elements))
    sheet = kicked(sheet_of(model, surrounding.density, modulus, damping_time), kick * speed)
    thickness: Array = model.plate.thickness.mean(axis=1)
    pieces = sheet_pieces(model.plate.quads, model.state, thickness)
    if body is not None:
        nose = model.root - np.array([body.length, 0.0, 0.0])
        pieces = with_body(pieces, nose, *body_sections(body), body.length)
    return Job(
        name=strip.name,
        pieces=pieces,
        rod=None,
        shape=np.zeros((0, 4)),
        rate=np.zeros((0, 3)),
        forced=None,
        speed=speed,
        pace=speed,
        size=float(np.ptp(model.planform.plan[:, 1])),
        density=surrounding.density,
        viscosity=surrounding.viscosity / surrounding.density,
        centre=model.root,
        ramp=np.zeros((0, 2)),
        sheet=sheet,
    )
