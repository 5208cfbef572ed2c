"""Time march of a plate on its stem to its limit cycle."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from scipy.linalg import LinAlgError

from simsoft.bodies.clearance.gap import Placed, in_motion
from simsoft.bodies.paddle.carried_plate import Leaf
from simsoft.bodies.paddle.condense import condensed
from simsoft.bodies.paddle.equilibrium import StemRest
from simsoft.bodies.paddle.setup import Carried
from simsoft.bodies.paddle.stepper import Bent, advance_stem
from simsoft.bodies.plate.stepper import LOST, RENEW
from simsoft.bodies.rod.stepper import ENERGY_TERMS, HISTORY_COLUMNS
from simsoft.bodies.rod.time_march import (
    BEATS_PER_CHUNK,
    HALVINGS,
    KICK,
    SAMPLES_PER_BEAT,
    March,
    balance_of,
    is_trending,
    settle,
    totals,
)
from simsoft.core.arrays import Array
from simsoft.core.errors import SolveError
from simsoft.hydrodynamics.rim import RIM_STATES, drags_wake
from simsoft.mechanics.rod import Stream
from simsoft.mechanics.rotation import quaternion_from_vector

STEPS_PER_BEAT = 160
STEPS_PER_MODE = 60


@dataclass(frozen=True)
class StemMarch:
    """A march, and the places (samples, n, 3) [m] of the plate's nodes from the clamp."""

    march: March
    places: Array


class _FailedError(Exception):
    def __init__(self, time: float, step: float) -> None:
        super().__init__()
        self.time = time
        self.step = step


def march_stem(
    carried: Carried,
    time: float,
    stream: Stream,
    rest: StemRest,
    *,
    frequency: float,
    longest: tuple[float, float],
    fastest: float = 0.0,
    step: float | None = None,
    coarsen: float = 1.0,
    start: Bent | None = None,
) -> tuple[StemMarch, Bent]:
    """March a plate on its stem, slightly disturbed, until the motion repeats itself.

    Parameters
    ----------
    carried : Carried, as motion about the rest shape feels it, in water
    time : float [s], Kelvin-Voigt time
    stream : Stream
    rest : StemRest
    frequency : float [Hz], expected beat; sets sampling and, with ``fastest``, the step
    longest : (float, float) [s], end of the march if it has not settled, and if it still grows
    fastest : float [Hz], frequency that the step must resolve as well
    step : float or None [s]
    coarsen : float, multiple of the default step
    start : Bent or None, of an earlier march to go on from

    Raises
    ------
    SolveError
        If a step fails even with an eighth of the chosen step.
    """
    size = step or coarsen / max(STEPS_PER_BEAT * frequency, STEPS_PER_MODE * fastest)
    for attempt in range(HALVINGS + 1):
        try:
            begun = _kicked(carried, rest) if start is None else start
            run = _Run(carried, time, stream, size / 2**attempt)
            return run.to_the_end(Bent(*(part.copy() for part in begun)), frequency, longest)
        except _FailedError as error:
            failed = error
            if step is not None:
                break
    raise SolveError(
        f"the march of the plate on its stem failed at {failed.time:.3f} s (step "
        f"{failed.step:.1e} s): give a smaller numerics.step or fewer numerics.elements"
    )


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
    bent = _kicked(carried, start, (0.0, 0.0, 0.0))
    try:
        leaf = run.leaf(bent)
        for sample in range(samples):
            leaf, (table, shape, _) = run.chunk(bent, leaf, stride, stride, sample * stride)
            yield in_motion(carried.rod, shape[:, :, :3], shape[:, :, 3:], table[:, 3:6])
    except _FailedError as error:
        raise SolveError(
            f"the march of the plate on its stem failed at {error.time:.3f} s"
        ) from None


