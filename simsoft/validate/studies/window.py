"""Study: thickness window of the demo paddle tail, stems 1-5 mm and moduli 50-400 kPa."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from simsoft.case.model import Case, MaterialInput, PaddleInput, Taper, WaterInput
from simsoft.core.errors import SolveError
from simsoft.geometry.paddle import plate_area, thickness_share
from simsoft.properties.coefficients import PADDLE_NORMAL_FORCE
from simsoft.properties.water import resolve_water
from simsoft.validate.studies.tools import Solved, demo, solve_cases, table, table_number

HEIGHT = 4.0e-3  # [m], of every stem
THICKNESSES = (1.0e-3, 1.5e-3, 2.0e-3, 2.5e-3, 3.2e-3, 4.0e-3, 5.0e-3)  # [m]
MODULI = (50e3, 100e3, 200e3, 400e3)  # [Pa]
SPEEDS = (0.3, 0.6, 0.9)  # [m/s]
TOP_SPEED = 4.0  # [m/s], end of the start-speed search
LOSS_FACTOR = 0.16
RESOLVED_RATE = (0.20, 0.23)  # f D/U of free tails in a resolved-flow study, computed here
FOLD_RULE = 60.0  # [deg], fold-back over F e L/(E I), from memory
SMALL_FOLD = 10.0  # [deg], below which the rule for the fold-back is tried
STILL = "still"


@dataclass(frozen=True)
class StemPoint:
    """What one stem does at one speed.

    Attributes
    ----------
    speed : float [m/s]
    verdict : str
    frequency, stroke, fold_back : float or None, [Hz], [m], [deg]
    width : float [m], of the paddle
    fold_rule : float [deg], 60 F e L/(E I)
    """

    speed: float
    verdict: str
    frequency: float | None
    stroke: float | None
    fold_back: float | None
    width: float
    fold_rule: float

    @property
    def rate(self) -> float | None:
        """Frequency over that in which the stream passes the paddle, f D/U [-]."""
        return None if not self.frequency else self.frequency * self.width / self.speed


@dataclass(frozen=True)
class Stem:
    """One thickness [m] and modulus [Pa] with its answers.

    Attributes
    ----------
    start : float or None [m/s]
    natural : float [Hz], first frequency in water
    start_rule : float or None [-], start speed over f_n D
    start_rate : float or None [-], frequency at the start over the first in water
    points : tuple of Point
    """

    thickness: float
    modulus: float
    start: float | None
    natural: float
    start_rule: float | None
    start_rate: float | None
    points: tuple[StemPoint, ...]


def window_case(thickness: float, modulus: float) -> Case:
    """Return the demo paddle tail with a 15 mm disc, other stems and an explicit modulus."""
    case = demo("paddle_100")
    part = replace(
        case.parts[0],
        length=0.011,
        width=Taper((0.0, 1.0), (HEIGHT, HEIGHT)),
        thickness=Taper((0.0, 1.0), (thickness, thickness)),
        paddle=PaddleInput("disc", 0.015, 0.015, 0.003, math.radians(88.0), 0.005),
    )
    scenarios = tuple(
        replace(s, speeds=SPEEDS, max_speed=TOP_SPEED) if s.kind == "retrieve" else s
        for s in case.scenarios
    )
    material = MaterialInput(youngs_modulus=modulus, density=1025.0, loss_factor=LOSS_FACTOR)
    return replace(
        case,
        title=f"stem {1e3 * thickness:g} mm, {1e-3 * modulus:g} kPa",
        water=WaterInput(),
        material=material,
        parts=(part,),
        scenarios=scenarios,
    )


def study() -> list[Stem]:
    """Run every stem of the window."""
    grid = [(h, e) for e in MODULI for h in THICKNESSES]
    cases = [window_case(*place) for place in grid]
    return [
        _stem(h, e, case, solved)
        for (h, e), case, solved in zip(grid, cases, solve_cases(cases), strict=True)
    ]


def _stem(thickness: float, modulus: float, case: Case, solved: Solved) -> Stem:
    start = solved.number("start_speed")
    natural = solved.number("natural_frequency", mode=1, medium="water")
    if natural is None:
        raise SolveError(f"{case.title}: no natural frequency in water")
    width = _paddle(case).width
    beat = solved.number("start_frequency")
    ratio = None if start is None else start / (natural * width)
    rate = None if beat is None else beat / natural
    points = tuple(
        StemPoint(
            speed,
            solved.word("verdict", speed=speed),
            solved.number("flap_frequency", speed=speed),
            solved.number("stroke", speed=speed),
            solved.number("fold_back", speed=speed),
            width,
            _fold_rule(case, speed),
        )
        for speed in SPEEDS
    )
    return Stem(thickness, modulus, start, natural, ratio, rate, points)


def _paddle(case: Case) -> PaddleInput:
    paddle = case.parts[0].paddle
    if paddle is None:
        raise ValueError(f"{case.title}: the part has no paddle")
    return paddle


def _fold_rule(case: Case, speed: float) -> float:
    """Return 60 F e L/(E I) [deg]: drag F on a lever e bends the stem upright."""
    part, paddle = case.parts[0], _paddle(case)
    modulus = case.material.youngs_modulus
    if modulus is None:
        raise ValueError(f"{case.title}: the modulus is not given")
    density = resolve_water(case.water).density
    normal_force = PADDLE_NORMAL_FORCE.value * thickness_share(paddle)
    force = 0.5 * density * speed**2 * plate_area(paddle) * normal_force
    second_moment = part.thickness.values[0] * part.width.values[0] ** 3 / 12.0
    return FOLD_RULE * force * paddle.offset * part.length / (modulus * second_moment)


def bends_sideways(stem: Stem) -> bool:
    """Return whether a stem is thinner than high, so that it bends sideways first."""
    return stem.thickness < HEIGHT


def beating(stems: Sequence[Stem]) -> list[StemPoint]:
    """Return the points that beat beyond a stem's start."""
    return [p for s in stems for p in s.points if p.verdict != STILL and p.frequency]


