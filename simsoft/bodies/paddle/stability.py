"""Small motions of a plate on its stem in a stream: growth against speed."""

from __future__ import annotations

import math

import numpy as np

from simsoft.bodies.paddle.equilibrium import StemRest, stem_branch
from simsoft.bodies.paddle.link import end_motion, end_of, spread_motion, still_rate
from simsoft.bodies.paddle.modes import STILL, Carried, linearised_stem, plate_mass, stem_modes
from simsoft.bodies.paddle.setup import StemReady
from simsoft.bodies.rod.equilibrium import make_stream
from simsoft.bodies.rod.stability import BASIS
from simsoft.bodies.rod.tangents import (
    WAKE_STEP,
    elastic_tangent,
    tangents,
    with_wake,
)
from simsoft.core.arrays import Array
from simsoft.core.errors import SolveError
from simsoft.hydrodynamics.flexible_paddle import pad_axes, pad_force, pad_motion
from simsoft.hydrodynamics.rim import no_rim
from simsoft.lure.rod_model import without_fluid_load
from simsoft.mechanics.plate import free_matrix
from simsoft.mechanics.plate_forces import tangent
from simsoft.mechanics.rod import Stream
from simsoft.solvers.crossing import Lead
from simsoft.solvers.spectrum import make_pencil
from simsoft.solvers.stability import GROWTH_NOISE, leading_eigenvalue, rate_of

RATE_STEP = 1.0e-5  # of the differences of the water's force, over the stream speed


class StemGrowth:
    """Leading eigenvalue of small motions at a speed, every mode with the material it meets."""

    def __init__(self, ready: StemReady, direction: Array, shear: float) -> None:
        self.ready, self.direction, self.shear = ready, direction, shear
        self.length = float(ready.model.rod.length.sum())
        self.modulus, _ = ready.material(0.0)
        still = ready.still
        moving = ready.moving(still, STILL, self.modulus, 0.0)
        dry = moving._replace(rod=without_fluid_load(moving.rod))
        modes = stem_modes(dry, still.angle, still.state, BASIS)
        self.basis = np.ascontiguousarray(modes.shape)
        self.frequency = max(float(modes.frequency[0]), 1e-9)
        self.limit = GROWTH_NOISE * 2.0 * math.pi * self.frequency

    def at(self, speed: float, rest: StemRest) -> Lead:
        """Return the leading small motion about a rest shape."""
        stream = make_stream(speed, self.direction, self.shear)
        moving = self.ready.moving(rest, stream, self.modulus, 0.0)
        matrices = stream_matrices(moving, stream, rest, self.basis)
        pencil = make_pencil(*matrices, self.modulus)
        passage = speed / self.length
        best, slow = leading_eigenvalue(pencil, self.ready.material, self.frequency, passage)
        return Lead(best.real, rate_of(best, self.frequency), slow)

    def follow(self, speeds: Array, start: StemRest | None, start_speed: float) -> list[StemRest]:
        """Return the rest shapes at ascending speeds, from still water or a known one."""
        begin = self.ready.still if start is None else start
        way = (speeds, self.direction, self.shear)
        return stem_branch(self.ready.resting(), *way, begin, 0.99 * start_speed)

    def between(self, speed: float, low: StemRest, low_speed: float, high: StemRest) -> StemRest:
        """Return the rest shape at a speed, followed from the sample below it."""
        return self.follow(np.array([speed]), low, low_speed)[0]

    def put_right(self, speed: float, near: StemRest) -> tuple[float, float] | None:
        """Return None: the search is made in the one basis that there is."""
        return None


