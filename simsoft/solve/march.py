"""Time march of one rod to its limit cycle."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from simsoft.errors import SolveError
from simsoft.measures import cycles, main_direction
from simsoft.solve.march_kernel import ENERGY_NAMES, ENERGY_TERMS, HISTORY_COLUMNS, advance
from simsoft.structure.rod import Rod, Stream
from simsoft.structure.rotation import quaternion_from_vector

Array = npt.NDArray[np.float64]

STEPS_PER_BEAT = 160
STEPS_PER_MODE = 60
SAMPLES_PER_BEAT = 40
BEATS_PER_CHUNK = 4
HALVINGS = 3  # of the step, where a march with the chosen step diverges
SETTLED_CYCLES = 4
SETTLED_SPREAD = 0.01  # relative, of stroke and period over the settled cycles
SETTLED_DRIFT = 0.01  # relative, between the last cycles and those before them
CAME_TO_REST = "came to rest"
STILL_STROKE = 2.0e-4  # of the length: a decaying motion below it has come to rest
KICK = (0.004, 0.05, 0.01)  # [rad] first disturbance, spread along the rod, axes 1, 2, 3


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

    Returns
    -------
    March
        Settled when stroke and period of the last four cycles spread by less than 1 % and
        differ by less than 1 % from the four before, or when a motion has died out.

    Raises
    ------
    SolveError
        If the motion diverges even with an eighth of the chosen step; the message says when
        and what to change.
    """
    size = step or coarsen / max(STEPS_PER_BEAT * frequency, STEPS_PER_MODE * fastest)
    for attempt in range(HALVINGS + 1):
        try:
            return _march(rod, stream, rest, frequency, longest, size / 2**attempt, kick)
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


def _march(
    rod: Rod,
    stream: Stream,
    rest: Array,
    frequency: float,
    longest: float,
    size: float,
    kick: float,
) -> March:
    n = rest.shape[0]
    stride = max(1, round(1.0 / (frequency * size * SAMPLES_PER_BEAT)))
    chunk = max(stride, stride * round(BEATS_PER_CHUNK / (frequency * size * stride)))
    disturbance = kick * np.array(KICK) / n
    quaternion = np.zeros((n, 4))
    for k in range(n):
        quaternion_from_vector(rest[k] + disturbance, quaternion[k])
    motion = np.zeros((4, n, 6))
    shed = rod.paddle.wake_moment > 0.0
    wake = np.array([0.1 if shed else 0.0, 0.0, 0.0, 0.0])
    energy = np.zeros((2, ENERGY_TERMS))
    start = np.zeros(ENERGY_TERMS)
    histories: list[Array] = []
    shapes: list[Array] = []
    length = float(rod.length.sum())
    settled, message, window = False, "", (0, 0)
    steps = 0
    while not settled and steps * size < longest:
        history = np.zeros((chunk // stride, HISTORY_COLUMNS))
        shape = np.zeros((chunk // stride, n, 6))
        done = advance(
            rod, stream, size, chunk, stride, shed, quaternion, motion, wake, energy, history, shape
        )
        if done < chunk or not np.all(np.isfinite(history)):
            raise _DivergedError((steps + done) * size, size)
        if steps == 0:
            start = _totals(energy)
        steps += chunk
        histories.append(history)
        shapes.append(shape)
        time = size * stride * np.arange(1.0, steps // stride + 1)
        tip = np.concatenate([h[:, 0:3] for h in histories])
        settled, message, window = settle(time, tip, length)
    if not settled:
        message = f"not settled after {steps * size:.2f} s: {message}"
    table = np.concatenate(histories)
    placed = np.concatenate(shapes)
    kicked = 0.5 * float((rod.stiffness * disturbance**2).sum())
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
        energy=_balance(_totals(energy) - start, kicked),
        step=size,
    )


def settle(time: Array, tip: Array, length: float) -> tuple[bool, str, tuple[int, int]]:
    """Return whether a tip path (samples, 3) repeats itself, a sentence, and its window."""
    recent = int(2.5 * SETTLED_CYCLES * SAMPLES_PER_BEAT)
    first = max(0, len(time) - recent)
    path = tip[first:]
    signal = path @ main_direction(path)
    span = float(np.ptp(signal[len(signal) // 2 :]))
    whole = (first, len(time))
    if first > 0 and span < STILL_STROKE * length:
        return True, CAME_TO_REST, whole
    found = cycles(time[first:], signal)
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
    drift = abs(last.mean() - before.mean()) / last.mean()
    begin = int(np.searchsorted(time, found.start[-SETTLED_CYCLES - 1]))
    end = int(np.searchsorted(time, found.start[-1]))
    if spread < SETTLED_SPREAD and drift < SETTLED_DRIFT:
        return True, "repeats itself", (begin, end)
    return (
        False,
        f"stroke or period still vary by {100 * max(spread, drift):.1f} %",
        (
            int(np.searchsorted(time, found.start[-need - 1]))
            if len(found.start) > need
            else first,
            end,
        ),
    )


def _totals(energy: Array) -> Array:
    """Return energies now and works so far (8,) [J] from the kernel's running sums."""
    return np.concatenate([energy[1, :2], energy[0, 2:]])


def _balance(change: Array, least: float) -> dict[str, float]:
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
