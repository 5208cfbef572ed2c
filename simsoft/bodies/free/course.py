"""What a march of a free lure leaves behind: poses, nodes, line, books."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from simsoft.bodies.free.base_step import Line
from simsoft.bodies.free.forces import evaluate_tree
from simsoft.bodies.free.step import BOOK_NAMES, BOOKS, POSE_COLUMNS, State
from simsoft.bodies.free.time_march import STILL, FreeMarch, start_march
from simsoft.bodies.free.work import make_tree_work
from simsoft.core.arrays import Array
from simsoft.hydrodynamics.rim import RIM_STATES, SEEN
from simsoft.lure.free_lure import FreeLure
from simsoft.lure.parts import GRAVITY
from simsoft.mechanics.rotation import quaternion_from_vector, vector_from_quaternion

LEAN = math.radians(1.0)  # roll and yaw at release: nothing is dropped perfectly straight


@dataclass(frozen=True)
class Trajectory:
    """The motion of a free lure.

    Attributes
    ----------
    time : array (T,) [s], evenly sampled
    position : array (T, 3) [m], of the eye; z up
    frames : array (T, 3, 3), lure's axes as columns in the world
    twist : array (T, 6) [rad/s, m/s], of the eye in the lure's axes
    centre : array (T, 3) [m], of the moulded centre of mass
    nodes : array (T, N, 3) [m], nodes of all chains and middle lines of plates, see
        ``free.rows_of``
    width_axes : array (T, N, 3), unit vectors along the width at the nodes
    line : array (T, 3) [N], of the line on the eye
    attitude, roll : array (T,) [rad], nose down positive; roll about the body's axis
    shape : array (N, 3) [rad], hinge angles at the end
    plates : tuple of arrays (n, 6), places and directors of the plates at the end, on their seats
    energy : dict [J], books over the march, 'residual' relative to the largest entry
    momentum_residual : float [-], momentum gained less impulse, over the largest of both, of
        the momentum itself and of the impulse of the net weight
    step : float [s]
    """

    time: Array
    position: Array
    frames: Array
    twist: Array
    centre: Array
    nodes: Array
    width_axes: Array
    line: Array
    attitude: Array
    roll: Array
    shape: Array
    plates: tuple[Array, ...]
    energy: dict[str, float]
    momentum_residual: float
    step: float


def state_at_rest(
    lure: FreeLure, tilt: float, shape: Array | None = None, lean: float = LEAN
) -> State:
    """Return a lure at rest with its eye at the origin, nose down by ``tilt`` [rad].

    ``shape`` (N, 3) [rad] are the hinge angles, None for the moulded ones; ``lean`` [rad]
    is the roll and yaw at release.
    """
    n, chains = len(lure.tree.length), len(lure.tree.carrier)
    quaternion = np.zeros((n, 4))
    for k in range(n):
        quaternion_from_vector(lure.tree.natural[k] if shape is None else shape[k], quaternion[k])
    turn = np.zeros(4)
    quaternion_from_vector(np.array([lean, -tilt, lean]), turn)
    wake = np.zeros((chains, RIM_STATES))
    return State(
        position=np.zeros(3),
        turn=turn,
        motion=np.zeros((3, 6)),
        quaternion=quaternion,
        hinges=np.zeros((4, n, 6)),
        wake=wake,
        books=np.zeros((2, BOOKS)),
        impulse=np.zeros((4, 3)),
    )


def hinge_angles(state: State) -> Array:
    """Return the hinge angles (N, 3) [rad] of a state."""
    angle = np.zeros((len(state.quaternion), 3))
    for k in range(len(angle)):
        vector_from_quaternion(state.quaternion[k], angle[k])
    return angle


def pose_frames(history: Array) -> Array:
    """Return frames (T, 3, 3) from the quaternions of a pose history."""
    w, x, y, z = history[:, 3:7].T
    rows = [
        [1 - 2 * (y * y + z * z), 2 * (x * y - w * z), 2 * (x * z + w * y)],
        [2 * (x * y + w * z), 1 - 2 * (x * x + z * z), 2 * (y * z - w * x)],
        [2 * (x * z - w * y), 2 * (y * z + w * x), 1 - 2 * (x * x + y * y)],
    ]
    return np.ascontiguousarray(np.moveaxis(np.array(rows), 2, 0))


def velocities(history: Array, frames: Array, point: Array) -> Array:
    """Return world velocities (T, 3) [m/s] of a point (3,) [m] fixed to the base."""
    local = history[:, 10:13] + np.cross(history[:, 7:10], point)
    return np.asarray(np.einsum("tij,tj->ti", frames, local))


def angles_of(frames: Array) -> tuple[Array, Array]:
    """Return nose-down angle and roll [rad] of frames (T, 3, 3)."""
    attitude = np.arcsin(np.clip(frames[:, 2, 0], -1.0, 1.0))
    roll = np.arctan2(frames[:, 2, 1], frames[:, 2, 2])
    return attitude, roll


def books_closed(
    state: State, started: tuple[Array, Array], weight: float
) -> tuple[dict[str, float], float]:
    """Return the energy books [J] with their relative residual, and that of the momentum.

    ``started`` holds what the march began with, see ``started_books``; ``weight`` [N s] is the
    impulse of the net weight, the least that the momentum's residual is measured by.
    """
    totals = np.concatenate([state.books[1, :2], state.books[0, 2:]]) - started[0]
    named = {name: float(value) for name, value in zip(BOOK_NAMES, totals, strict=True)}
    work = sum(value for name, value in named.items() if name.endswith("_work"))
    gained = named["kinetic"] + named["elastic"]
    largest = max(max(abs(value) for value in named.values()), 1e-15)
    named["residual"] = (gained - work + named["damping_loss"]) / largest
    momentum, impulse = state.impulse[0] - started[1], state.impulse[1]
    missing = float(np.linalg.norm(momentum - impulse))
    sizes = (momentum, impulse, state.impulse[0], started[1])
    return named, missing / max(1e-15, weight, *(float(np.linalg.norm(size)) for size in sizes))


def march_once(
    lure: FreeLure, line: Line, leads: Array, step: float, stride: int, state: State
) -> Trajectory | None:
    """March along the whole of ``leads`` (steps, 3, 3) from a state; None where it diverges."""
    steps = len(leads) // stride * stride
    march = start_march(lure, line, leads[0], state, step)
    poses = np.zeros((steps // stride, POSE_COLUMNS))
    nodes = np.zeros((len(poses), march.rows, 6))
    started = started_books(state)
    if not march.advance(leads[:steps], stride, poses, nodes):
        return None
    time = step * stride * np.arange(1.0, len(poses) + 1)
    return course_of(march, time, poses, nodes, started)


def started_books(state: State) -> tuple[Array, Array]:
    """Return energies (9,) [J] and momentum (3,) [N s] that a march begins with."""
    energies = np.zeros(BOOKS)
    energies[:2] = state.books[1, :2]
    return energies, state.impulse[0].copy()


def course_of(
    march: FreeMarch, time: Array, history: Array, nodes: Array, started: tuple[Array, Array]
) -> Trajectory:
    """Return the course of histories of poses (T, 16) and of nodes with width axes (T, N, 6)."""
    lure, state = march.lure, march.state
    frames = pose_frames(history)
    attitude, roll = angles_of(frames)
    weight = abs(lure.mass - lure.displaced) * GRAVITY * float(time[-1])
    energy, momentum = books_closed(state, started, weight)
    return Trajectory(
        time=time,
        position=history[:, :3],
        frames=frames,
        twist=history[:, 7:13],
        centre=history[:, :3] + frames @ lure.centre_of_mass,
        nodes=nodes[:, :, :3],
        width_axes=nodes[:, :, 3:],
        line=history[:, 13:16],
        attitude=attitude,
        roll=roll,
        shape=hinge_angles(state),
        plates=march.shapes(),
        energy=energy,
        momentum_residual=momentum,
        step=march.step,
    )


def placed_nodes(lure: FreeLure) -> Array:
    """Return the moulded nodes (N, 3) [m] of chains and plates in the lure's axes from the eye."""
    state = state_at_rest(lure, 0.0, lean=0.0)
    n = len(lure.tree.length)
    work = make_tree_work(len(lure.tree.carrier), n)
    evaluate_tree(
        lure.tree, STILL, np.eye(3), np.zeros(3), np.zeros(6), state.quaternion,
        hinge_angles(state), np.zeros((n, 3)), np.zeros((len(state.wake), SEEN)), work,
    )  # fmt: skip
    lines = [leaf.middle_line() - lure.origin for leaf in lure.leaves if leaf.rows > 0]
    return np.concatenate([work.node, *lines])


def in_lure_axes(course: Trajectory) -> Array:
    """Return the nodes (T, N, 3) [m] of a course in the lure's axes from the eye."""
    return np.asarray((course.nodes - course.position[:, None, :]) @ course.frames)
