"""Time march of anything to its limit cycle: how long it goes on, and when it repeats itself.

It knows no body: what moves makes a number of steps and keeps samples of them (``Advance``).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, NoReturn, TypeVar

import numpy as np

from simsoft.core.arrays import Array
from simsoft.core.errors import SolveError
from simsoft.core.signals import Cycles, cycles, main_direction

SAMPLES_PER_BEAT = 40
BEATS_PER_CHUNK = 4
STEPS_AT_REST = 32  # that show a rest shape which nothing has disturbed
HALVINGS = 3  # of the step, where a march with the chosen step fails
SETTLED_CYCLES = 4
RECENT_CYCLES = 11  # expected ones, looked at for what has settled
# Relative, of stroke and period over the settled cycles, and between these and those before them.
SETTLED_SPREAD = 0.01
ROUGH_SPREAD = 0.03  # the same, of a march that is not the last
CAME_TO_REST = "came to rest"
STILL_STROKE = 2.0e-4  # of the length: a decaying motion below it has come to rest
TREND_CYCLES = 3  # in each of the three groups whose mean strokes show a trend
TREND_NOISE = 5.0e-4  # relative change of stroke between groups that is no trend
SLOWING = 0.95  # a trend whose steps shrink less than this has no end in sight
EXTENSION = 8.0  # times the longest march for a regular motion that still grows or fades,
PATIENCE = 3.0  # and for any other that has not settled
BEATS = 24  # a march that has not settled after so many expected beats is cut off,
PASSAGES = 120.0  # or after the stream has passed the part so many times,
FEWEST_BEATS = 12.0  # but not before so many expected beats
SHORTEST = 1.0  # [s] nor before so much simulated time

Samples = tuple[Array, ...]  # histories of a stretch, the samples along their first axis
Advance = Callable[[int, int, int], Samples]  # of steps, steps a sample, steps made before
Marched = TypeVar("Marched")


@dataclass(frozen=True)
class Settling:
    """What counts as settled.

    Attributes
    ----------
    faded : float, of the length: a motion below it has come to rest
    dies : bool, small motions are known to die out, so that what has faded need not be watched
    change : float, relative: strokes and periods that vary less, and have less to go, repeat
    passing : bool, a march that will be made again ends as soon as its motion repeats roughly
    apart : (float [Hz], float) or None, a motion whose beat differs from the first by more than the
        second, relative, will be marched again
    """

    faded: float = STILL_STROKE
    dies: bool = False
    change: float = SETTLED_SPREAD
    passing: bool = False
    apart: tuple[float, float] | None = None

    def within(self, beat: float) -> float:
        """Return the change within which a motion of a beat [Hz] repeats."""
        if self.apart is None or abs(beat - self.apart[0]) <= self.apart[1] * self.apart[0]:
            return self.change
        return max(self.change, ROUGH_SPREAD)


CLOSELY = Settling()


@dataclass(frozen=True)
class Ends:
    """When a march ends.

    Attributes
    ----------
    usual : float [s], where it has not settled
    trending : float [s], while a regular motion still grows or fades
    settling : Settling
    """

    usual: float
    trending: float
    settling: Settling = CLOSELY


@dataclass(frozen=True)
class TimeStep:
    """How the time step of a march is chosen.

    Attributes
    ----------
    fastest : float [Hz], frequency that it must resolve beside the beat
    stated : float or None [s], asked for in place of the choice
    coarsen : float, multiple of what is chosen or stated
    """

    fastest: float = 0.0
    stated: float | None = None
    coarsen: float = 1.0

    def size(self, beat: float, per_beat: float, per_mode: float) -> float:
        """Return the step [s] for a beat [Hz], resolved by so many steps a beat and a mode."""
        if self.stated is not None:
            return self.stated * self.coarsen
        return self.coarsen / max(per_beat * beat, per_mode * self.fastest)


CHOSEN = TimeStep()


def longest_march(frequency: float, length: float, speed: float) -> float:
    """Return the simulated time [s] after which an unsettled march is cut off."""
    passages = PASSAGES * length / speed if speed > 0.0 else BEATS / frequency
    return max(SHORTEST, FEWEST_BEATS / frequency, min(BEATS / frequency, passages))


def resting_step(
    step: TimeStep, beat: float, per_beat: float, per_mode: float
) -> tuple[TimeStep, float]:
    """Return the step of a march that nothing disturbs, and its expected beat [Hz].

    The beat is one with which a march makes few steps before it looks; the arguments are those of
    ``TimeStep.size``.
    """
    size = TimeStep(step.fastest).size(beat, per_beat, per_mode)
    return TimeStep(stated=size), BEATS_PER_CHUNK / (STEPS_AT_REST * size)


def march_ends(longest: float, extend: bool, settling: Settling = CLOSELY) -> Ends:
    """Return the ends of a march of ``longest`` [s] or, where it may go on, some times that."""
    usual, trending = (PATIENCE, EXTENSION) if extend else (1.0, 1.0)
    return Ends(longest * usual, longest * trending, settling)


@dataclass(frozen=True)
class March:
    """A march and how it ended.

    Attributes
    ----------
    time : array (samples,) [s]
    tip, tangent, force, moment : array (samples, 3), see rod.stepper.advance
    wake : array (samples,)
    shapes : array (samples, N, 3) [m], node positions
    width_axes : array (samples, N, 3), unit vectors along the width at the nodes
    settled : bool
    message : str
    window : (int, int), samples of the settled stretch, or the last part of the march
    energy : dict [J], works and energies over the march, 'residual' relative to the largest
    step : float [s]
    state : where the body stands at the end, for a march that goes on from there, or None
    """

    time: Array
    tip: Array
    tangent: Array
    force: Array
    moment: Array
    wake: Array
    shapes: Array
    width_axes: Array
    settled: bool
    message: str
    window: tuple[int, int]
    energy: dict[str, float]
    step: float
    state: Any = None


@dataclass(frozen=True)
class Kept:
    """What a march has kept.

    Attributes
    ----------
    time : array (samples,) [s]
    kept : tuple of arrays, as the body gave them, whole
    path : array (samples, 3) [m] that was looked at
    settled, message, window : see ``March``
    gained : array [J], works and energies since the first chunk
    """

    time: Array
    kept: Samples
    path: Array
    settled: bool
    message: str
    window: tuple[int, int]
    gained: Array


class StepFailedError(Exception):
    """A step that cannot be made: ``time`` [s] where, ``step`` [s]."""

    def __init__(self, time: float, step: float) -> None:
        super().__init__()
        self.time = time
        self.step = step


def with_halved_steps(
    march: Callable[[float], Marched], step: float, what: str, *, elements: int, stated: bool
) -> Marched:
    """Return a march made with a step [s], or with a half, a quarter, an eighth of it.

    Parameters
    ----------
    march : function of the step, raising StepFailedError
    step : float [s]
    what : str, what the message says of a march that fails: "the march diverged"
    elements : int, of the body, as the message says
    stated : bool, the user has asked for this step and gets no other

    Raises
    ------
    SolveError
        If a step fails with the smallest step too; the message says when and what to change.
    """
    failed = StepFailedError(0.0, step)
    for attempt in range(1 if stated else HALVINGS + 1):
        try:
            return march(step / 2**attempt)
        except StepFailedError as error:
            failed = error
    give_up(failed, what, elements)


def give_up(failed: StepFailedError, what: str, elements: int) -> NoReturn:
    """Raise SolveError for a step of a body of so many elements that failed."""
    raise SolveError(
        f"{what} at {failed.time:.3f} s (step {failed.step:.1e} s, {elements} elements): give a "
        "smaller numerics.step or fewer numerics.elements"
    ) from None


def march_on(
    advance: Advance,
    path: Callable[[Samples], Array],
    energies: Callable[[], Array],
    *,
    frequency: float,
    step: float,
    length: float,
    ends: Ends,
) -> Kept:
    """March until the motion repeats itself or the time is up.

    Parameters
    ----------
    advance : function that makes steps and returns their samples, raising StepFailedError
    path : function of samples, returning the path (samples, 3) [m] that has to repeat itself
    energies : function returning works and energies so far [J]
    frequency : float [Hz], expected beat; sets the sampling
    step : float [s]
    length : float [m], of the part
    ends : Ends
    """
    stride = max(1, round(1.0 / (frequency * step * SAMPLES_PER_BEAT)))
    beats = BEATS_PER_CHUNK / 2 if ends.settling.dies else BEATS_PER_CHUNK
    chunk = max(stride, stride * round(beats / (frequency * step * stride)))
    kept: list[Samples] = []
    begun = np.zeros(0)
    settled, message, window, steps, going = False, "", (0, 0), 0, True
    while going:
        kept.append(advance(chunk, stride, steps))
        if steps == 0:
            begun = energies()
        steps += chunk
        time = step * stride * np.arange(1.0, steps // stride + 1)
        seen = np.concatenate([path(samples) for samples in kept])
        settled, message, window = settle(time, seen, length, ends.settling)
        now = steps * step
        patient = now < ends.trending and is_trending(time, seen)
        # energies are balanced from the first chunk on, so that there are two at least
        going = len(kept) < 2 if settled else now < ends.usual or patient
    if not settled:
        message = f"not settled after {steps * step:.2f} s: {message}"
    whole = tuple(np.concatenate(part) for part in zip(*kept, strict=True))
    return Kept(time, whole, seen, settled, message, window, energies() - begun)


def settle(
    time: Array, tip: Array, length: float, settling: Settling = CLOSELY
) -> tuple[bool, str, tuple[int, int]]:
    """Return whether a tip path (samples, 3) repeats itself, a sentence, and its window."""
    first, found, span = _recent(time, tip)
    whole = (first, len(time))
    if (first > 0 or settling.dies) and span < settling.faded * length:
        late = (first + len(time)) // 2
        return True, CAME_TO_REST, (late, len(time)) if settling.dies else whole
    need = 2 * SETTLED_CYCLES
    if len(found.stroke) < need:
        return (
            False,
            f"{len(found.stroke)} cycles in the last {time[-1] - time[first]:.2f} s",
            whole,
        )
    last = found.stroke[-SETTLED_CYCLES:]
    before = found.stroke[-need:-SETTLED_CYCLES]
    period = found.period[-SETTLED_CYCLES:]
    spread = max(np.ptp(last) / last.mean(), np.ptp(period) / period.mean())
    drift = max(abs(last.mean() - before.mean()) / last.mean(), remaining(found.stroke))
    begin = int(np.searchsorted(time, found.start[-SETTLED_CYCLES - 1]))
    end = int(np.searchsorted(time, found.start[-1]))
    within = settling.within(1.0 / float(np.median(period)))
    if spread < within and drift < within:
        return True, "repeats itself", (begin, end)
    if spread < within and not np.isfinite(drift):
        message = "stroke still grows or fades without slowing down"
    else:
        change = max(spread, drift if np.isfinite(drift) else 0.0)
        message = f"stroke or period still vary by {100 * change:.1f} %"
    return (
        False,
        message,
        (
            int(np.searchsorted(time, found.start[-need - 1]))
            if len(found.start) > need
            else first,
            end,
        ),
    )


def _recent(time: Array, tip: Array) -> tuple[int, Cycles, float]:
    """Return first sample, cycles and late range [m] of the last stretch of a tip path."""
    first = max(0, len(time) - int(RECENT_CYCLES * SAMPLES_PER_BEAT))
    path = tip[first:]
    signal = path @ main_direction(path)
    span = float(np.ptp(signal[len(signal) // 2 :]))
    return first, cycles(time[first:], signal), span


def remaining(stroke: Array) -> float:
    """Return how far a series of strokes still has to go by its trend, relative to the last.

    Three groups of cycles make two steps; steps that shrink by a constant ratio have a limit.
    Zero where there is no trend or too few cycles, infinite where the steps do not shrink: slow
    growth may change the stroke by less than 1 % in a few cycles and tenfold in the end.
    """
    if len(stroke) < 3 * TREND_CYCLES:
        return 0.0
    means = stroke[-3 * TREND_CYCLES :].reshape(3, TREND_CYCLES).mean(axis=1)
    first, second = np.diff(means)
    if first * second <= 0.0 or abs(second) < TREND_NOISE * means[2]:
        return 0.0
    ratio = second / first
    if ratio >= SLOWING:
        return float("inf")
    return float(abs(second) * ratio / (1.0 - ratio) / means[2])


def is_trending(time: Array, tip: Array) -> bool:
    """Return whether a motion grows or fades steadily, cycle by cycle but for one."""
    stroke = _recent(time, tip)[1].stroke[-3 * TREND_CYCLES :]
    steps = np.sign(np.diff(stroke))
    return len(stroke) == 3 * TREND_CYCLES and abs(float(steps.sum())) >= len(steps) - 2
