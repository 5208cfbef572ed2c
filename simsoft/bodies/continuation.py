"""Rest shapes followed step by step: dead loads let on, and a branch through rising speeds.

The same for every kind of part; how one shape is found from a near one is the caller's.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any, TypeVar

import numpy as np

from simsoft.bodies.rod.equilibrium import JUMP
from simsoft.mechanics.rod import Stream

SMALLEST_LOAD_STEP = 1.0 / 256.0  # of the way from one load to the next
LARGEST_TURN = 0.35  # [rad] of any director or node in one step: a larger one may be a jump

Hung = TypeVar("Hung", bound=Any)  # a dataclass with ``found`` and ``message``


def let_on(
    solve: Callable[[float, Hung], Hung], turn: Callable[[Hung, Hung], float], start: Hung
) -> Hung:
    """Return the rest shape in still water: the dead loads let on in smaller and smaller parts.

    Parameters
    ----------
    solve : function of the share of the loads (0..1) and a near shape
    turn : largest turning [rad] between two shapes
    start : the moulded shape
    """
    found = start
    share, step = 0.0, 1.0
    while share < 1.0:
        trial = solve(share + step, found)
        if trial.found and turn(trial, found) < LARGEST_TURN:
            found, share = trial, share + step
            step = min(2.0 * step, 1.0 - share)
            continue
        step *= 0.5
        if step < SMALLEST_LOAD_STEP:
            return replace(found, found=False, message="no rest shape in still water")
    return found


def speed_along(stream: Stream) -> float:
    """Return the speed [m/s] of a stream, as a multiple of its direction.

    The direction of a stream that a body ahead weakens is shorter than one: the speed is that of
    the lure, as ``make_stream`` was given it.
    """
    return float(stream.velocity @ stream.direction / (stream.direction @ stream.direction))


def follow_speeds(
    solve: Callable[[Stream, Hung], Hung],
    forget: Callable[[], None],
    turn: Callable[[Hung, Hung], float],
    streams: Sequence[Stream],
    start: Hung,
    start_speed: float = 0.0,
) -> list[Hung]:
    """Follow the rest shape from ``start`` through streams of ascending speed.

    Parameters
    ----------
    solve : function of a stream and a near shape
    forget : drops the tangent that ``solve`` keeps, after a step that failed
    turn : largest turning [rad] between two shapes
    streams : sequence of Stream, one direction of any length, ascending speed
    start : shape at ``start_speed`` [m/s]

    Returns
    -------
    list of shapes
        After the branch is lost the last shape found is returned, with ``found`` false.
    """
    result: list[Hung] = []
    here, square, lost = start, start_speed**2, ""
    for stream in streams:
        target = speed_along(stream) ** 2
        step = target - square
        smallest = SMALLEST_LOAD_STEP * step
        while not lost and target - square > 1e-12 * max(target, 1e-12):
            step = min(step, target - square)
            speed = float(np.sqrt(square + step))
            found = solve(stream._replace(velocity=speed * stream.direction), here)
            if found.found and turn(found, here) < LARGEST_TURN:
                here, square, step = found, square + step, 2.0 * step
                continue
            forget()
            step *= 0.5
            if step < smallest:
                reason = JUMP if found.found else found.message
                lost = f"the rest shape is lost above {np.sqrt(square):.3g} m/s: {reason}"
        result.append(replace(here, found=not lost, message=lost))
    return result