def stream_matrices(
    moving: Carried, stream: Stream, rest: StemRest, basis: Array
) -> tuple[Array, Array, Array, Array]:
    """Return mass, damping, stiffness and unit elastic stiffness (M, M) of small motions.

    Parameters
    ----------
    moving : Carried, as motion about the rest shape feels it; its own damping is left out
    stream : Stream
    rest : StemRest
    basis : array (3 N + m, M)
    """
    model, rod, plate, modulus = moving
    pad = model.pad
    hinges = rest.angle.size
    of_rod, of_plate = np.ascontiguousarray(basis[:hinges]), basis[hinges:]
    parts = linearised_stem(moving, stream, rest.angle, rest.state)
    mass, damping, stiffness = tangents(parts.rod, stream, rest.angle, of_rod)
    end = end_motion(rod, rest.angle, of_rod)
    cross = end.T @ parts.across @ of_plate + of_plate.T @ parts.turned @ end
    stiffness = stiffness + end.T @ parts.end @ end + cross + of_plate.T @ parts.own @ of_plate
    nodes = spread_motion(model, rod, rest.angle, rest.state, basis)
    mass = mass + plate_mass(model, rest.state, nodes)
    damping = damping - nodes.T @ _by_rate(moving, stream, rest, nodes)
    elastic = elastic_tangent(rod, rest.angle, of_rod) / modulus
    whole = free_matrix(plate, *tangent(plate, rest.state, 1.0, 0.0), model.free)
    elastic = elastic + of_plate.T @ (whole @ of_plate)
    if pad is None or pad.paddle.rim_force <= 0.0:
        return mass, damping, stiffness, elastic
    motion, driven, pushed = _wake_coupling(moving, stream, rest, nodes)
    wide = with_wake(pad.paddle, motion, driven, pushed, mass, damping, stiffness)
    return *wide, np.pad(elastic, (0, 2))


def _wake_coupling(
    moving: Carried, stream: Stream, rest: StemRest, nodes: Array
) -> tuple[Array, Array, Array]:
    """Return the plate's mean motion (6,), and how its wake and motions (6 n, M) drive each other.

    As ``wake_coupling`` of the rod: ``driven`` (6, M), ``pushed`` (M, 2).
    """
    pad, state = moving.model.pad, rest.state
    if pad is None:
        raise SolveError("a plate in air drags no wake")
    frame, node = end_of(moving.rod, rest.angle)
    rate = still_rate(stream, frame, node, state)
    axes, at_rest, motion = np.empty((3, 3)), np.zeros(6), np.zeros(6)
    pad_axes(pad, state, axes)
    pad_motion(pad, state, rate, axes, at_rest)
    driven = np.zeros((6, nodes.shape[1]))
    for j in range(nodes.shape[1]):
        pad_motion(pad, state, rate + nodes[:, j].reshape(state.shape), axes, motion)
        driven[:, j] = motion - at_rest
    none = np.zeros_like(state)
    forces = []
    for i in range(3):
        wake = no_rim()
        if i < 2:
            wake[i] = WAKE_STEP
        force = np.zeros_like(state)
        pad_force(pad, state, rate, none, wake, force, motion)
        forces.append(force.ravel())
    pushed = -(np.column_stack(forces[:2]) - forces[2][:, None]) / WAKE_STEP
    return at_rest, driven, nodes.T @ pushed


def _by_rate(moving: Carried, stream: Stream, rest: StemRest, nodes: Array) -> Array:
    """Return the change of the water's force (6 n, M) with the rates of motions (6 n, M)."""
    pad, state = moving.model.pad, rest.state
    result = np.zeros_like(nodes)
    if pad is None:
        return result
    frame, node = end_of(moving.rod, rest.angle)
    rate = still_rate(stream, frame, node, state)
    speed = max(float(np.linalg.norm(stream.velocity)), 1e-3)
    motion, none = np.zeros(6), np.zeros_like(state)
    for j in range(nodes.shape[1]):
        shape = nodes[:, j].reshape(state.shape)
        step = RATE_STEP * speed / float(np.abs(shape[:, :3]).max())
        pair = []
        for sign in (1.0, -1.0):
            force = np.zeros_like(state)
            pad_force(pad, state, rate + sign * step * shape, none, no_rim(), force, motion)
            pair.append(force.ravel())
        result[:, j] = (pair[0] - pair[1]) / (2.0 * step)
    return result
