"""Applicability checks: where an answer stands outside what its model was made for.

Every check names the number, its limit, what follows and what to do.
"""

from __future__ import annotations

import math

from simsoft.case.model import Part, Scenario
from simsoft.engine.edge import FASTEST_BEAT, RATES
from simsoft.geometry.beads import highest
from simsoft.lure.parts import Strip
from simsoft.properties.water import Water
from simsoft.results.outcome import Outcome

LOWEST_REYNOLDS = 200.0  # drag coefficients are constant above about this (from memory)
LARGEST_STRAIN = 0.6  # repeated strain of soft plastisol (common practice, no source)
WIDEST = 0.6  # width over length past which a rod stands in for a plate
SHORTEST = 3.0  # length over thickness below which shear adds more than about 10 %
LARGEST_RESIDUAL = 0.05  # of the energy balance


def check_strip(strip: Strip, water: Water, scenario: Scenario, outcome: Outcome) -> list[str]:
    """Return warnings about one strip in one scenario, one sentence each."""
    part = strip.part
    warnings = []
    width = max(part.width.values)
    thickness = _thickest(part) + highest(part.beads)
    if strip.model == "rod" and width > WIDEST * part.length and part.paddle is None:
        warnings.append(
            f"{strip.name}: width is {width / part.length:.2g} of the length; a rod stands in for "
            f"a plate past {WIDEST:g}: frequencies are screening values"
        )
    if part.length < SHORTEST * thickness:
        shear = 0.75 * (1.0 + strip.poisson_ratio) * (thickness / part.length) ** 2
        warnings.append(
            f"{strip.name}: length is {part.length / thickness:.2g} times the thickness; shear, "
            f"left out, would soften it by about {100 * shear:.0f} %"
        )
    slow = [speed for speed in scenario.speeds if speed > 0.0]
    if slow and water.viscosity > 0.0 and part.loads.normal_drag != 0.0:
        reynolds = water.density * min(slow) * width / water.viscosity
        if reynolds < LOWEST_REYNOLDS:
            warnings.append(
                f"{strip.name}: Reynolds number {reynolds:.0f} at {min(slow):.3g} m/s is below "
                f"{LOWEST_REYNOLDS:g}: drag is higher than the constant coefficient says"
            )
    warnings += _strain(strip, thickness, outcome)
    rates = {a.value for (q, _), a in outcome.answers.items() if q in RATES}
    fastest = max((rate for rate in rates if isinstance(rate, float)), default=0.0)
    if fastest > FASTEST_BEAT:
        warnings.append(
            f"{strip.name}: a beat of {fastest:.3g} Hz was computed; no soft tail beats faster "
            f"than {FASTEST_BEAT:g} Hz, the model does not hold there"
        )
    for (quantity, at), answer in outcome.answers.items():
        if quantity == "energy_residual" and isinstance(answer.value, float):
            speed = dict(at).get("speed")
            if abs(answer.value) > LARGEST_RESIDUAL:
                warnings.append(
                    f"{strip.name} at {speed} m/s: energy books are off by "
                    f"{100 * answer.value:.0f} %: give a smaller numerics.step"
                )
    return warnings


def _thickest(part: Part) -> float:
    """Return the largest thickness [m] of a part, of a stem that of the stem alone."""
    beyond = part.soft_ahead / part.length
    return max(
        value
        for share, value in zip(part.thickness.stations, part.thickness.values, strict=True)
        if share >= beyond
    )


def _strain(strip: Strip, thickness: float, outcome: Outcome) -> list[str]:
    """Warn where the mean bending strain leaves what soft plastic stands or the model holds.

    The strain of a part turned by t over its length is h t/(2 L) if it bends evenly; near the
    root it is larger.
    """
    folds = [
        answer.value
        for (quantity, _), answer in outcome.answers.items()
        if quantity == "fold_back" and isinstance(answer.value, float)
    ]
    if not folds:
        return []
    strain = 0.5 * thickness * math.radians(max(folds)) / strip.part.length
    if strain <= LARGEST_STRAIN:
        return []
    return [
        f"{strip.name}: bending strain is about {100 * strain:.0f} % on average; soft plastic "
        f"tears when it repeats more than {100 * LARGEST_STRAIN:.0f} %: lengthen or thin it"
    ]
