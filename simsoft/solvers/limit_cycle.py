"""The beat of a march: its measures, and the material that goes with it."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TypeVar

import numpy as np

from simsoft.core.arrays import Array
from simsoft.core.errors import SolveError
from simsoft.core.signals import angle_between, cycles, fluctuation, main_direction
from simsoft.mechanics.material_law import Law
from simsoft.solvers.time_march import CAME_TO_REST, March

MATERIAL_AGREES = 0.01  # relative difference of beat found and beat the material was taken at
ROUGHLY_AGREES = 0.15  # the same for searches, and for a plate whose rate the wake sets
MATERIAL_PASSES = 8
STEEPEST = 0.8  # change of the beat found over that of the beat taken, past which no line is drawn
FARTHEST = 2.0  # factor from the last beat found that the line may lead


@dataclass(frozen=True)
class Beat:
    """Measures of one march.

    Attributes
    ----------
    frequency : float [Hz]; zero where nothing beats
    stroke : float [m], tip (paddle centre) peak to peak along its main direction
    direction : array (3,), main direction of the tip's motion
    fold_back : float [rad], between moulded and mean tip direction
    tip : array (3,) [m], mean position from the clamp
    drag, side_force, root_moment : float [N], [N], [N m]
    march : March
    """

    frequency: float
    stroke: float
    direction: Array
    fold_back: float
    tip: Array
    drag: float
    side_force: float
    root_moment: float
    march: March


AnyState = TypeVar("AnyState")


def agreed_beat(
    once: Callable[[float, AnyState | None], tuple[Beat, AnyState]],
    material: Law,
    expected: float,
    agrees: float,
    start: AnyState | None = None,
    passes: int = MATERIAL_PASSES,
) -> tuple[Beat, AnyState]:
    """March on until the beat found is the one that the material was taken at.

    From the third march on the material is taken where the line through the last two meets that,
    if both have settled.

    Parameters
    ----------
    once : function of a frequency [Hz] for the material and of where an earlier march stands,
        returning the beat of a march and where it stands
    material : Law
    expected : float [Hz]
    agrees : float, relative difference that is none
    start : where the first march begins, None for the disturbed rest shape
    passes : int, marches at most
    """
    frequency = expected
    before: tuple[float, float] | None = None
    for _ in range(passes):
        beat, state = once(frequency, start)
        if beat.frequency <= 0.0 or abs(beat.frequency - frequency) <= agrees * frequency:
            return beat, state
        if material(beat.frequency) == material(frequency):
            return beat, state
        taken, start = frequency, state
        here = taken, beat.frequency
        settled = beat.march.settled
        frequency = _agreeing(before, here) if before is not None and settled else here[1]
        before = here if settled else None
    if not beat.march.settled:
        return beat, state
    message = f"beats at {beat.frequency:.3g} Hz with the material of {taken:.3g} Hz"
    return replace(beat, march=replace(beat.march, settled=False, message=message)), state


def _agreeing(before: tuple[float, float], here: tuple[float, float]) -> float:
    """Return the frequency [Hz] at which the beat found is likely that of the material.

    ``before`` and ``here`` are two marches, each the frequency taken and the beat found. Where the
    line through them does not lead on, or far away, the last beat found is returned.
    """
    (taken, found), (first, other) = here, before
    slope = (found - other) / (taken - first)
    if slope >= STEEPEST:
        return found
    agreeing = taken + (found - taken) / (1.0 - slope)
    return min(max(agreeing, found / FARTHEST), FARTHEST * found)


def beat_at_rest(moulded: Array, found: March, direction: Array) -> Beat:
    """Return the measures of a march that nothing has disturbed, of a part in its rest shape.

    The arguments are those of ``beat_of_march``.
    """
    resting = replace(found, settled=True, message=CAME_TO_REST)
    return beat_of_march(moulded, resting, direction)


def beat_of_march(moulded: Array, found: March, direction: Array) -> Beat:
    """Return the measures of a march over its settled window.

    ``moulded`` (3,) is the moulded direction of the tip, ``direction`` (3,) that of the stream,
    of any length.
    """
    first, last = found.window
    last = max(last, first + 2)
    tip = found.tip[first:last]
    axis = main_direction(tip)
    direction = direction / np.linalg.norm(direction)
    signal = tip @ axis
    beat = cycles(found.time[first:last], signal)
    frequency = 1.0 / float(np.median(beat.period)) if len(beat.period) else 0.0
    stroke = float(np.median(beat.stroke)) if len(beat.stroke) else float(np.ptp(signal))
    rested = found.message == CAME_TO_REST
    if rested:
        frequency = stroke = 0.0
    if not math.isfinite(stroke):
        raise SolveError("the march returned a motion that is not finite")
    mean_tangent = found.tangent[first:last].mean(axis=0)
    force = found.force[first:last]
    # the window of a march that came to rest still holds the dying kick
    moment = found.moment[last - 1 : last] if rested else found.moment[first:last]
    return Beat(
        frequency=frequency,
        stroke=stroke,
        direction=axis,
        fold_back=angle_between(moulded, mean_tangent),
        tip=tip.mean(axis=0),
        drag=float((force @ direction).mean()),
        side_force=0.0 if rested else fluctuation(force, direction),
        root_moment=float(np.linalg.norm(moment, axis=1).max()),
        march=found,
    )
