"""What a maker can change of a paddle tail, key by key: each value with the case it makes."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

from simsoft.case.model import Case, PaddleInput, Part
from simsoft.case.paddle_outlines import PADDLE_OUTLINES

HUNG = (0.2, 0.3, 0.4, 0.5)  # of the paddle's height, its centre from the stem
THICK = (0.15, 0.2, 0.25, 0.3)  # of the same, its thickness
STEM = (0.9, 0.8, 0.7, 0.6)  # of the stem's thickness
LONGER = (1.15, 1.3, 1.5, 1.7)  # of its length
SOFTER = (4.0, 8.0, 12.0, 16.0)  # Shore points
SLACKER = (0.8, 0.65, 0.5, 0.4)  # of a stated modulus
ACROSS = (0.9, 1.1, 0.8, 1.2, 0.7, 1.3)  # of the paddle's width
LEANING = (10.0, -10.0, 20.0, -20.0)  # [deg] on the paddle's angle
FLATTEST, STEEPEST = math.radians(60.0), math.radians(120.0)
LEAST_POINTS = 5.0  # Shore
DIGITS = 3  # of a value that is tried, so that what is told is what was run


@dataclass(frozen=True)
class MovedKey:
    """One key of a case at another value.

    Attributes
    ----------
    key : str, of the case
    value : float, SI, or Shore points
    unit : str, 'm', 'rad', 'Pa' or the Shore scale
    """

    key: str
    value: float
    unit: str


Tried = tuple[MovedKey, Case]


def paddle_levers(case: Case, name: str) -> list[list[Tried]]:
    """Return the changes of a stiff paddle tail, by key, the smallest first.

    Parameters
    ----------
    case : Case
    name : str, of the part in the case; it has a paddle
    """
    part = next(p for p in case.parts if p.name == name)
    rows = [
        *_of_paddle(case, part),
        list(_thinner_stem(case, part)),
        list(_longer_stem(case, part)),
        list(_softer_pour(case)),
    ]
    return [row for row in rows if row]


def with_part(case: Case, name: str, **changes: Any) -> Case:
    """Return a case with fields of one part changed."""
    parts = tuple(replace(p, **changes) if p.name == name else p for p in case.parts)
    return replace(case, parts=parts)


def with_paddle(case: Case, name: str, **changes: Any) -> Case:
    """Return a case with fields of one part's paddle changed."""
    paddle = next(p.paddle for p in case.parts if p.name == name)
    if not isinstance(paddle, PaddleInput):
        raise TypeError(f"{name} has no paddle")
    return with_part(case, name, paddle=replace(paddle, **changes))


def _of_paddle(case: Case, part: Part) -> Iterator[list[Tried]]:
    paddle, name = part.paddle, part.name
    if paddle is None:
        return
    side = -1.0 if paddle.offset < 0.0 else 1.0

    def row(key: str, unit: str, values: list[float], *fields: str) -> list[Tried]:
        made = []
        for value in map(_told, values):
            moved = with_paddle(case, name, **dict.fromkeys(fields, value))
            made.append((MovedKey(f"parts.{name}.{key}", value, unit), moved))
        return made

    hung = [side * s * paddle.height for s in HUNG if s * paddle.height > abs(paddle.offset)]
    yield row("paddle_offset", "m", hung, "offset")
    thick = [s * paddle.height for s in THICK if s * paddle.height > paddle.thickness]
    yield row("paddle_thickness", "m", thick, "thickness")
    key, *others = PADDLE_OUTLINES[paddle.shape].keys
    across = [s * paddle.width for s in ACROSS]
    yield row(key, "m", across, *(("width",) if others else ("width", "height")))
    leaning = [paddle.angle + math.radians(step) for step in LEANING]
    angles = [angle for angle in leaning if FLATTEST <= angle <= STEEPEST]
    yield row("paddle_angle", "rad", angles, "angle")


def _thinner_stem(case: Case, part: Part) -> Iterator[Tried]:
    """Yield a thinner stem, where it is as thick all along: a taper is no single number."""
    if len(set(part.thickness.values)) > 1:
        return
    for share in STEM:
        value = _told(share * part.thickness.values[0])
        sizes = replace(part.thickness, values=(value,) * len(part.thickness.values))
        change = MovedKey(f"parts.{part.name}.thickness", value, "m")
        yield change, with_part(case, part.name, thickness=sizes)


def _longer_stem(case: Case, part: Part) -> Iterator[Tried]:
    for share in LONGER:
        value = _told(share * part.length)
        change = MovedKey(f"parts.{part.name}.length", value, "m")
        yield change, with_part(case, part.name, length=value)


def _softer_pour(case: Case) -> Iterator[Tried]:
    """Yield a softer pour; that of a shop's profile was measured and is no wish."""
    pour = case.material
    if case.profile is not None:
        return
    if pour.youngs_modulus is not None:
        for share in SLACKER:
            value = _told(share * pour.youngs_modulus)
            moved = replace(case, material=replace(pour, youngs_modulus=value))
            yield MovedKey("material.youngs_modulus", value, "Pa"), moved
        return
    for points in SOFTER:
        if pour.hardness is None or pour.hardness - points < LEAST_POINTS:
            return
        value = _told(pour.hardness - points)
        moved = replace(case, material=replace(pour, hardness=value))
        yield MovedKey("material.durometer", value, str(pour.hardness_scale)), moved


def _told(value: float) -> float:
    """Return a value as it is told."""
    return float(f"{value:.{DIGITS}g}")
