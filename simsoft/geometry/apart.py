"""How far apart the shapes of two cases are, whatever their size, stiffness and water."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from simsoft.case.model import BodyInput, Case, PaddleInput, Part, Taper

NO_SIZE = Taper((), ())
NO_PADDLE = PaddleInput("disc", 1.0, 1.0, 1.0, 0.0, 0.0)
STATIONS = np.linspace(0.0, 1.0, 11)
# What a paddle hangs below its stem, over its size: 0 to 0.5 is all that is used. Twice that counts
# like the logarithm of a length that doubles or halves (a judgement).
OFFSET_COUNTS = 2.0
FAR = math.inf


def shape_distance(before: Case, after: Case) -> float:
    """Return how far apart two shapes are [-].

    Sizes are taken over the paddle's. The root of the summed squares is of logarithms of length,
    width, paddle's thickness and body, of the paddle's angle [rad] and of twice its offset. The
    stem's thickness is a stiffness and does not count, nor do densities and what hangs on the lure.

    Returns
    -------
    distance : float, infinite where something else differs, such as the kind of a part
    """
    pairs = list(zip(before.parts, after.parts, strict=False))
    same = len(before.parts) == len(after.parts) and all(_frame(a) == _frame(b) for a, b in pairs)
    if not same or (before.body is None) != (after.body is None):
        return FAR
    steps = [step for a, b in pairs for step in _part_steps(a, b)]
    if before.body is not None and after.body is not None:
        if _body_frame(before.body) != _body_frame(after.body):
            return FAR
        steps += _body_steps(before.body, after.body, *(_scale(case) for case in (before, after)))
    return math.hypot(*steps)


def _frame(part: Part) -> Part:
    """Return all of a part that is neither a size that `shape_distance` measures, nor stiffness."""
    bare = NO_PADDLE if part.paddle is None else replace(NO_PADDLE, shape=part.paddle.shape)
    return replace(
        part, length=0.0, width=NO_SIZE, thickness=NO_SIZE, position=(0.0, 0.0, 0.0),
        paddle=None if part.paddle is None else bare, soft_ahead=0.0,
        body_ahead=None if part.body_ahead is None else (0.0, 0.0),
        density=None,
    )  # fmt: skip


def _body_frame(body: BodyInput) -> BodyInput:
    return replace(
        body, length=0.0, height=NO_SIZE, width=NO_SIZE, density=None, salt_fraction=0.0,
        microballoon_fraction=0.0, microballoon_density=None, air_fraction=0.0,
        slot_width=0.0, slot_height=0.0, slot_from=0.0, slot_to=0.0,
    )  # fmt: skip


def _part_steps(a: Part, b: Part) -> Iterator[float]:
    """Yield by how much every number of a part's shape differs."""
    scales = [_size(part) for part in (a, b)]
    yield _log((a.length, b.length), scales)
    yield _log((a.length + a.soft_ahead, b.length + b.soft_ahead), scales)
    yield _profile((a.width, b.width), scales)
    if a.body_ahead is not None and b.body_ahead is not None:
        for sizes in zip(a.body_ahead, b.body_ahead, strict=True):
            yield _log(sizes, scales)
    if a.paddle is not None and b.paddle is not None:
        yield _log((a.paddle.thickness, b.paddle.thickness), scales)
        yield math.log(a.paddle.width / a.paddle.height * b.paddle.height / b.paddle.width)
        yield a.paddle.angle - b.paddle.angle
        hung = [part.offset / size for part, size in zip((a.paddle, b.paddle), scales, strict=True)]
        yield OFFSET_COUNTS * (hung[0] - hung[1])


def _body_steps(a: BodyInput, b: BodyInput, *scales: float) -> Iterator[float]:
    yield _log((a.length, b.length), scales)
    yield _profile((a.height, b.height), scales)
    yield _profile((a.width, b.width), scales)


def _size(part: Part) -> float:
    """Return the size [m] that the others are taken over: of the paddle, else the length."""
    if part.paddle is None:
        return part.length
    return math.sqrt(part.paddle.width * part.paddle.height)


def _scale(case: Case) -> float:
    """Return the size [m] of the first paddle, else the length of the body."""
    paddles = [_size(part) for part in case.parts if part.paddle is not None]
    return paddles[0] if paddles else case.body.length if case.body is not None else 1.0


def _log(sizes: tuple[float, float], scales: tuple[float, ...] | list[float]) -> float:
    return math.log(sizes[1] / sizes[0] * scales[0] / scales[1])


def _profile(tapers: tuple[Taper, Taper], scales: tuple[float, ...] | list[float]) -> float:
    """Return the root mean square, along the length, by which two profiles differ."""
    first, second = (np.interp(STATIONS, t.stations, t.values) for t in tapers)
    both = (first > 0.0) & (second > 0.0)
    if not both.any():
        return 0.0
    steps = np.log(second[both] / first[both] * scales[0] / scales[1])
    return float(np.sqrt((steps**2).mean()))
