"""Time march of one rod to its limit cycle, with the material of the beat that it finds."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from simsoft.bodies.rod.setup import Ready
from simsoft.bodies.rod.shapes import tip_of
from simsoft.bodies.rod.stepper import ENERGY_NAMES, ENERGY_TERMS, HISTORY_COLUMNS, advance
from simsoft.core.arrays import Array
from simsoft.hydrodynamics.rim import RIM_STATES, drags_wake
from simsoft.mechanics.rod import Rod, Stream
from simsoft.mechanics.rotation import quaternion_from_vector
from simsoft.solvers.limit_cycle import (
    MATERIAL_AGREES,
    MATERIAL_PASSES,
    ROUGHLY_AGREES,
    Beat,
    agreed_beat,
    beat_at_rest,
    beat_of_march,
)
from simsoft.solvers.time_march import (
    CHOSEN,
    CLOSELY,
    Ends,
    Kept,
    March,
    Settling,
    StepFailedError,
    TimeStep,
    longest_march,
    march_ends,
    march_on,
    resting_step,
    with_halved_steps,
)

STEPS_PER_BEAT = 160
STEPS_PER_MODE = 60
# Times what agrees: a beat as far from that of the material is sure to be marched again.
APART = 2.0
KICK = (0.004, 0.05, 0.01)  # [rad] first disturbance, spread along the rod, axes 1, 2, 3


@dataclass(frozen=True)
class MarchState:
    """Where a march stands: hinge rotations (N, 4), motion (4, N, 6) and wake (14,)."""

    quaternion: Array
    motion: Array
    wake: Array

    def copy(self) -> MarchState:
        """Return the same, to go on from."""
        return MarchState(self.quaternion.copy(), self.motion.copy(), self.wake.copy())


def march_rod(
    rod: Rod,
    stream: Stream,
    rest: Array,
    *,
    frequency: float,
    longest: float,
    step: TimeStep = CHOSEN,
    kick: float = 1.0,
    start: MarchState | None = None,
    extend: bool = False,
    settling: Settling = CLOSELY,
) -> March:
    """March from a rest shape, slightly disturbed, until the motion repeats itself.

    Parameters
    ----------
    rod : Rod with its material, stress-free shape as fast motion feels it
    stream : Stream
    rest : array (N, 3) [rad], rest shape
    frequency : float [Hz], expected beat; sets sampling and, unless stated, the step
    longest : float [s], end of the march if it has not settled
    step : TimeStep, by default 1/160 of the expected beat or 1/60 of what is faster
    kick : float, multiple of the standard disturbance
    start : MarchState or None, of an earlier march to go on from, in place of the kicked rest shape
    extend : bool, go on past ``longest``: up to eight times while a regular motion still grows
        or fades, up to three times for any other
    settling : Settling

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
    size = step.size(frequency, STEPS_PER_BEAT, STEPS_PER_MODE)
    begun = MarchState(*kicked_rod(rest, kick)) if start is None else start

    ends = march_ends(longest, extend, settling)

    def run(size: float) -> March:
        return _march(rod, stream, begun.copy(), frequency, ends, size)

    what, stated = "the march diverged", step.stated is not None
    return with_halved_steps(run, size, what, elements=len(rest), stated=stated)


def kicked_rod(rest: Array, kick: float = 1.0) -> tuple[Array, Array, Array]:
    """Return rotations, motion and wake of a rest shape (N, 3) [rad] that has been disturbed.

    ``kick`` is a multiple of the standard disturbance.
    """
    n = rest.shape[0]
    quaternion = np.zeros((n, 4))
    for k in range(n):
        quaternion_from_vector(rest[k] + kick * np.array(KICK) / n, quaternion[k])
    return quaternion, np.zeros((4, n, 6)), np.zeros(RIM_STATES)


