"""Time march of one rod to its limit cycle."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from simsoft.bodies.rod.stepper import ENERGY_NAMES, ENERGY_TERMS, HISTORY_COLUMNS, advance
from simsoft.core.arrays import Array
from simsoft.core.errors import SolveError
from simsoft.core.signals import Cycles, cycles, main_direction
from simsoft.hydrodynamics.rim import RIM_STATES, drags_wake
from simsoft.mechanics.rod import Rod, Stream
from simsoft.mechanics.rotation import quaternion_from_vector

STEPS_PER_BEAT = 160
STEPS_PER_MODE = 60
SAMPLES_PER_BEAT = 40
BEATS_PER_CHUNK = 4
HALVINGS = 3  # of the step, where a march with the chosen step diverges
SETTLED_CYCLES = 4
RECENT_CYCLES = 11  # expected ones, looked at for what has settled
SETTLED_SPREAD = 0.01  # relative, of stroke and period over the settled cycles
SETTLED_DRIFT = 0.01  # relative, between the last cycles and those before them
CAME_TO_REST = "came to rest"
STILL_STROKE = 2.0e-4  # of the length: a decaying motion below it has come to rest
TREND_CYCLES = 3  # in each of the three groups whose mean strokes show a trend
TREND_NOISE = 5.0e-4  # relative change of stroke between groups that is no trend
SLOWING = 0.95  # a trend whose steps shrink less than this has no end in sight
EXTENSION = 8.0  # times the longest march for a regular motion that still grows or fades,
PATIENCE = 3.0  # and for any other that has not settled
KICK = (0.004, 0.05, 0.01)  # [rad] first disturbance, spread along the rod, axes 1, 2, 3


class State(NamedTuple):
    """Where a march stands: hinge rotations (N, 4), motion (4, N, 6) and wake (14,)."""

    quaternion: Array
    motion: Array
    wake: Array


@dataclass(frozen=True)
class March:
    """A march and how it ended.

    Attributes
    ----------
    time : array (samples,) [s]
    tip, tangent, force, moment : array (samples, 3), see march_kernel.advance
    wake : array (samples,)
    shapes : array (samples, N, 3) [m], node positions
    width_axes : array (samples, N, 3), unit vectors along the width at the nodes
    settled : bool
    message : str
    window : (int, int), samples of the settled stretch, or the last part of the march
    energy : dict [J], works and energies over the march, 'residual' relative to the largest
    step : float [s]
    state : State or None, at the end, for a march that goes on from there
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
    state: State | None = None


def march(
    rod: Rod,
    stream: Stream,
    rest: Array,
    *,
    frequency: float,
    longest: float,
    fastest: float = 0.0,
    step: float | None = None,
    coarsen: float = 1.0,
    kick: float = 1.0,
    start: State | None = None,
    extend: bool = False,
    faded: float = STILL_STROKE,
) -> March:
    """March from a rest shape, slightly disturbed, until the motion repeats itself.

    Parameters
    ----------
    rod : Rod with its material, stress-free shape as fast motion feels it
    stream : Stream
    rest : array (N, 3) [rad], rest shape
    frequency : float [Hz], expected beat; sets sampling and, with ``fastest``, the step
    longest : float [s], end of the march if it has not settled
    fastest : float [Hz], natural frequency that the step must resolve as well
    step : float or None [s], default 1/160 of the expected beat or 1/60 of ``fastest``
    coarsen : float, multiple of the default step
    kick : float, multiple of the standard disturbance
    start : State or None, of an earlier march to go on from, in place of the kicked rest shape
    extend : bool, go on past ``longest``: up to eight times while a regular motion still grows
        or fades, up to three times for any other
    faded : float, of the length: a motion below it has come to rest

    Returns
    -------
    March
        Settled when stroke and period of the last four cycles spread by less than 1 % and
        differ by less than 1 % from the four before, and the trend of the stroke has less than
        1 % to go; or when a motion has died out.

    Raises
    ------
    SolveError
        If the motion diverges even with an eighth of the chosen step; the message says when
        and what to change.
    """
    size = step or coarsen / max(STEPS_PER_BEAT * frequency, STEPS_PER_MODE * fastest)
    for attempt in range(HALVINGS + 1):
        try:
            begun = _kicked(rod, rest, kick) if start is None else start
            ends = (longest * PATIENCE, longest * EXTENSION) if extend else (longest, longest)
            return _march(rod, stream, begun, frequency, ends, size / 2**attempt, faded)
        except _DivergedError as error:
            diverged = error
            if step is not None:
                break
    raise SolveError(
        f"the march diverged at {diverged.time:.3f} s (step {diverged.step:.1e} s, "
        f"{rest.shape[0]} elements): give a smaller numerics.step or fewer numerics.elements"
    )


