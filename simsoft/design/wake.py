"""Why a paddle will not kick, and what would wake it: each change screened, none guessed."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import Any

from simsoft.case.model import Case, PaddleInput, Part
from simsoft.core.errors import SimsoftError
from simsoft.lure.parts import Strip, assemble, values_of
from simsoft.results.record import Record
from simsoft.scenarios.question import SCREENED, solve
from simsoft.scenarios.screening import can_screen

# Below these a paddle is called centred, thin or shaded: shares of its height, of its height again
# and of the stream (judgement, after the offsets and thicknesses of validation/RESOLVED.md).
CENTRED, THIN, SHADED = 0.15, 0.13, 0.85
HUNG, THICK = (0.2, 0.3, 0.4, 0.5), (0.15, 0.2, 0.25, 0.3)  # of the height, tried in turn
STEM = (0.9, 0.8, 0.7, 0.6)  # of the stem's thickness
SOFTER = (-4.0, -8.0, -12.0, -16.0)  # Shore points
UPRIGHT = (90.0, 80.0, 100.0)  # [deg]
LEAST_POINTS = 5.0  # Shore


@dataclass(frozen=True)
class Waking:
    """A change that makes a paddle kick.

    Attributes
    ----------
    key : str, of the case
    value : float, SI, or Shore points
    unit : str, 'm', 'rad' or the Shore scale
    start : float [m/s], screened
    """

    key: str
    value: float
    unit: str
    start: float


@dataclass(frozen=True)
class Asleep:
    """A paddle without a start.

    Attributes
    ----------
    part : str
    reasons : tuple of str
    waking : tuple of Waking, the smallest change of every key that does it alone
    """

    part: str
    reasons: tuple[str, ...]
    waking: tuple[Waking, ...]


def asleep(case: Case, records: tuple[Record, ...]) -> list[Asleep]:
    """Return the paddles of a run that have no start, why, and what would wake each.

    Parameters
    ----------
    case : Case
    records : of its run
    """
    found = []
    strips = assemble(case).strips if any(p.paddle for p in case.parts) else ()
    for strip in strips:
        paddle = strip.part.paddle
        starts = [r for r in records if r.quantity == "start_speed" and r.part == strip.name]
        if paddle is None or not strip.swings_stiff or not starts:
            continue
        if any(record.value is not None for record in starts):
            continue
        waking = tuple(_waking(case, strip, paddle))
        found.append(Asleep(strip.name, tuple(_reasons(strip, paddle)), waking))
    return found


def _reasons(strip: Strip, paddle: PaddleInput) -> Iterator[str]:
    if abs(paddle.offset) < CENTRED * paddle.height:
        yield "its paddle is centred on the stem, so that the stream hardly twists it"
    if paddle.thickness < THIN * paddle.height:
        yield "its paddle is thin, so that its rim feels little of the wake"
    shade = strip.inputs.get("shading")
    if shade is not None and shade.value < SHADED:
        yield f"the body ahead leaves it {100 * shade.value:.0f} % of the stream"


def _waking(case: Case, strip: Strip, paddle: PaddleInput) -> Iterator[Waking]:
    """Yield for every key the first value in turn with which the paddle starts."""
    number = next(i for i, p in enumerate(case.parts) if strip.name.split("/")[0] == p.name)
    part = case.parts[number]
    path, height = f"parts.{part.name}", paddle.height

    def with_part(**changes: Any) -> Case:
        parts = list(case.parts)
        parts[number] = replace(part, **changes)
        return replace(case, parts=tuple(parts))

    def with_paddle(**changes: Any) -> Case:
        return with_part(paddle=replace(paddle, **changes))

    rows = {
        f"{path}.paddle_offset": ("m", [
            (s * height, with_paddle(offset=s * height)) for s in HUNG if s * height > paddle.offset
        ]),
        f"{path}.paddle_thickness": ("m", [
            (s * height, with_paddle(thickness=s * height))
            for s in THICK if s * height > paddle.thickness
        ]),
        f"{path}.paddle_angle": ("rad", [
            (math.radians(a), with_paddle(angle=math.radians(a))) for a in UPRIGHT
        ]),
        f"{path}.thickness": ("m", [(s * _thick(part), _stem(part, s, with_part)) for s in STEM]),
        "material.durometer": (str(case.material.hardness_scale), _softer(case)),
    }  # fmt: skip
    for key, (unit, tried) in rows.items():
        for value, moved in tried:
            start = _start(moved, strip.name)
            if start is not None:
                yield Waking(key, value, unit, start)
                break


def _thick(part: Part) -> float:
    return max(part.thickness.values)


def _stem(part: Part, share: float, with_part: Callable[..., Case]) -> Case:
    sizes = tuple(share * value for value in part.thickness.values)
    return with_part(thickness=replace(part.thickness, values=sizes))


def _softer(case: Case) -> list[tuple[float, Case]]:
    own = case.material.hardness
    if own is None or case.profile is not None:
        return []
    return [
        (own + step, replace(case, material=replace(case.material, hardness=own + step)))
        for step in SOFTER
        if own + step >= LEAST_POINTS
    ]


def _start(case: Case, name: str) -> float | None:
    """Return the start of a part by screening within the speeds of the case, None for none."""
    try:
        lure = assemble(case)
        strip = next(strip for strip in lure.strips if strip.name == name)
        scenario = next(s for s in case.scenarios if can_screen(strip, s))
        found = solve(strip, lure.water, values_of(strip), replace(scenario, onset=True), SCREENED)
    except (SimsoftError, StopIteration):
        return None
    value = found.answers["start_speed", ()].value
    return value if isinstance(value, float) else None