def _kicked(carried: Carried, rest: StemRest, kick: tuple[float, float, float] = KICK) -> Bent:
    """Return a rest shape with the rod disturbed by turns ``kick`` [rad], as ``march`` does."""
    n = len(rest.angle)
    quaternion = np.zeros((n, 4))
    for k in range(n):
        quaternion_from_vector(rest.angle[k] + np.array(kick) / n, quaternion[k])
    plate = np.zeros((4, *rest.state.shape))
    plate[0] = rest.state
    energy = np.zeros((2, ENERGY_TERMS))
    return Bent(quaternion, np.zeros((4, n, 6)), plate, np.zeros(RIM_STATES), energy)


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
        self.renewals = 0

    def leaf(self, bent: Bent) -> Leaf:
        """Return the plate with the inverse taken in its present shape."""
        model, plate, modulus = self.carried.model, self.carried.plate, self.carried.modulus
        try:
            found = condensed(
                model.mass, self.pad, model.free, plate, modulus, self.time, self.step,
                bent.plate[0],
            )  # fmt: skip
        except (LinAlgError, ValueError):
            raise _FailedError(0.0, self.step) from None
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

    def to_the_end(
        self, bent: Bent, frequency: float, longest: tuple[float, float]
    ) -> tuple[StemMarch, Bent]:
        """March until the motion repeats itself or the time is up."""
        rod = self.carried.rod
        stride = max(1, round(1.0 / (frequency * self.step * SAMPLES_PER_BEAT)))
        chunk = max(stride, stride * round(BEATS_PER_CHUNK / (frequency * self.step * stride)))
        length = float(rod.length.sum())
        leaf = self.leaf(bent)
        tables: list[tuple[Array, Array, Array]] = []
        begun = np.zeros(ENERGY_TERMS)
        settled, message, window, steps, going = False, "", (0, 0), 0, True
        while going:
            leaf, table = self.chunk(bent, leaf, chunk, stride, steps)
            begun = begun if steps else totals(bent.energy)
            steps += chunk
            tables.append(table)
            time = self.step * stride * np.arange(1.0, steps // stride + 1)
            tip = np.concatenate([t[0][:, 0:3] for t in tables])
            settled, message, window = settle(time, tip, length)
            now = steps * self.step
            patient = now < longest[1] and is_trending(time, tip)
            going = not settled and (now < longest[0] or patient)
        if not settled:
            message = f"not settled after {steps * self.step:.2f} s: {message}"
        history, shape, places = (np.concatenate([t[i] for t in tables]) for i in range(3))
        kicked = 0.5 * float((rod.stiffness * (np.array(KICK) / len(rod.length)) ** 2).sum())
        march = March(
            time=time,
            tip=history[:, 0:3] - rod.root,
            tangent=history[:, 3:6],
            force=history[:, 6:9],
            moment=history[:, 9:12],
            wake=history[:, 12],
            shapes=shape[:, :, :3],
            width_axes=shape[:, :, 3:],
            settled=settled,
            message=message,
            window=window,
            energy=balance_of(totals(bent.energy) - begun, kicked),
            step=self.step,
        )
        return StemMarch(march, places - rod.root), bent

    def chunk(
        self, bent: Bent, leaf: Leaf, chunk: int, stride: int, before: int
    ) -> tuple[Leaf, tuple[Array, Array, Array]]:
        """March a chunk of steps, renewing the inverse whenever it is asked for."""
        count, n = chunk // stride, len(self.carried.rod.length)
        table = np.zeros((count, HISTORY_COLUMNS))
        shape, places = np.zeros((count, n, 6)), np.zeros((count, len(bent.plate[0]), 3))
        done, renewed = 0, False
        while done < chunk:
            first = done // stride
            made, end = advance_stem(
                self.carried.rod,
                self.stream,
                leaf,
                self.step,
                (chunk - done, stride, done % stride),
                self.shed,
                bent,
                table[first:],
                shape[first:],
                places[first:],
            )
            done += made
            if end == LOST or (end == RENEW and renewed and made == 0):
                raise _FailedError((before + done) * self.step, self.step)
            renewed = end == RENEW
            if renewed:
                leaf = self.leaf(bent)
                self.renewals += 1
        if not np.all(np.isfinite(table)):
            raise _FailedError((before + done) * self.step, self.step)
        return leaf, (table, shape, places)