class _DivergedError(Exception):
    def __init__(self, time: float, step: float) -> None:
        super().__init__()
        self.time = time
        self.step = step


def _kicked(rod: Rod, rest: Array, kick: float) -> State:
    """Return a rest shape (N, 3) [rad] disturbed by a multiple of the standard kick."""
    n = rest.shape[0]
    quaternion = np.zeros((n, 4))
    for k in range(n):
        quaternion_from_vector(rest[k] + kick * np.array(KICK) / n, quaternion[k])
    return State(quaternion, np.zeros((4, n, 6)), np.zeros(RIM_STATES))


def _march(
    rod: Rod,
    stream: Stream,
    begun: State,
    frequency: float,
    longest: tuple[float, float],
    size: float,
    faded: float,
) -> March:
    n = len(rod.length)
    stride = max(1, round(1.0 / (frequency * size * SAMPLES_PER_BEAT)))
    chunk = max(stride, stride * round(BEATS_PER_CHUNK / (frequency * size * stride)))
    quaternion, motion, wake = (part.copy() for part in begun)
    shed = drags_wake(rod.paddle)
    energy = np.zeros((2, ENERGY_TERMS))
    start = np.zeros(ENERGY_TERMS)
    histories: list[Array] = []
    shapes: list[Array] = []
    length = float(rod.length.sum())
    settled, message, window = False, "", (0, 0)
    steps = 0
    going = True
    while going:
        history = np.zeros((chunk // stride, HISTORY_COLUMNS))
        shape = np.zeros((chunk // stride, n, 6))
        done = advance(
            rod, stream, size, chunk, stride, shed, quaternion, motion, wake, energy, history, shape
        )
        if done < chunk or not np.all(np.isfinite(history)):
            raise _DivergedError((steps + done) * size, size)
        if steps == 0:
            start = totals(energy)
        steps += chunk
        histories.append(history)
        shapes.append(shape)
        time = size * stride * np.arange(1.0, steps // stride + 1)
        tip = np.concatenate([h[:, 0:3] for h in histories])
        settled, message, window = settle(time, tip, length, faded)
        now = steps * size
        going = not settled and (now < longest[0] or (now < longest[1] and is_trending(time, tip)))
    if not settled:
        message = f"not settled after {steps * size:.2f} s: {message}"
    table = np.concatenate(histories)
    placed = np.concatenate(shapes)
    kicked = 0.5 * float((rod.stiffness * (np.array(KICK) / n) ** 2).sum())
    return March(
        time=time,
        tip=table[:, 0:3] - rod.root,
        tangent=table[:, 3:6],
        force=table[:, 6:9],
        moment=table[:, 9:12],
        wake=table[:, 12],
        shapes=placed[:, :, :3],
        width_axes=placed[:, :, 3:],
        settled=settled,
        message=message,
        window=window,
        energy=balance_of(totals(energy) - start, kicked),
        step=size,
        state=State(quaternion, motion, wake),
    )


def settle(
    time: Array, tip: Array, length: float, faded: float = STILL_STROKE
) -> tuple[bool, str, tuple[int, int]]:
    """Return whether a tip path (samples, 3) repeats itself, a sentence, and its window.

    ``faded`` as in ``march``.
    """
    first, found, span = _recent(time, tip)
    whole = (first, len(time))
    if first > 0 and span < faded * length:
        return True, CAME_TO_REST, whole
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
    if spread < SETTLED_SPREAD and drift < SETTLED_DRIFT:
        return True, "repeats itself", (begin, end)
    if spread < SETTLED_SPREAD and not np.isfinite(drift):
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


def totals(energy: Array) -> Array:
    """Return energies now and works so far (8,) [J] from the kernel's running sums."""
    return np.concatenate([energy[1, :2], energy[0, 2:]])


def balance_of(change: Array, least: float) -> dict[str, float]:
    """Return works and energy changes [J] since the first beats, and what does not add up.

    ``residual`` is relative to the largest entry, at least the energy ``least`` [J] of the
    first disturbance; the reactive and paddle loads count with their acceleration part, which
    they nearly cancel.
    """
    named = {name: float(value) for name, value in zip(ENERGY_NAMES, change, strict=True)}
    work = sum(value for name, value in named.items() if name.endswith("_work"))
    gained = named["kinetic"] + named["elastic"]
    fluid = named["reactive_work"] + named["paddle_work"] + named["fluid_inertia_work"]
    other = ("kinetic", "elastic", "drag_work", "dead_work", "damping_loss")
    largest = max(least, abs(fluid), *(abs(named[name]) for name in other))
    named["residual"] = (gained - work + named["damping_loss"]) / largest
    return named
