"""A plate carried on a rod's end -> arrays for the solver: the rod, and the plate in its end frame.

The plate's unknowns are places and directors in the frame of the rod's end node. The nodes where
the rod ends are held in that frame, so the motion of the end carries the plate exactly, however
far it turns, and what is unknown of the plate is its own bending alone.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from scipy.sparse import csr_matrix

from simsoft.case.paddle_outlines import outline_of
from simsoft.core.arrays import Array, Integers
from simsoft.core.errors import SolveError
from simsoft.geometry.paddle import in_plane_inertia, in_plane_mass, paddle_arrays, plate_axes
from simsoft.geometry.paddle_mesh import cut_pad
from simsoft.geometry.planform import Planform
from simsoft.hydrodynamics.flexible_paddle import Pad, make_pad
from simsoft.hydrodynamics.plate.panels import panel_added_mass
from simsoft.lure.parts import ELEMENTS, GRAVITY, Specimen, Strip, without_paddle
from simsoft.lure.plate_model import cached_panels, interpolation_at
from simsoft.lure.rod_model import build_rod
from simsoft.mechanics.inertia import inertia_from_point
from simsoft.mechanics.plate import Plate, make_plate, mass_matrix, moulded_plate, nodal_volume
from simsoft.mechanics.rod import Rod, no_paddle

PAD_AROUND = 12  # elements around a paddle for a stem of as many as a convergence study asks
FEWEST_AROUND = 10


@dataclass(frozen=True)
class StemModel:
    """A plate on a rod's end at one set of input values.

    Attributes
    ----------
    rod : Rod of unit modulus, without the plate
    plate : Plate of unit modulus, stress-free as moulded
    mass : sparse (6 n, 6 n) [kg, kg m^2], of the solid
    pad : Pad or None in air
    dead : array (n, 3) [N], weight less buoyancy, lab axes
    local : array (n, 6), moulded places [m] from the rod's end node and directors, in its frame
    held : int array, nodes held in the end frame
    free : int array, unknowns (of 6 n) that are not
    rim : int array, nodes around the plate
    """

    rod: Rod
    plate: Plate
    mass: csr_matrix
    pad: Pad | None
    dead: Array
    local: Array
    held: Integers
    free: Integers
    rim: Integers


def carried(
    rod: Rod, planform: Planform, axes: Array, centre: Array, poisson_ratio: float, density: float
) -> StemModel:
    """Return a plate carried dry and weightless on a rod's end.

    Parameters
    ----------
    rod : Rod of unit modulus
    planform : Planform, its clamped nodes are held
    axes : array (3, 3), columns: the planform's two axes and its normal in the end frame
    centre : array (3,) [m], the planform's origin from the end node, in the end frame
    poisson_ratio : float [-]
    density : float [kg/m^3]
    """
    flat = make_plate(planform.plan, planform.quads, planform.thickness, poisson_ratio)
    state = planform.state
    local = np.hstack([centre + state[:, :3] @ axes.T, state[:, 3:] @ axes.T])
    nodes = len(planform.plan)
    return StemModel(
        rod=rod,
        plate=moulded_plate(flat, local),
        mass=mass_matrix(flat, nodes, density),
        pad=None,
        dead=np.zeros((nodes, 3)),
        local=local,
        held=np.flatnonzero(planform.clamped),
        free=np.flatnonzero(np.repeat(~planform.clamped, 6)),
        rim=planform.outline,
    )


def build_stem(specimen: Specimen, around: int | None = None) -> StemModel:
    """Return a paddle that bends on its stem, for unit modulus.

    Parameters
    ----------
    specimen : Specimen of a strip with a paddle; ``elements`` are those along the stem
    around : int, elements around the paddle; default in proportion to those of the stem

    Raises
    ------
    SolveError
        If the stem's end leaves no room for a mesh on the paddle.
    """
    strip, values = specimen.strip, specimen.values
    part = strip.part
    if part.paddle is None:
        raise SolveError(f"{strip.name} carries no plate")
    count = specimen.cuts
    rod = build_rod(replace(specimen, strip=without_paddle(strip), elements=count))
    rim = around or max(FEWEST_AROUND, round(PAD_AROUND * count / ELEMENTS[part.kind]))
    try:
        planform = cut_pad(part, rim, values["thickness"])
    except ValueError as problem:
        raise SolveError(f"{strip.name}: {problem}") from None
    fluid = specimen.fluid_density
    axes = plate_axes(part.paddle.angle)
    centre = -part.paddle.offset * axes[:, 1] + 0.5 * part.paddle.thickness * axes[:, 2]
    # the water that goes along the plate rides on the rod's end, to which the plate is held
    along = in_plane_mass(part.paddle, values, fluid if part.loads.added_mass else 0.0)
    beside = in_plane_inertia(along, axes, centre)
    tip = np.array([0.0, 0.0, 0.5 * rod.length[-1]])
    rod.fluid[-1] += inertia_from_point(beside, tip)
    model = carried(
        rod._replace(paddle=no_paddle()),
        planform,
        axes,
        centre,
        strip.poisson_ratio,
        values["density"],
    )
    dead = model.dead
    volume = nodal_volume(model.plate, len(planform.plan))
    if specimen.gravity:
        dead[:, 2] -= (values["density"] - fluid) * GRAVITY * volume
    pad = None if specimen.air else _pad(strip, planform, values, fluid, volume)
    return replace(model, dead=dead, pad=pad)


def _pad(
    strip: Strip, planform: Planform, values: dict[str, float], density: float, volume: Array
) -> Pad:
    """Return the water's load on the plate; ``volume`` (n,) [m^3] is even in thickness."""
    part = strip.part
    if part.paddle is None:
        raise SolveError(f"{strip.name} carries no plate")
    stiff, _, _ = paddle_arrays(part.paddle, part.loads, values, values["density"], density, 0.0)
    panels = cached_panels(planform.plan, planform.quads)
    water = density if part.loads.added_mass else 0.0
    patch = planform.plan[planform.clamped]
    low = np.flatnonzero(planform.clamped)[patch[:, 1] == patch[:, 1].min()]
    kick = low[np.argsort(planform.plan[low, 0])][[0, -1]]
    return make_pad(
        planform.plan,
        planform.quads,
        interpolation_at(planform, panels.middle)[0],
        water * panel_added_mass(panels),
        volume / volume.sum(),
        kick,
        stiff,
        disc=outline_of(part.paddle.shape).oval,
    )