def small_folds(stems: Sequence[Stem]) -> list[StemPoint]:
    """Return the still points with a fold-back too small to change the drag."""
    return [
        p
        for s in stems
        for p in s.points
        if p.verdict == STILL and p.fold_back is not None and p.fold_back < SMALL_FOLD
    ]


def falling_starts(stems: Sequence[Stem]) -> list[tuple[Stem, Stem]]:
    """Return neighbours, softer first, whose start speed does not rise with stiffness."""
    return [
        (soft, stiff)
        for soft, stiff in _neighbours(stems)
        if soft.start is None or stiff.start is None or stiff.start <= soft.start
    ]


def rising_folds(stems: Sequence[Stem]) -> list[tuple[StemPoint, StemPoint]]:
    """Return points of neighbours, softer first, whose fold-back does not fall with stiffness.

    Points that beat are left out: their mean shape is not that of a fold.
    """
    return [
        (a, b)
        for soft, stiff in _neighbours(stems)
        for a, b in zip(soft.points, stiff.points, strict=True)
        if a.verdict == b.verdict == STILL
        and a.fold_back is not None
        and b.fold_back is not None
        and b.fold_back >= a.fold_back
    ]


def _neighbours(stems: Sequence[Stem]) -> Iterator[tuple[Stem, Stem]]:
    """Return pairs next to each other in thickness or modulus, softer first."""
    by_place = {(s.thickness, s.modulus): s for s in stems}
    for modulus in MODULI:
        for thin, thick in pairwise(THICKNESSES):
            yield by_place[thin, modulus], by_place[thick, modulus]
    for thickness in THICKNESSES:
        for soft, stiff in pairwise(MODULI):
            yield by_place[thickness, soft], by_place[thickness, stiff]


def section(stems: Sequence[Stem]) -> str:
    """Return the study as Markdown."""
    return "".join(
        [
            "## Thickness window of a paddle tail\n\n"
            "Stem 11 mm long and 4 mm high, 15 mm disc of 3 mm at 88 deg with its centre 5 mm "
            f"below, explicit modulus, loss factor {LOSS_FACTOR:g}.\n\n",
            _claims(stems),
            "\n",
            table(_head(), [_row(stem) for stem in stems]),
            "\n",
        ]
    )


def _claims(stems: Sequence[Stem]) -> str:
    pairs = list(_neighbours(stems))
    found = [(bends_sideways(s), s.start_rule) for s in stems if s.start_rule is not None]
    starts, upward = ([rule for b, rule in found if b == sideways] for sideways in (True, False))
    at_start = [s.start_rate for s in stems if s.start_rate is not None]
    rates = [p.rate for p in beating(stems) if p.rate is not None]
    folds = [p.fold_back / p.fold_rule for p in small_folds(stems) if p.fold_back is not None]
    compared = sum(
        a.verdict == b.verdict == STILL and a.fold_back is not None and b.fold_back is not None
        for soft, stiff in pairs
        for a, b in zip(soft.points, stiff.points, strict=True)
    )
    low, high = RESOLVED_RATE
    lines = [
        f"The start speed rises with thickness and with modulus in "
        f"{len(pairs) - len(falling_starts(stems))} of {len(pairs)} steps of the table.",
        f"The fold-back falls with them in {compared - len(rising_folds(stems))} of {compared} "
        "steps between points that are still.",
        f"Start speed over f_n D is {min(starts):.2f} to {max(starts):.2f}, the rate there "
        f"{min(at_start):.2f} to {max(at_start):.2f} of f_n: the stem sets both. Stems as thick as "
        f"they are high bend upward first and start later, at {min(upward):.2f} to "
        f"{max(upward):.2f}.",
        f"Where the tail beats, f D/U is {min(rates):.2f} to {max(rates):.2f}; a resolved-flow "
        f"study of free tails had {low:.2f} to {high:.2f} (computed here).",
        f"Fold-back over {FOLD_RULE:g} F e L/(E I) is {min(folds):.2f} to {max(folds):.2f} where "
        f"it is below {SMALL_FOLD:g} deg.",
        "All of it is screening level: strokes hold to a factor of 1.8 against a "
        "resolved flow (computed here), not yet against water.",
    ]
    return "".join(f"- {line}\n" for line in lines)


def _head() -> list[str]:
    per_speed = [f"{speed:g} m/s: verdict, rate, f D/U, stroke, fold-back" for speed in SPEEDS]
    return ["E, stem", "start [m/s]", "start/(f_n D)", *per_speed]


def _row(stem: Stem) -> list[str]:
    name = f"{1e-3 * stem.modulus:g} kPa, {1e3 * stem.thickness:g} mm"
    return [
        name,
        table_number(stem.start, 3),
        table_number(stem.start_rule, 2),
        *map(_cell, stem.points),
    ]


def _cell(point: StemPoint) -> str:
    stroke = None if point.stroke is None else 1e3 * point.stroke
    return (
        f"{point.verdict}, {table_number(point.frequency, 3)} Hz, "
        f"{table_number(point.rate, 2)}, {table_number(stroke, 2)} mm, "
        f"{table_number(point.fold_back, 2)} deg"
    )
