"""Time steps of a plate: generalised-alpha, Newton's method with a kept inverse."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from simsoft.core.arrays import Array, Integers
from simsoft.core.compiled import kernel
from simsoft.hydrodynamics.plate.flow import Flow, flow_force
from simsoft.hydrodynamics.plate.wake import Wake, foretell, push_by_wakes, step_wakes
from simsoft.mechanics.plate import Plate
from simsoft.mechanics.plate_forces import internal_forces
from simsoft.mechanics.rod import Stream

# Chung & Hulbert 1993, J. Appl. Mech. 60:371: second order, waves shorter than the step die out.
RADIUS = 0.6
ALPHA_M = (2.0 * RADIUS - 1.0) / (RADIUS + 1.0)
ALPHA_F = RADIUS / (RADIUS + 1.0)
GAMMA = 0.5 - ALPHA_M + ALPHA_F
BETA = 0.25 * (1.0 - ALPHA_M + ALPHA_F) ** 2
TOLERANCE = 1.0e-6  # of a correction of a director, and of a place over the length
ITERATIONS = 12
TIRED = 8  # iterations of a step after which the inverse is renewed
FARTHEST_LEARNT = 0.9  # a correction is drawn out to ten times its length at most
HISTORY_COLUMNS = 13  # tip, tangent, force and moment on the clamp, stronger wake
ENERGY_TERMS = 5
ENERGY_NAMES = ("kinetic", "elastic", "fluid_work", "dead_work", "damping_loss")
DONE, RENEW, LOST = 0, 1, 2


class MovingPlate(NamedTuple):
    """A plate in its water with the material of a beat: what stays the same from step to step.

    Attributes
    ----------
    plate, flow, wake : arrays of the plate and of the fluid around it
    mass : row-compressed: data, columns, rows
    dead : array (n, 6) [N], dead load
    height : float [m], of the clamp
    modulus, damping : float [Pa], [s], dynamic modulus and Kelvin-Voigt time
    length : float [m], of the part
    """

    plate: Plate
    flow: Flow
    wake: Wake
    mass: tuple[Array, Integers, Integers]
    dead: Array
    height: float
    modulus: float
    damping: float
    length: float


class Inverse(NamedTuple):
    """The inverse of the iteration matrix (see ``time_march``), kept while it serves.

    Attributes
    ----------
    matrix : array (m, m), of the free unknowns
    frames : array (n, 3, 3), node frames at which it was taken (``node_frames``); it is turned
        along with the nodes, whose stiff directions it would miss otherwise
    mates : int array (n,), a neighbour of every node
    free : int array (m,), unknowns that move
    """

    matrix: Array
    frames: Array
    mates: Integers
    free: Integers


class Stands(NamedTuple):
    """Where a march stands; advanced in place.

    Attributes
    ----------
    motion : array (3, n, 6), state, rate and acceleration
    shed : array (2, 4), wakes (see ``wake.foretell``)
    energy : array (5,) [J], kinetic and elastic energy now, works so far
    """

    motion: Array
    shed: Array
    energy: Array


class Sampled(NamedTuple):
    """What is kept of a march, and of which nodes.

    Attributes
    ----------
    held : int array, nodes on the clamp
    marks : int array (rows, 3), nodes of the middle line and of the two edges abreast
    history : array (samples, 13)
    shapes : array (samples, rows, 6)
    """

    held: Integers
    marks: Integers
    history: Array
    shapes: Array


@kernel()
def times_mass(data: Array, columns: Integers, rows: Integers, vector: Array, out: Array) -> None:
    """Write the product of a sparse matrix (row-compressed) with a vector."""
    for i in range(rows.shape[0] - 1):
        total = 0.0
        for k in range(rows[i], rows[i + 1]):
            total += data[k] * vector[columns[k]]
        out[i] = total


@kernel()
def water_velocity(stream: Stream, height: float, state: Array, out: Array) -> None:
    """Write the water's velocity (n, 3) [m/s] at the nodes; ``height`` [m] is the clamp's."""
    for k in range(state.shape[0]):
        excess = stream.shear * (state[k, 2] + height)
        for i in range(3):
            out[k, i] = stream.velocity[i] + excess * stream.direction[i]


@kernel()
def advance_plate(
    moving: MovingPlate,
    stream: Stream,
    inverse: Inverse,
    stands: Stands,
    samples: Sampled,
    step: float,
    steps: int,
    stride: int,
    offset: int,
) -> tuple[int, int]:
    """March up to ``steps`` steps; return how many were made and why it ended.

    Parameters
    ----------
    moving : MovingPlate
    stream : Stream
    inverse : Inverse
    stands : Stands, advanced in place
    samples : Sampled, ``steps / stride`` of them, filled
    step : float [s]
    steps, stride : int, at most so many, a sample every so many
    offset : int, steps made since the last sample

    Returns
    -------
    done, end : int, ``RENEW`` asks for a new inverse, ``LOST`` says that a step failed
    """
    plate = moving.plate
    flow = moving.flow
    wake = moving.wake
    mass = moving.mass
    dead, height, length = moving.dead, moving.height, moving.length
    modulus, damping = moving.modulus, moving.damping
    matrix, frames, mates, free = inverse.matrix, inverse.frames, inverse.mates, inverse.free
    motion, shed, energy = stands.motion, stands.shed, stands.energy
    held, marks = samples.held, samples.marks
    history, shapes = samples.history, samples.shapes
    n = motion.shape[1]
    state, rate, change = motion[0], motion[1], motion[2]
    force, inner, inertia = np.empty((n, 6)), np.empty((n, 6)), np.empty(6 * n)
    water = np.empty((n, 3))
    turn = np.empty((n, 3, 3))
    kept = np.zeros((ITERATIONS, n, 6))
    tired = 0
    wakes = np.zeros(2)
    for s in range(steps):
        foretell(wake, shed, (1.0 - ALPHA_F) * step, wakes)
        next_change = change.copy()
        found = False
        stored, lost = 0.0, 0.0
        used = ITERATIONS
        for iteration in range(ITERATIONS):
            next_state, next_rate = _stepped(state, rate, change, next_change, step)
            at_state = (1.0 - ALPHA_F) * next_state + ALPHA_F * state
            at_rate = (1.0 - ALPHA_F) * next_rate + ALPHA_F * rate
            at_change = (1.0 - ALPHA_M) * next_change + ALPHA_M * change
            stored, lost = internal_forces(plate, at_state, at_rate, damping, inner)
            water_velocity(stream, height, at_state, water)
            flow_force(flow, at_state, at_rate, at_change, water, force)
            push_by_wakes(wake, flow, at_state, at_rate, water, wakes, force)
            times_mass(mass[0], mass[1], mass[2], at_change.ravel(), inertia)
            out = modulus * inner - force - dead + inertia.reshape(n, 6)
            if found:
                used = iteration
                break
            if iteration == 0:
                turns_since(at_state, mates, frames, turn)
            _correct(matrix, turn, free, out, kept[iteration])
            learn(kept, iteration, length)
            next_change += kept[iteration]
            largest = largest_move(kept[iteration], length) * BETA * step**2
            if not math.isfinite(largest):
                return s, LOST
            found = largest < TOLERANCE
        if not found:
            return s, RENEW
        state[:], rate[:], change[:] = next_state, next_rate, next_change
        step_wakes(wake, flow, state, rate, water, shed, step)
        _books(modulus * stored, modulus * lost, force, dead, at_rate, step, energy)
        energy[0] = 0.5 * float((at_rate.ravel() * _mass_times(mass, at_rate)).sum())
        if (offset + s + 1) % stride == 0:
            sample = (offset + s) // stride
            _record(state, out, held, marks, history[sample], shapes[sample])
            history[sample, 12] = shed[int(np.argmax(wake.moment)), 0]
        tired = tired + 1 if used >= TIRED else 0
        if tired >= 2:
            return s + 1, RENEW
    return steps, DONE


@kernel()
def _stepped(
    state: Array, rate: Array, change: Array, next_change: Array, step: float
) -> tuple[Array, Array]:
    """Return state and rate (n, 6) at the end of a step with its accelerations known."""
    return (
        state + step * rate + step**2 * ((0.5 - BETA) * change + BETA * next_change),
        rate + step * ((1.0 - GAMMA) * change + GAMMA * next_change),
    )


def mates_of(quads: Integers, nodes: int) -> Integers:
    """Return a neighbour along a side for every node, int array (n,)."""
    result = np.zeros(nodes, dtype=np.int64)
    for corner in range(4):
        result[quads[:, corner]] = quads[:, (corner + 1) % 4]
    return result


@kernel()
def node_frames(state: Array, mates: Integers, frames: Array) -> None:
    """Write a frame (3, 3) for every node, columns: toward its mate, across, director."""
    for k in range(state.shape[0]):
        normal = state[k, 3:] / math.sqrt((state[k, 3:] ** 2).sum())
        chord = state[mates[k], :3] - state[k, :3]
        chord = chord - (chord * normal).sum() * normal
        chord = chord / math.sqrt((chord * chord).sum())
        frames[k, :, 0] = chord
        frames[k, :, 1] = np.cross(normal, chord)
        frames[k, :, 2] = normal


@kernel()
def _correct(inverse: Array, turn: Array, free: Integers, out: Array, move: Array) -> None:
    """Write the correction (n, 6) of the accelerations that the turned inverse asks for."""
    turn_out(np.dot(inverse, turned_in(turn, free, out)), turn, free, move)


@kernel()
def turned_in(turn: Array, free: Integers, out: Array) -> Array:
    """Return the free unknowns (m,) of forces (n, 6), turned back as ``turn`` (n, 3, 3) says."""
    blocks = free.shape[0] // 3
    own = np.empty(3 * blocks)
    for b in range(blocks):
        node, part = free[3 * b] // 6, free[3 * b] % 6
        for i in range(3):
            total = 0.0
            for j in range(3):
                total += turn[node, j, i] * out[node, part + j]
            own[3 * b + i] = total
    return own


@kernel()
def turn_out(moved: Array, turn: Array, free: Integers, move: Array) -> None:
    """Write the negative of free unknowns (m,), turned on, into the rows of ``move`` (n, 6)."""
    for b in range(free.shape[0] // 3):
        node, part = free[3 * b] // 6, free[3 * b] % 6
        for i in range(3):
            total = 0.0
            for j in range(3):
                total += turn[node, i, j] * moved[3 * b + j]
            move[node, part + i] = -total


@kernel()
def turns_since(state: Array, mates: Integers, frames: Array, turn: Array) -> None:
    """Write how nodes (n, 3, 3) have turned since their ``frames`` (n, 3, 3) were taken."""
    here = np.empty_like(frames)
    node_frames(state, mates, here)
    for k in range(state.shape[0]):
        turn[k] = np.dot(here[k], frames[k].T)


@kernel()
def learn(kept: Array, last: int, length: float) -> None:
    """Better a step's last correction by what the ones before it have taught.

    Broyden's method with the kept inverse as its first guess, in the form that stores nothing but
    the corrections (Kelley 1995, Iterative Methods for Linear and Nonlinear Equations, section
    7.3, from memory). Places count over the length [m].
    """
    for j in range(last):
        size = _product(kept[j], kept[j], length)
        if size <= 0.0:
            continue
        share = _product(kept[j], kept[last], length) / size
        if j < last - 1:
            kept[last] += share * kept[j + 1]
        elif share < FARTHEST_LEARNT:
            kept[last] /= 1.0 - share


@kernel()
def _product(first: Array, second: Array, length: float) -> float:
    total = 0.0
    for k in range(first.shape[0]):
        for i in range(3):
            total += first[k, i] * second[k, i] / length**2
            total += first[k, 3 + i] * second[k, 3 + i]
    return total


@kernel()
def largest_move(move: Array, length: float) -> float:
    """Return the largest entry of a correction, places over the length."""
    largest = 0.0
    for k in range(move.shape[0]):
        for i in range(3):
            largest = max(largest, abs(move[k, i]) / length, abs(move[k, 3 + i]))
    return largest


@kernel()
def _mass_times(mass: tuple[Array, Integers, Integers], vector: Array) -> Array:
    result = np.empty(vector.size)
    times_mass(mass[0], mass[1], mass[2], vector.ravel(), result)
    return result


@kernel()
def _books(
    stored: float, lost: float, force: Array, dead: Array, rate: Array, step: float, energy: Array
) -> None:
    """Add the works of a step to the books."""
    energy[1] = stored
    energy[2] += step * float((force * rate).sum())
    energy[3] += step * float((dead * rate).sum())
    energy[4] += step * lost


@kernel()
def _record(
    state: Array, out: Array, held: Integers, marks: Integers, row: Array, shape: Array
) -> None:
    """Write tip, tangent, force and moment on the clamp, and the middle line with its width."""
    for k in range(marks.shape[0]):
        middle, left, right = marks[k]
        for i in range(3):
            shape[k, i] = state[middle, i]
            shape[k, 3 + i] = state[right, i] - state[left, i]
    last = marks.shape[0] - 1
    tangent = np.cross(shape[last, 3:], state[marks[last, 0], 3:])
    row[0:3] = state[marks[last, 0], :3]
    row[3:6] = tangent / math.sqrt((tangent * tangent).sum())
    row[6:12] = 0.0
    for k in held:
        turning = np.cross(state[k, :3], out[k, :3]) + np.cross(state[k, 3:], out[k, 3:])
        for i in range(3):
            row[6 + i] -= out[k, i]
            row[9 + i] -= turning[i]
