"""Time march of a plate on its stem to its limit cycle."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial

import numpy as np
from scipy.linalg import LinAlgError

from simsoft.bodies.clearance.gap import Placed, in_motion
from simsoft.bodies.paddle.carried_plate import Leaf
from simsoft.bodies.paddle.condense import condensed
from simsoft.bodies.paddle.equilibrium import StemRest
from simsoft.bodies.paddle.modes import Carried
from simsoft.bodies.paddle.stepper import Bent, advance_stem
from simsoft.bodies.plate.renewals import Renewed, check_chunk, with_renewals
from simsoft.bodies.rod.stepper import ENERGY_TERMS, HISTORY_COLUMNS
from simsoft.bodies.rod.time_march import kicked_rod, march_of_rod, totals
from simsoft.core.arrays import Array
from simsoft.core.errors import SolveError
from simsoft.hydrodynamics.rim import drags_wake
from simsoft.mechanics.rod import Stream
from simsoft.solvers.time_march import (
    CHOSEN,
    Ends,
    March,
    StepFailedError,
    TimeStep,
    give_up,
    march_ends,
    march_on,
    with_halved_steps,
)

FAILED = "the march of the plate on its stem failed"
STEPS_PER_BEAT = 160
STEPS_PER_MODE = 60


@dataclass(frozen=True)
class StemMarch:
    """A march, and the places (samples, n, 3) [m] of the plate's nodes from the clamp."""

    march: March
    places: Array


def march_stem(
    carried: Carried,
    time: float,
    stream: Stream,
    rest: StemRest,
    *,
    frequency: float,
    longest: float,
    step: TimeStep = CHOSEN,
    kick: float = 1.0,
    start: Bent | None = None,
    extend: bool = False,
) -> tuple[StemMarch, Bent]:
    """March a plate on its stem, slightly disturbed, until the motion repeats itself.

    Parameters
    ----------
    carried : Carried, as motion about the rest shape feels it, in water
    time : float [s], Kelvin-Voigt time
    stream : Stream
    rest : StemRest
    frequency : float [Hz], expected beat; sets sampling and, unless stated, the step
    longest : float [s], end of the march if it has not settled
    step : TimeStep
    kick : float, multiple of a rod's standard disturbance
    start : Bent or None, of an earlier march to go on from
    extend : bool, as in ``rod.time_march.march_rod``

    Raises
    ------
    SolveError
        If a step fails even with an eighth of the chosen step.
    """
    size = step.size(frequency, STEPS_PER_BEAT, STEPS_PER_MODE)
    begun = _kicked(carried, rest, kick) if start is None else start

    def run(size: float) -> tuple[StemMarch, Bent]:
        bent = Bent(*(part.copy() for part in begun))
        made = _Run(carried, time, stream, size)
        return made.to_the_end(bent, frequency, march_ends(longest, extend))

    count = len(rest.angle)
    return with_halved_steps(run, size, FAILED, elements=count, stated=step.stated is not None)


def follow_stem(
    carried: Carried,
    time: float,
    stream: Stream,
    start: StemRest,
    *,
    step: float,
    stride: int,
    samples: int,
) -> Iterator[Placed]:
    """Yield the positions of the stem of a plate let go at rest, one at a time as asked for.

    Parameters
    ----------
    carried, time, stream : as in ``march_stem``; where the plate sheds, its wake is disturbed
    start : StemRest, shape it is let go in
    step : float [s]
    stride : int, steps from position to position
    samples : int, positions

    Raises
    ------
    SolveError
        If a step fails.
    """
    run = _Run(carried, time, stream, step)
    bent = _kicked(carried, start, 0.0)
    try:
        leaf = run.kept(bent)
        for sample in range(samples):
            table, shape, _ = run.chunk(bent, leaf, stride, stride, sample * stride)
            yield in_motion(carried.rod, shape[:, :, :3], shape[:, :, 3:], table[:, 3:6])
    except StepFailedError as error:
        give_up(error, FAILED, len(start.angle))


def _kicked(carried: Carried, rest: StemRest, kick: float = 1.0) -> Bent:
    """Return a rest shape with the rod disturbed by a multiple of a rod's standard kick."""
    plate = np.zeros((4, *rest.state.shape))
    plate[0] = rest.state
    quaternion, hinges, wake = kicked_rod(rest.angle, kick)
    return Bent(quaternion, hinges, plate, wake, np.zeros((2, ENERGY_TERMS)))


class _Run:
    """One march: what stays the same from step to step."""

    def __init__(self, carried: Carried, time: float, stream: Stream, step: float) -> None:
        pad = carried.model.pad
        if pad is None:
            raise SolveError("a plate without a fluid around it is not marched")
        self.carried, self.pad, self.time = carried, pad, time
        self.stream, self.step = stream, step
        self.shed = drags_wake(pad.paddle)
        mass = carried.model.mass.tocsr()
        self.mass = (mass.data, mass.indices.astype(np.int64), mass.indptr.astype(np.int64))
        self.length = float(np.ptp(carried.model.local[:, :3], axis=0).max())

    def leaf(self, bent: Bent) -> Leaf:
        """Return the plate with the inverse taken in its present shape."""
        model, plate, modulus = self.carried.model, self.carried.plate, self.carried.modulus
        try:
            found = condensed(
                model.mass, self.pad, model.free, plate, modulus, self.time, self.step,
                bent.plate[0],
            )  # fmt: skip
        except (LinAlgError, ValueError):
            raise StepFailedError(0.0, self.step) from None
        return Leaf(
            plate=plate,
            pad=self.pad,
            mass=self.mass,
            dead=model.dead,
            free=model.free,
            modulus=modulus,
            time=self.time,
            length=self.length,
            inverse=found.inverse,
            carried=found.carried,
            follows=found.follows,
            end=found.end,
        )

    def to_the_end(self, bent: Bent, frequency: float, ends: Ends) -> tuple[StemMarch, Bent]:
        """March until the motion repeats itself or the time is up."""
        rod = self.carried.rod
        course = march_on(
            partial(self.chunk, bent, self.kept(bent)),
            lambda kept: kept[0][:, 0:3], lambda: totals(bent.energy),
            frequency=frequency, step=self.step, length=float(rod.length.sum()), ends=ends,
        )  # fmt: skip
        march = march_of_rod(rod, course, self.step, bent)
        return StemMarch(march, course.kept[2] - rod.root), bent

    def kept(self, bent: Bent) -> Renewed[Leaf]:
        """Return the plate as it goes on, its inverse to be kept and renewed."""
        return Renewed(lambda: self.leaf(bent))

    def chunk(
        self, bent: Bent, leaf: Renewed[Leaf], chunk: int, stride: int, before: int
    ) -> tuple[Array, Array, Array]:
        """March a chunk of steps, renewing the inverse whenever it is asked for."""
        count, n = chunk // stride, len(self.carried.rod.length)
        table = np.zeros((count, HISTORY_COLUMNS))
        shape, places = np.zeros((count, n, 6)), np.zeros((count, len(bent.plate[0]), 3))

        def make(done: int) -> tuple[int, int]:
            row = done // stride
            made, end = advance_stem(
                self.carried.rod,
                self.stream,
                leaf.now,
                self.step,
                (chunk - done, stride, done % stride),
                self.shed,
                bent,
                table[row:],
                shape[row:],
                places[row:],
            )
            return int(made), int(end)

        done = with_renewals(chunk, make, leaf.renew)
        check_chunk(done, chunk, before, self.step, table)
        return table, shape, places
