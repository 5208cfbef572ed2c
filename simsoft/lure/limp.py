"""Parts too limp to be solved: many times as long as what their weight in water bends.

The bending length (E I / w)^(1/3) of a rod of bending stiffness E I and weight w per length is
the one over which its weight bends it by an angle of order one (heavy elastica; Landau & Lifshitz,
Theory of Elasticity, section 20, from memory).
"""

from __future__ import annotations

import numpy as np
from scipy.optimize import brentq

from simsoft.case.model import Case
from simsoft.core.errors import InputError
from simsoft.lure.parts import Lure, Specimen, Strip, assemble, values_of
from simsoft.lure.rod_model import build_rod
from simsoft.properties.material import formula_modulus
from simsoft.properties.water import Water

# Bending lengths in a part. A ribbon of 19.5 took 224 s of a processor (measured), one of 27 had no
# answer after ten minutes: past the limit a part is refused. Each of the trade's sizes, softest
# pours and heaviest fillings is taken; all ends of them at once are not (tests/lure/test_limp.py).
MOST_BENDS = 20.0
# From here on a run took a minute or two of a processor (measured, ribbons of 4 x 0.36 mm).
SLOW_BENDS = 8.0
SAMPLES = 16  # elements, enough to add up the bending lengths of a taper
SHORTER = 0.99  # of the longest allowed: a little stiffening goes with the length
HARDEST = 95.0  # Shore points, past which no harder material is named as a way out


def bending_lengths(strip: Strip, water: Water, values: dict[str, float]) -> float:
    """Return how many times what its weight in water bends a strip is long; zero if weightless.

    Parameters
    ----------
    strip : Strip
    water : Water
    values : dict, input values by name
    """
    rod = build_rod(Specimen(strip, water, values, gravity=True, elements=SAMPLES))
    weight = np.abs(rod.weight[:, 2]) / rod.span
    weight[-1] = weight[-2]  # what hangs at the tip is no weight of the strip's own
    stiffness = values["modulus"] * rod.stiffness[:, 1] * rod.length
    return float(np.sum(rod.length * np.cbrt(weight / stiffness)))


def check_limp(case: Case, lure: Lure) -> None:
    """Refuse a lure with a part that is too limp in water.

    A case that states a modulus may be another thing than a lure, and is tried.

    Raises
    ------
    InputError
        One line for each part: what was given, and which length, thickness or hardness is allowed.
    """
    stated = case.material.youngs_modulus is not None
    if stated or not any(scenario.gravity for scenario in case.scenarios):
        return
    problems = []
    for strip in lure.strips:
        count = bending_lengths(strip, lure.water, values_of(strip))
        if count > MOST_BENDS:
            problems.append(_problem(case, strip, count))
    if problems:
        raise InputError(list(dict.fromkeys(problems)))


def slow_parts(case: Case) -> list[str]:
    """Return a line for every part so limp that a run takes long, to be said before it starts."""
    if not any(scenario.gravity for scenario in case.scenarios):
        return []
    lure = assemble(case)
    told = []
    for strip in lure.strips:
        count = bending_lengths(strip, lure.water, values_of(strip))
        if count > SLOW_BENDS:
            told.append(
                f"parts.{strip.part.name}: is {count:.1f} times as long as what its weight in "
                f"water bends; past {SLOW_BENDS:g} times a run takes minutes, Ctrl-C ends it"
            )
    return list(dict.fromkeys(told))


def limp_words(strip: Strip, water: Water, values: dict[str, float]) -> str:
    """Return what to say of a strip without a rest shape; empty where it is not too limp."""
    count = bending_lengths(strip, water, values)
    if count <= MOST_BENDS:
        return ""
    length = 1e3 * strip.part.length
    return (
        f"; too limp: its weight in water bends each {length / count:.2g} mm of its {length:.3g} "
        f"mm, tried are lengths up to {MOST_BENDS:g} times that; give a stiffer material, more "
        "thickness or less length"
    )


def _problem(case: Case, strip: Strip, count: float) -> str:
    """Return the line that refuses a strip, and the ways out: the bending length is ~ h^(2/3)."""
    part, over = strip.part, count / MOST_BENDS
    length, thin = 1e3 * part.length, 1e3 * min(part.thickness.values)
    key = "diameter" if part.kind == "leg" else "thickness"
    ways = [
        f"`length` up to {_down(SHORTER * length / over):.4g} mm",
        f"`{key}` from {thin * over**1.5 + 0.005:.2f} mm",
    ]
    harder = _harder(case, over**3)
    if harder:
        ways.append(harder)
    return (
        f"parts.{part.name}.length: is {length:.3g} mm, {count:.1f} times the {length / count:.2g} "
        f"mm that its weight in water bends; at most {MOST_BENDS:g} times is allowed of a lure: "
        + ", or ".join(ways)
    )


def _down(value: float) -> float:
    """Return a number rounded down to a tenth, so that it is itself allowed."""
    return float(np.floor(10.0 * value) / 10.0)


def _harder(case: Case, stiffer: float) -> str:
    """Return the durometer of a material so many times as stiff, empty where none is known."""
    scale, points = case.material.hardness_scale, case.material.hardness
    if scale is None or points is None or case.profile is not None:
        return ""
    wanted = stiffer * formula_modulus(scale, points)
    if points >= HARDEST or formula_modulus(scale, HARDEST) < wanted:
        return ""
    found = brentq(lambda x: formula_modulus(scale, x) - wanted, points, HARDEST)
    return f"`material.durometer` from {np.ceil(10.0 * found) / 10.0:.1f} {scale}"
