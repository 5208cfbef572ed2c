"""Designs about a case, each solved by screening: thickness, durometer, paddle offset, water.

Only a paddle that the screening solver serves has them. Every design is solved, none is
interpolated, so what is shown for one is what the screening solver says of it.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from itertools import product
from typing import Any, NamedTuple

from simsoft.case.model import Case, Scenario
from simsoft.case.profile import has_modulus
from simsoft.core.errors import SimsoftError
from simsoft.lure.parts import Strip, assemble, values_of
from simsoft.results.outcome import Outcome
from simsoft.scenarios.question import SCREENED, solve
from simsoft.scenarios.screening import (
    MARCH_IT,
    can_screen,
    left_to_the_march,
)

THICKNESSES = (-3, -2, -1, 0, 1, 2, 3)  # steps from the case's own
POINTS = (-8.0, -4.0, 0.0, 4.0, 8.0)  # Shore points
OFFSETS = (-1, 0, 1)  # steps
WARMTHS = (-8.0, 0.0, 8.0)  # [K]
THICKNESS_STEP = 0.1  # of the thickness, rounded to a size that can be printed
OFFSET_STEP = 0.15  # of the paddle's height
COLDEST, WARMEST = 273.65, 308.15  # [K] water that is fished
SHORE = (1.0, 99.0)
STILL = "still"
BEATS = "beats"  # said of a tail of which screening knows no more
ROUND = {"mm": 1e-3, "inch": 0.0254}  # [m]


class Slider(NamedTuple):
    """One value that can be moved.

    Attributes
    ----------
    name : str
    unit : str, 'm', 'K' or the Shore scale
    values : tuple of float, in ascending order
    own : int, place of the case's own value
    """

    name: str
    unit: str
    values: tuple[float, ...]
    own: int


class ScreenedDesign(NamedTuple):
    """What screening says of one design.

    Attributes
    ----------
    start : float or None [m/s]
    why : str, reason where there is no start
    open : bool, only a march tells whether there is one
    answers : tuple, one for each speed: verdict, BEATS or None, rate [Hz], stroke [m] and
        fold-back [deg], each a float or None
    """

    start: float | None
    why: str
    open: bool
    answers: tuple[tuple[str | None, float | None, float | None, float | None], ...]


class Screened(NamedTuple):
    """Designs about a case.

    Attributes
    ----------
    scenario, part : str
    speeds : tuple of float [m/s]
    sliders : tuple of Slider
    designs : tuple of Design, the last slider's values running fastest
    """

    scenario: str
    part: str
    speeds: tuple[float, ...]
    sliders: tuple[Slider, ...]
    designs: tuple[ScreenedDesign, ...]


def only_beats(reason: str | None) -> bool:
    """Tell whether screening lacks a verdict only because it knows no more than that it beats."""
    return reason == MARCH_IT


Change = Callable[[Case, float], Case]


def screened(case: Case) -> Screened | None:
    """Return the designs about a case, None where screening serves none of its parts."""
    found = _served(case)
    if found is None:
        return None
    scenario, strip = found
    axes = [axis for axis in _axes(case, strip) if len(axis[0].values) > 1]

    def design_at(values: tuple[float, ...]) -> ScreenedDesign:
        moved = case
        for value, (_, change) in zip(values, axes, strict=True):
            moved = change(moved, value)
        return _design(moved, scenario, strip.name)

    designs = map(design_at, product(*(slider.values for slider, _ in axes)))
    speeds = tuple(sorted(speed for speed in scenario.speeds if speed > 0.0))
    sliders = tuple(slider for slider, _ in axes)
    return Screened(scenario.name, strip.name, speeds, sliders, tuple(designs))


def moved_to(found: Screened, start: float) -> Screened:
    """Return the designs where the case's own starts at another speed, as a look at it says.

    Parameters
    ----------
    found : Screened
    start : float [m/s], of the case's own design

    Returns
    -------
    Screened
        Every start changed by the same factor, for what differs between designs is what
        screening tells best. Below its start a design is still, above it beats.
    """
    place = 0
    for slider in found.sliders:
        place = place * len(slider.values) + slider.own
    own = found.designs[place].start
    if own is None or own <= 0.0:
        return found
    return found._replace(
        designs=tuple(_started(one, start / own, found.speeds) for one in found.designs)
    )


def _started(design: ScreenedDesign, factor: float, speeds: tuple[float, ...]) -> ScreenedDesign:
    if design.start is None:
        return design
    start = factor * design.start
    answers: list[tuple[str | None, float | None, float | None, float | None]] = []
    for speed, (word, *rest) in zip(speeds, design.answers, strict=True):
        rate, stroke, fold = rest
        if speed < start:
            answers.append((STILL, None, None, fold))
        elif word == STILL:
            answers.append((BEATS, None, None, fold))
        else:
            answers.append((word, rate, stroke, fold))
    return design._replace(start=start, answers=tuple(answers))


def _served(case: Case) -> tuple[Scenario, Strip] | None:
    if not case.parts:
        return None
    strips = assemble(case).strips
    pairs = ((scenario, strip) for scenario in case.scenarios for strip in strips)
    return next((pair for pair in pairs if can_screen(pair[1], pair[0])), None)


def _design(case: Case, scenario: Scenario, name: str) -> ScreenedDesign:
    speeds = sorted(speed for speed in scenario.speeds if speed > 0.0)
    try:
        lure = assemble(case)
        strip = next(strip for strip in lure.strips if strip.name == name)
        outcome = solve(strip, lure.water, values_of(strip), scenario, SCREENED)
    except SimsoftError as error:
        return ScreenedDesign(None, str(error), False, ((None, None, None, None),) * len(speeds))
    start = outcome.answers.get(("start_speed", ()))
    answers = tuple(_at(outcome, speed) for speed in speeds)
    if start is None:
        return ScreenedDesign(None, "not asked for", True, answers)
    found = start.value if isinstance(start.value, float) else None
    return ScreenedDesign(found, start.reason or "", left_to_the_march(start.reason), answers)


def _at(
    outcome: Outcome, speed: float
) -> tuple[str | None, float | None, float | None, float | None]:
    at = (("speed", speed),)
    verdict = outcome.answers["verdict", at]
    word = BEATS if only_beats(verdict.reason) else verdict.value
    numbers = [outcome.answers[q, at].value for q in ("flap_frequency", "stroke", "fold_back")]
    rate, stroke, fold = (x if isinstance(x, float) else None for x in numbers)
    return (word if isinstance(word, str) else None), rate, stroke, fold


def _axes(case: Case, strip: Strip) -> list[tuple[Slider, Change]]:
    """Return the sliders of a case, each with what sets its value."""
    index = next(
        i for i, p in enumerate(case.parts)
        if strip.name == p.name or strip.name.startswith(f"{p.name}/")
    )  # fmt: skip
    part = case.parts[index]
    own = min(part.thickness.values)  # what bends most, and what a maker measures
    step = _round(THICKNESS_STEP * own, ROUND[case.length_unit])
    name = "thickness" if own == max(part.thickness.values) else "thickness at its thinnest"
    thick = Slider(name, "m", *_around(own, step, THICKNESSES, (0.3 * own, math.inf)))

    def thicken(moved: Case, value: float) -> Case:
        taper = moved.parts[index].thickness
        values = tuple(x * value / min(taper.values) for x in taper.values)
        return _with_part(moved, index, thickness=replace(taper, values=values))

    axes: list[tuple[Slider, Change]] = [(thick, thicken)]
    if case.material.hardness is not None and not has_modulus(case):
        ends = _around(case.material.hardness, 1.0, POINTS, SHORE)
        axes.append((Slider("durometer", str(case.material.hardness_scale), *ends), _harden))
    paddle = part.paddle
    if paddle is not None:
        step = _round(OFFSET_STEP * paddle.height, ROUND[case.length_unit])
        ends = _around(paddle.offset, step, OFFSETS, (-math.inf, math.inf))

        def hang(moved: Case, value: float) -> Case:
            here = moved.parts[index].paddle
            return _with_part(moved, index, paddle=here and replace(here, offset=value))

        axes.append((Slider("paddle offset", "m", *ends), hang))
    if case.water.density is None:
        ends = _around(case.water.temperature, 1.0, WARMTHS, (COLDEST, WARMEST))
        axes.append((Slider("water temperature", "K", *ends), _warm))
    return axes


def _harden(case: Case, value: float) -> Case:
    return replace(case, material=replace(case.material, hardness=value))


def _warm(case: Case, value: float) -> Case:
    return replace(case, water=replace(case.water, temperature=value))


def _with_part(case: Case, index: int, **changes: Any) -> Case:
    parts = list(case.parts)
    parts[index] = replace(parts[index], **changes)
    return replace(case, parts=tuple(parts))


def _around(
    own: float, step: float, steps: tuple[float, ...], limits: tuple[float, float]
) -> tuple[tuple[float, ...], int]:
    """Return values about the case's own within limits, and the place of its own."""
    places = [k for k in steps if k == 0 or limits[0] <= own + k * step <= limits[1]]
    return tuple(own + k * step if k else own for k in places), places.index(0)


def _round(step: float, unit: float) -> float:
    """Return the nearest of 1, 2 and 5 times a power of ten of a unit."""
    size = step / unit
    power = 10.0 ** math.floor(math.log10(size))
    choices = [f * power for f in (1.0, 2.0, 5.0, 10.0)]
    return unit * min(choices, key=lambda x: abs(math.log(x / size)))
