"""Numbers of checks on plates carried on a rod's end."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from simsoft.bodies.paddle.modes import Carried, stem_modes
from simsoft.case.model import Case, MaterialInput, Part, Scenario, Taper, WaterInput
from simsoft.core.errors import SolveError
from simsoft.geometry.planform import mapped
from simsoft.lure.paddle_model import StemModel, build_stem, carried
from simsoft.lure.parts import Specimen, Strip, assemble, values_of
from simsoft.lure.rod_model import build_rod, with_material
from simsoft.solvers.modes import Modes

MODULUS, DENSITY, THICKNESS = 2.0e5, 1080.0, 1.0e-3  # of a strip cut in two
STIFF = 300.0  # times its modulus, a plate is stiff; more costs digits of the slow modes
SHAPES = 12  # modes looked through for those that are asked for


def strip_cut_in_two(share: float, along: int, modes: int = 3) -> list[float]:
    """Return omega L^2 sqrt(rho A/(E I)) [-] of a dry strip, root half rod, outer half plate.

    Parameters
    ----------
    share : float, width over length
    along : int, elements along each half
    modes : int, of bending across the flat
    """
    length = 0.1
    size, thick = Taper((0.0,), (share * length,)), Taper((0.0,), (THICKNESS,))
    half = Part("half", "strip", 0.5 * length, size, thick, bending="beam", model="rod")
    strip = _alone(half, along)
    rod = build_rod(Specimen(strip, assemble(_case(half, along)).water, values_of(strip),
                    gravity=False, air=True))  # fmt: skip
    planform = mapped(half, along, 0.0, 0.0)
    axes = np.array([[0.0, 0.0, -1.0], [0.0, 1.0, 0.0], [1.0, 0.0, 0.0]])
    model = carried(rod, planform, axes, np.zeros(3), 0.3, DENSITY)
    found = _modes(model, MODULUS, 1.0)
    scale = 2.0 * math.pi * length**2 * math.sqrt(12.0 * DENSITY / MODULUS) / THICKNESS
    return [scale * f for f in _soft(found, modes)]


def stiff_plate_on_stem(case: Case, around: int) -> list[float]:
    """Return the dry frequencies [Hz] of a stem with a plate stiffened three hundred times.

    First and second bending across the flat, first along the width, first twist; ``around`` is
    the number of elements around the plate.
    """
    lure = assemble(case)
    strip = lure.strips[0]
    values = values_of(strip)
    model = build_stem(Specimen(strip, lure.water, values, gravity=False, air=True), around=around)
    found = _modes(model, values["modulus"], STIFF)
    return [
        *_soft(found, 2),
        *(_first(found, kind) for kind in ("stiff bending", "twist")),
    ]


def _case(part: Part, elements: int) -> Case:
    case = Case(
        title="strip cut in two",
        water=WaterInput(),
        material=MaterialInput(
            youngs_modulus=MODULUS, poisson_ratio=0.3, density=DENSITY, loss_factor=0.0
        ),
        parts=(part,),
        scenarios=(Scenario("free", "hold", gravity=False),),
    )
    return replace(case, numerics=replace(case.numerics, elements=elements))


def _alone(part: Part, elements: int) -> Strip:
    return assemble(_case(part, elements)).strips[0]


def _modes(model: StemModel, modulus: float, stiffened: float) -> Modes:
    rod = with_material(model.rod, modulus, 0.0)
    carried = Carried(model, rod, model.plate, stiffened * modulus)
    return stem_modes(carried, rod.natural, model.local, SHAPES)


def _soft(found: Modes, count: int) -> list[float]:
    """Return the lowest frequencies [Hz] that bend across the flat, in the rod or the plate."""
    soft = [f for f, kind in zip(found.frequency, found.kind, strict=True) if "soft" in kind]
    if len(soft) < count:
        raise SolveError("fewer modes across the flat than asked for")
    return [float(f) for f in soft[:count]]


def _first(found: Modes, kind: str) -> float:
    if kind not in found.kind:
        raise SolveError(f"no mode of {kind} among the first")
    return float(found.frequency[found.kind.index(kind)])
