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
from simsoft.solvers.time_march import BESIDE, CAME_TO_REST, March

MATERIAL_AGREES = 0.01  # relative difference of beat found and beat the material was taken at
ROUGHLY_AGREES = 0.15  # the same for searches, and for a plate whose rate the wake sets
MATERIAL_PASSES = 8
CUT_SHORT = 3  # marches at most that end as soon as they tell another rate than their material's
OTHER_RATE = 0.05  # relative difference of rates that ends one


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
    scatter : float, standard error of the frequency over it, of a motion that has not settled
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
    scatter: float = 0.0


@dataclass(frozen=True)
class Pass:
    """How long one of the marches goes on that look for their material.

    Attributes
    ----------
    patient : bool, it waits for a motion that has not settled
    beside : see ``Ends``
    """

    patient: bool = True
    beside: Callable[[float], bool] | None = None


ONE_PASS = Pass()
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
    for _ in range(passes):
        beat, state = once(frequency, start)
        if beat.frequency <= 0.0 or abs(beat.frequency - frequency) <= agrees * frequency:
            return beat, state
        if material(beat.frequency) == material(frequency):
            return beat, state
        taken, frequency, start = frequency, beat.frequency, state
    return _not_agreed(beat, taken), state


def hasty_beat(
    once: Callable[[float, AnyState | None, Pass], tuple[Beat, AnyState]],
    material: Law,
    expected: float,
    agrees: float,
    start: AnyState | None = None,
    passes: int = MATERIAL_PASSES,
    waits: bool = True,
) -> tuple[Beat, AnyState]:
    """March on as ``agreed_beat`` does, with no more steps than the last march needs.

    A march that tells another rate than its material's ends there. Only one whose material
    serves waits for a motion that does not soon settle, and the rate of that need agree no more
    closely than it is known. ``once`` takes a ``Pass`` as well, and ``waits`` is whether there is
    a wait at all.
    """
    frequency, patient = expected, not waits
    for number in range(passes):
        taken = frequency

        def beside(rate: float, taken: float = taken) -> bool:
            apart = abs(rate - taken) > max(agrees, OTHER_RATE) * taken
            return apart and material(rate) != material(taken)

        beat, state = once(taken, start, Pass(patient, beside if number < CUT_SHORT else None))
        near = max(agrees, beat.scatter) * taken
        agreed = beat.frequency <= 0.0 or abs(beat.frequency - taken) <= near
        if beat.march.message != BESIDE and (agreed or material(beat.frequency) == material(taken)):
            if patient or beat.march.settled:
                return beat, state
            patient, start = True, state
            continue
        frequency, start = beat.frequency, state
    return _not_agreed(beat, taken), state


def _not_agreed(beat: Beat, taken: float) -> Beat:
    """Return a beat that is not the one that its material was taken at, and that says so."""
    if not beat.march.settled:
        return beat
    message = f"beats at {beat.frequency:.3g} Hz with the material of {taken:.3g} Hz"
    return replace(beat, march=replace(beat.march, settled=False, message=message))


def measure_at_rest(moulded: Array, found: March, direction: Array) -> Beat:
    """Return the measures of a march that nothing has disturbed, of a part in its rest shape.

    The arguments are those of ``measure``.
    """
    return measure(moulded, replace(found, settled=True, message=CAME_TO_REST), direction)


def measure(moulded: Array, found: March, direction: Array) -> Beat:
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
        scatter=0.0 if found.settled else _standard_error(beat.period),
    )


def _standard_error(period: Array) -> float:
    """Return the relative standard error of the rate that a few periods [s] tell."""
    count = len(period)
    return float(np.std(period, ddof=1) / period.mean() / math.sqrt(count)) if count > 2 else 0.0
