"""Time march of one plate to its limit cycle."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import NamedTuple

import numpy as np
from scipy.linalg import LinAlgError, inv

from simsoft.bodies.clearance.gap import Placed
from simsoft.bodies.plate.equilibrium import extent, water_at
from simsoft.bodies.plate.modes import normal_map
from simsoft.bodies.plate.renewals import Renewed, check_chunk, with_renewals
from simsoft.bodies.plate.stepper import (
    ALPHA_F,
    ALPHA_M,
    BETA,
    ENERGY_NAMES,
    ENERGY_TERMS,
    GAMMA,
    HISTORY_COLUMNS,
    Inverse,
    MovingPlate,
    Sampled,
    Stands,
    advance_plate,
    mates_of,
    node_frames,
)
from simsoft.core.arrays import Array
from simsoft.core.errors import SolveError
from simsoft.hydrodynamics.plate.tangent import flow_slopes
from simsoft.hydrodynamics.plate.wake import begin_wakes
from simsoft.lure.plate_model import PlateModel
from simsoft.mechanics.plate import Plate, free_matrix
from simsoft.mechanics.plate_forces import internal_forces, tangent
from simsoft.mechanics.rod import Stream
from simsoft.solvers.time_march import (
    CHOSEN,
    Ends,
    March,
    StepFailedError,
    TimeStep,
    give_up,
    march_on,
    with_halved_steps,
)

STEPS_PER_BEAT = 100
STEPS_PER_MODE = 40
TWISTS = (
    1.5  # range of a tip corner over that of the tip's middle past which the corner is followed
)
SUBSTEPS = 4  # halvings of a step that does not converge
FAILED = "the march of the plate failed"


class PlateStand(NamedTuple):
    """Where a march stands: motion (3, n, 6) and wakes (2, 4), see ``stepper.Stands``."""

    motion: Array
    shed: Array


def march_plate(
    model: PlateModel,
    plate: Plate,
    modulus: float,
    damping: float,
    stream: Stream,
    rest: Array,
    kicks: Array,
    *,
    frequency: float,
    ends: Ends,
    step: TimeStep = CHOSEN,
    start: PlateStand | None = None,
) -> March:
    """March a plate from a rest shape, slightly disturbed, until the motion repeats itself.

    Parameters
    ----------
    model : PlateModel, in water
    plate : Plate, its stress-free shape as fast motion feels it
    modulus, damping : float [Pa], [s], dynamic modulus and Kelvin-Voigt time
    stream : Stream
    rest : array (n, 6), rest shape
    kicks : array (n, 6), first disturbance
    frequency : float [Hz], expected beat; sets sampling and, unless stated, the step
    ends : Ends, of the march if it has not settled
    step : TimeStep
    start : PlateStand or None, of an earlier march to go on from, in place of the disturbed shape

    Raises
    ------
    SolveError
        If a step fails even with an eighth of the chosen step.
    """
    size = step.size(frequency, STEPS_PER_BEAT, STEPS_PER_MODE)

    def run(size: float) -> March:
        made = _Run(model, plate, modulus, damping, stream, size)
        return made.to_the_end(rest, kicks, frequency, ends, start)

    count = len(plate.quads)
    return with_halved_steps(run, size, FAILED, elements=count, stated=step.stated is not None)


def follow_plate(
    model: PlateModel,
    plate: Plate,
    modulus: float,
    damping: float,
    stream: Stream,
    start: Array,
    *,
    step: float,
    stride: int,
    samples: int,
) -> Iterator[Placed]:
    """Yield the positions of a plate let go at rest, one at a time as they are asked for.

    Parameters
    ----------
    model, plate, modulus, damping, stream : as in ``march_plate``; its wake is not begun
    start : array (n, 6), shape it is let go in
    step : float [s]
    stride : int, steps from position to position
    samples : int, positions

    Raises
    ------
    SolveError
        If a step fails.
    """
    run = _Run(model, plate, modulus, damping, stream, step)
    motion = np.zeros((3, *start.shape))
    motion[0] = start
    try:
        inverse = run.kept(motion)
        for sample in range(samples):
            yield run.placed(*run.chunk(motion, inverse, stride, stride, sample * stride))
    except StepFailedError as error:
        give_up(error, FAILED, len(plate.quads))


class _Run:
    """One march: what stays the same from step to step."""

    def __init__(
        self,
        model: PlateModel,
        plate: Plate,
        modulus: float,
        damping: float,
        stream: Stream,
        step: float,
    ) -> None:
        flow, wake = model.flow, model.wake
        if flow is None or wake is None:
            raise SolveError("a plate without a fluid around it is not marched")
        self.model, self.stream, self.step = model, stream, step
        mass = model.mass.tocsr()
        self.moving = MovingPlate(
            plate=plate,
            flow=flow,
            wake=wake,
            mass=(mass.data, mass.indices.astype(np.int64), mass.indptr.astype(np.int64)),
            dead=model.dead,
            height=float(model.root[2]),
            modulus=modulus,
            damping=damping,
            length=extent(model),
        )
        self.solid = mass[model.free][:, model.free].toarray()
        planform = model.planform
        self.marks = np.column_stack([planform.centre, planform.edges]).astype(np.int64)
        self.held = np.flatnonzero(planform.clamped)
        self.grid = np.ix_(model.free, model.free)
        self.mates = mates_of(planform.quads, len(planform.plan))
        self.frames = np.zeros((len(planform.plan), 3, 3))
        self.shed = np.zeros((2, 4))
        self.energy = np.zeros(ENERGY_TERMS)
        self.last = (np.zeros(HISTORY_COLUMNS), np.zeros((len(self.marks), 6)))

    def _advance(
        self,
        motion: Array,
        inverse: Array,
        counts: tuple[int, int, int],
        table: Array,
        shape: Array,
    ) -> tuple[int, int]:
        """Make up to ``counts[0]`` steps, sampled every ``counts[1]``, last ``counts[2]`` ago."""
        made, end = advance_plate(
            self.moving,
            self.stream,
            Inverse(inverse, self.frames, self.mates, self.model.free),
            Stands(motion, self.shed, self.energy),
            Sampled(self.held, self.marks, table, shape),
            self.step,
            *counts,
        )
        return int(made), int(end)

    def _divided(self, motion: Array, time: float) -> None:
        """Make one step that does not converge in 2, 4, ... parts, each with its own inverse."""
        whole = self.step
        begin, books, shed = motion.copy(), self.energy.copy(), self.shed.copy()
        for halving in range(1, SUBSTEPS + 1):
            self.step = whole / 2**halving
            parts = 0
            while parts < 2**halving:
                table = np.zeros((1, HISTORY_COLUMNS))
                shape = np.zeros((1, len(self.marks), 6))
                made, _ = self._advance(motion, self.inverse(motion), (1, 1, 0), table, shape)
                if made == 0:
                    break
                parts += 1
            if parts == 2**halving:
                self.step, self.last = whole, (table[0], shape[0])
                return
            motion[:], self.energy[:], self.shed[:] = begin, books, shed
        self.step = whole
        raise StepFailedError(time, whole)

    def inverse(self, motion: Array) -> Array:
        """Return the inverse of the iteration matrix about a motion (3, n, 6), half a step on."""
        state, rate = motion[0] + (1.0 - ALPHA_F) * self.step * motion[1], motion[1]
        node_frames(state, self.mates, self.frames)
        weight = BETA * self.step**2 * (1.0 - ALPHA_F)
        time_weight = GAMMA * self.step * (1.0 - ALPHA_F)
        plate, flow = self.moving.plate, self.moving.flow
        elastic = weight + time_weight * self.moving.damping
        free = self.model.free
        whole = free_matrix(plate, *tangent(plate, state, elastic, weight), free)
        matrix = self.moving.modulus * whole.toarray()
        by_state, by_rate = flow_slopes(flow, state, rate, water_at(self.model, self.stream, state))
        matrix -= weight * by_state[self.grid] + time_weight * by_rate[self.grid]
        across = normal_map(flow, state)[:, free].toarray()
        matrix += (1.0 - ALPHA_M) * (self.solid + across.T @ (flow.added @ across))
        try:
            return np.ascontiguousarray(inv(matrix, overwrite_a=True, check_finite=True))
        except (LinAlgError, ValueError):
            raise StepFailedError(0.0, self.step) from None

    def to_the_end(
        self, rest: Array, kicks: Array, frequency: float, ends: Ends, start: PlateStand | None
    ) -> March:
        """March until the motion repeats itself or the time is up."""
        motion = np.zeros((3, *rest.shape))
        motion[0] = rest + kicks
        water = water_at(self.model, self.stream, rest)
        wake, self.shed = begin_wakes(self.moving.wake, self.moving.flow, rest, water)
        self.moving = self.moving._replace(wake=wake)
        if start is not None:
            motion, self.shed = start.motion.copy(), start.shed.copy()
        course = march_on(
            partial(self.chunk, motion, self.kept(motion)),
            lambda kept: kept[1][:, -1, :3] + 0.5 * kept[1][:, -1, 3:], self.energy.copy,
            frequency=frequency, step=self.step, length=self.moving.length, ends=ends,
        )  # fmt: skip
        table, shape = course.kept
        place = self.placed(table, shape)
        centre, corner = table[:, 0:3], course.path
        seen = slice(*course.window)
        return March(
            time=course.time,
            tip=corner if twists(centre[seen], corner[seen]) else centre,
            tangent=place.tangent,
            force=table[:, 6:9],
            moment=table[:, 9:12],
            wake=table[:, 12],
            shapes=place.centre,
            width_axes=place.width_axis,
            settled=course.settled,
            message=course.message,
            window=course.window,
            energy=plate_balance(course.gained, self._stored(rest + kicks) - self._stored(rest)),
            step=self.step,
            state=PlateStand(motion, self.shed),
        )

    def placed(self, table: Array, shape: Array) -> Placed:
        """Return the positions in history (samples, 13) and shapes (samples, rows, 6)."""
        width = shape[:, :, 3:]
        across = width / np.linalg.norm(width, axis=2, keepdims=True)
        return Placed(shape[:, :, :3] + self.model.root, across, table[:, 3:6])

    def _stored(self, state: Array) -> float:
        """Return the elastic energy [J] of a state."""
        still, force = np.zeros_like(state), np.zeros_like(state)
        plate = self.moving.plate
        return self.moving.modulus * float(internal_forces(plate, state, still, 0.0, force)[0])

    def kept(self, motion: Array) -> Renewed[Array]:
        """Return the inverse about a motion as it goes on, to be kept and renewed."""
        return Renewed(lambda: self.inverse(motion))

    def chunk(
        self, motion: Array, inverse: Renewed[Array], chunk: int, stride: int, before: int
    ) -> tuple[Array, Array]:
        """March a chunk of steps, renewing the inverse whenever it is asked for."""
        table = np.zeros((chunk // stride, HISTORY_COLUMNS))
        shape = np.zeros((chunk // stride, len(self.marks), 6))

        def make(done: int) -> tuple[int, int]:
            counts = (chunk - done, stride, done % stride)
            row = done // stride
            return self._advance(motion, inverse.now, counts, table[row:], shape[row:])

        def divide(done: int) -> None:
            self._divided(motion, (before + done) * self.step)
            if (done + 1) % stride == 0:
                table[done // stride], shape[done // stride] = self.last

        done = with_renewals(chunk, make, inverse.renew, divide)
        check_chunk(done, chunk, before, self.step, table)
        return table, shape


def twists(centre: Array, corner: Array) -> bool:
    """Return whether a corner of the tip (samples, 3) moves much more than its middle."""
    spread = [float(np.linalg.norm(np.ptp(path, axis=0))) for path in (centre, corner)]
    return spread[1] > TWISTS * spread[0]


def plate_balance(change: Array, least: float) -> dict[str, float]:
    """Return works and energy changes [J] since the first beats, and what does not add up.

    ``residual`` is relative to the largest entry, at least ``least`` [J], the energy of the first
    disturbance.
    """
    named = {name: float(value) for name, value in zip(ENERGY_NAMES, change, strict=True)}
    gained = named["kinetic"] + named["elastic"]
    work = named["fluid_work"] + named["dead_work"]
    largest = max(abs(least), *(abs(value) for value in named.values())) or 1.0
    named["residual"] = (gained - work + named["damping_loss"]) / largest
    return named
