"""Start speed of a plate: eigenvalues of small motions about its rest shape."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from simsoft.bodies.plate.equilibrium import PlateRest, extent, plate_branch, water_at
from simsoft.bodies.plate.modes import normal_map, plate_modes
from simsoft.bodies.plate.setup import PlateReady
from simsoft.bodies.rod.equilibrium import make_stream
from simsoft.bodies.rod.stability import BASIS
from simsoft.core.arrays import Array
from simsoft.hydrodynamics.plate.flow import Flow, flow_tangents
from simsoft.mechanics.plate import global_matrix
from simsoft.mechanics.plate_forces import tangent
from simsoft.solvers.crossing import Lead
from simsoft.solvers.spectrum import Pencil, make_pencil, mode_near
from simsoft.solvers.stability import GROWTH_NOISE, leading_eigenvalue, rate_of

SAME_SHAPE = 0.05  # change of a director up to which the modes of another rest shape still serve
STATE_STEP = 1.0e-6  # of the differences of the water's force, over the length
PAST = 1.0e-3  # of a start speed, how far beyond it the rate is read
# The attached flow's force takes the slopes of the plate from its directors where it carries the
# water along and from its nodes where it carries the pressure. Of long waves the works of the two
# cancel but for the trailing edge; of waves shorter than about four panels they do not, and the
# rest feeds energy in, in step with the speed: an undamped plate seemed to start at any speed. In
# meshes of 4 to 14 elements no mode below a step of 1.4 was fed, and starts had 0.3 to 0.5.
FEWEST_MODES = 3  # that carry the small motion on any mesh
SHORTEST_WAVE = 1.25  # step of the normal velocity from panel to panel over its size: 5 to a wave
RATE_STEP = 1.0e-5  # of the differences of the water's force, over the stream speed


class PlateGrowth:
    """Leading eigenvalue of small motions at a speed, every mode with the material it meets.

    ``followed`` keeps the rest shapes that were asked for, by speed [m/s].
    """

    def __init__(self, ready: PlateReady, direction: Array, shear: float) -> None:
        self.ready = ready
        self.direction = direction
        self.shear = shear
        self.length = extent(ready.model)
        self.modulus, _ = ready.material(0.0)
        self.state = ready.still.state
        self.followed: dict[float, PlateRest] = {}
        self._take_modes(self.state)
        self.limit = GROWTH_NOISE * 2.0 * math.pi * self.frequency

    def _take_modes(self, state: Array) -> None:
        model = self.ready.model
        plate = self.ready.moving_plate(state, self.modulus)
        modes = plate_modes(
            model, plate, self.modulus, state, min(BASIS, len(model.free) // 3), named=False
        )
        self.state = state
        self.basis = modes.shape
        self.unseen = np.zeros(0, dtype=np.int64)
        if model.flow is not None:
            step = steps_of(model.flow, state, modes.shape)
            self.unseen = np.flatnonzero(step > SHORTEST_WAVE)
            self.unseen = self.unseen[self.unseen >= FEWEST_MODES]
        self.frequency = max(float(modes.frequency[0]), 1e-9)

    def take_modes_near(self, state: Array) -> None:
        """Take the modes of a rest shape (n, 6) where those at hand no longer serve."""
        if float(np.abs(state - self.state)[:, 3:].max()) > SAME_SHAPE:
            self._take_modes(state)

    def at(self, speed: float, rest: PlateRest) -> Lead:
        """Return the leading small motion about a rest shape."""
        return self.leading(speed, rest)[0]

    def leading(self, speed: float, rest: PlateRest) -> tuple[Lead, Array | None]:
        """Return the leading small motion about a rest shape, and its shape (6 n,) if it grows."""
        state = rest.state
        self.take_modes_near(state)
        mass, damping, stiffness, elastic = self.matrices(speed, state)
        every = np.arange(len(mass))
        passage = speed / self.length
        # what leads is looked for among all modes, and only where that is no motion that the mesh
        # shows, without what feeds those it does not, and at last without them
        for own, modes in (
            (damping, every),
            (fed_nothing(damping, self.unseen), every),
            (damping, np.setdiff1d(every, self.unseen)),
        ):
            block = np.ix_(modes, modes)
            pencil = make_pencil(
                mass[block], own[block], stiffness[block], elastic[block], self.modulus
            )
            best, slow = leading_eigenvalue(pencil, self.ready.material, self.frequency, passage)
            phases = self._phases(pencil, best, modes) if best.real > 0.0 else None
            if phases is None or self._shows(state, phases):
                break
        grows = None if phases is None else phases[:, 0]
        return Lead(best.real, rate_of(best, self.frequency), slow), grows

    def _phases(self, pencil: Pencil, value: complex, modes: npt.NDArray[np.int64]) -> Array:
        """Return two phases (6 n, 2) of the motion of an eigenvalue [1/s], a quarter beat apart."""
        at = abs(value.imag) / (2.0 * math.pi)
        mode = mode_near(pencil, self.ready.material, value, at)
        return np.asarray(self.basis[:, modes] @ np.column_stack([mode.real, mode.imag]))

    def _shows(self, state: Array, phases: Array) -> bool:
        """Return whether the mesh shows a motion of two phases (6 n, 2)."""
        flow = self.ready.model.flow
        if flow is None or len(self.unseen) == 0:
            return True
        return bool(steps_of(flow, state, phases, together=True)[0] < SHORTEST_WAVE)

    def matrices(self, speed: float, state: Array) -> tuple[Array, Array, Array, Array]:
        """Return mass, damping, stiffness and unit elastic stiffness between the modes."""
        model, basis = self.ready.model, self.basis
        plate = self.ready.moving_plate(state, self.modulus)
        count = basis.shape[1]
        directions = basis.T.reshape(count, *state.shape)
        elastic = basis.T @ (global_matrix(plate, *tangent(plate, state, 1.0, 0.0)) @ basis)
        whole = basis.T @ (global_matrix(plate, *tangent(plate, state, 1.0, 1.0)) @ basis)
        mass = basis.T @ (model.mass @ basis)
        damping = np.zeros((count, count))
        stiffness = self.modulus * whole
        if model.flow is not None:
            size = 1.0 / np.abs(directions[:, :, :3]).max(axis=(1, 2))
            unit = directions * size[:, None, None]
            mass += _added(model.flow, state, unit, basis) / size
            by_state, by_rate = flow_tangents(
                model.flow,
                state,
                np.zeros_like(state),
                np.zeros_like(state),
                water_at(model, make_stream(speed, self.direction, self.shear), state),
                unit,
                np.array([STATE_STEP * self.length, RATE_STEP * max(speed, 1e-3)]),
            )
            stiffness = stiffness - basis.T @ by_state / size
            damping = -basis.T @ by_rate / size
        return mass, damping, stiffness, elastic

    def follow(self, speeds: Array, start: PlateRest | None, start_speed: float) -> list[PlateRest]:
        """Return the rest shapes at ascending speeds, from still water or a known one."""
        begin = self.ready.still.state if start is None else start.state
        near = start_speed if start is None else float(speeds[0])
        found = follow_rest(self.ready, speeds, self.direction, self.shear, begin, near)
        self.followed |= zip(speeds.tolist(), found, strict=True)
        return found

    def between(self, speed: float, low: PlateRest, low_speed: float, high: PlateRest) -> PlateRest:
        """Return the rest shape at a speed, followed from the sample below it."""
        return self.follow(np.array([speed]), low, low_speed)[0]

    def put_right(self, speed: float, near: PlateRest) -> tuple[float, float] | None:
        """Read the rate where growth shows: below it an undamped motion in the plane may lead."""
        past = self.at((1.0 + PAST) * speed, near)
        return (speed, past.frequency) if past.growth > self.limit else None


def follow_rest(
    ready: PlateReady, speeds: Array, direction: Array, shear: float, start: Array, near: float
) -> list[PlateRest]:
    """Return the rest shapes at ascending speeds, from a shape at or near the speed ``near``.

    A start that is near the first speed is taken as if it stood at 99 % of it.
    """
    held = (ready.model, ready.model.plate, ready.resting_modulus)
    return plate_branch(*held, speeds, direction, shear, start, 0.99 * near)


def fed_nothing(damping: Array, unseen: npt.NDArray[np.int64]) -> Array:
    """Return a damping (m, m) that feeds no energy into the motions made of some of the modes.

    ``unseen`` are the modes that the mesh does not show. What feeds them is taken off, what damps
    them and what couples them to the others stays.
    """
    block = np.ix_(unseen, unseen)
    even = 0.5 * (damping[block] + damping[block].T)
    value, vector = np.linalg.eigh(even)
    result = damping.copy()
    result[block] -= (vector * np.minimum(value, 0.0)) @ vector.T
    return result


def steps_of(flow: Flow, state: Array, shape: Array, together: bool = False) -> Array:
    """Return how modes (6 n, m) change from panel to panel, over their size, array (m,).

    2 pi over the panels of a wave, where a wave is long. ``together`` takes them as the phases of
    one motion, array (1,).
    """
    normal = normal_map(flow, state) @ shape
    left, right = flow.neighbours[flow.neighbours[:, 1] >= 0].T
    change = ((normal[left] - normal[right]) ** 2).sum(axis=0)
    size = (normal**2).sum(axis=0)
    if together:
        change, size = change.sum(keepdims=True), size.sum(keepdims=True)
    return np.asarray(np.sqrt(change / np.maximum(size, 1e-300)))


def _added(flow: Flow, state: Array, directions: Array, basis: Array) -> Array:
    """Return the added mass between a basis (6 n, m) and unit motions (m, n, 6)."""
    across = normal_map(flow, state)
    rates = across @ directions.reshape(len(directions), -1).T
    return np.asarray((across @ basis).T @ (flow.added @ rates))