def _march(
    rod: Rod, stream: Stream, state: MarchState, frequency: float, ends: Ends, size: float
) -> March:
    n = len(rod.length)
    shed = drags_wake(rod.paddle)
    energy = np.zeros((2, ENERGY_TERMS))
    now = (state.quaternion, state.motion, state.wake, energy)

    def on(steps: int, stride: int, before: int) -> tuple[Array, Array]:
        history = np.zeros((steps // stride, HISTORY_COLUMNS))
        shape = np.zeros((steps // stride, n, 6))
        done = advance(rod, stream, size, steps, stride, shed, *now, history, shape)
        if done < steps or not np.all(np.isfinite(history)):
            raise StepFailedError((before + done) * size, size)
        return history, shape

    course = march_on(
        on, lambda kept: kept[0][:, 0:3], lambda: totals(energy),
        frequency=frequency, step=size, length=float(rod.length.sum()), ends=ends,
    )  # fmt: skip
    return march_of_rod(rod, course, size, state)


def march_of_rod(rod: Rod, course: Kept, step: float, state: Any) -> March:
    """Return a march from histories (samples, 13) and shapes (samples, N, 6) of a rod's nodes.

    ``state`` is where it ended, as the body goes on from it.
    """
    table, placed = course.kept[:2]
    kicked = 0.5 * float((rod.stiffness * (np.array(KICK) / len(rod.length)) ** 2).sum())
    return March(
        time=course.time,
        tip=table[:, 0:3] - rod.root,
        tangent=table[:, 3:6],
        force=table[:, 6:9],
        moment=table[:, 9:12],
        wake=table[:, 12],
        shapes=placed[:, :, :3],
        width_axes=placed[:, :, 3:],
        settled=course.settled,
        message=course.message,
        window=course.window,
        energy=balance_of(course.gained, kicked),
        step=step,
        state=state,
    )


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


def beat_at(
    ready: Ready,
    speed: float,
    rest: Array,
    *,
    stream: Stream,
    expected: float,
    step: TimeStep,
    longest: float | None = None,
    kick: float = 1.0,
    start: MarchState | None = None,
    rough: bool = False,
    passes: int = MATERIAL_PASSES,
    settling: Settling = CLOSELY,
) -> Beat:
    """March one strip at one speed [m/s] and measure its beat.

    ``stream`` is that of the speed. ``expected`` [Hz] sets modulus and damping of the material,
    step and sampling at first. The march goes on with the material of the beat found until both
    agree, so that the answer does not hang on the guess; a march that ends without that says so.
    ``rough`` is for searches that ask whether a part beats at all: agreement to 15 %, no march
    longer than the usual one. ``passes`` as in ``agreed_beat``, ``settling`` as in ``march_rod``.

    Raises
    ------
    SolveError
        If the march diverges.
    """
    moulded = tip_of(ready.rod, ready.rod.natural)[1]
    length = float(ready.rod.length.sum())

    agrees = ROUGHLY_AGREES if rough else MATERIAL_AGREES

    def once(frequency: float, begin: MarchState | None) -> tuple[Beat, MarchState]:
        limit = longest_march(frequency, length, speed)
        found = march_rod(
            ready.moving_rod(rest, stream, frequency),
            stream,
            rest,
            frequency=frequency,
            longest=limit if longest is None else longest,
            step=step,
            kick=kick,
            start=begin,
            extend=longest is None and not rough,
            settling=replace(
                settling, apart=(frequency, APART * agrees) if settling.passing else None
            ),
        )
        return beat_of_march(moulded, found, stream.direction), found.state

    return agreed_beat(once, ready.material, expected, agrees, start, passes)[0]


def rest_at(
    ready: Ready, speed: float, rest: Array, *, stream: Stream, expected: float, step: TimeStep
) -> Beat:
    """Return the measures of a strip that stays in its rest shape at a speed [m/s].

    The arguments are those of ``beat_at``.
    """
    chosen, looked = resting_step(step, expected, STEPS_PER_BEAT, STEPS_PER_MODE)
    found = march_rod(
        ready.moving_rod(rest, stream, expected),
        stream,
        rest,
        frequency=looked,
        longest=0.0,
        step=chosen,
        kick=0.0,
    )
    return beat_at_rest(tip_of(ready.rod, ready.rod.natural)[1], found, stream.direction)
