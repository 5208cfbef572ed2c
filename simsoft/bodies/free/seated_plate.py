"""A plate on a free lure: its motion in the axes of its seat, its loads, what it hands on.

The plate's unknowns are eliminated as in ``paddle.stepper``: what is left of it is a wrench and a
six by six inertia on the base or on the link that carries it.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from simsoft.bodies.free.forces import place_seat
from simsoft.bodies.free.step import PLATE_WORK, Ahead, State
from simsoft.bodies.free.work import TreeWork
from simsoft.bodies.paddle.carried_plate import TrialPlate, add_up, ride_along
from simsoft.bodies.paddle.stepper import foretell_plate, keep_plate, shift_plate
from simsoft.bodies.plate.stepper import (
    largest_move,
    learn,
    times_mass,
    turn_out,
    turned_in,
    turns_since,
)
from simsoft.bodies.rod.scheme import Scheme
from simsoft.core.arrays import Array, Integers
from simsoft.core.compiled import kernel
from simsoft.hydrodynamics.flexible_paddle import Pad, pad_force
from simsoft.hydrodynamics.plate.flow import Flow, flow_force
from simsoft.hydrodynamics.plate.wake import Wake, foretell, let_go, push_by_free_wakes, step_wakes
from simsoft.hydrodynamics.rim import RIM_STATES, drags_wake, foretell_rim, step_rim
from simsoft.mechanics.multibody import ON_BASE, add_to_carrier, transform
from simsoft.mechanics.plate import Plate
from simsoft.mechanics.plate_forces import internal_forces


class TreeLeaf(NamedTuple):
    """A plate as the march of a free lure needs it, all in the axes of its seat.

    Attributes
    ----------
    plate : Plate for unit modulus
    flow, wake : the water's load and wake of a plate; pad : that of a paddle that bends
    on_stem : bool, whether it is the latter
    mass : tuple of data, columns, rows of the solid's mass, row-compressed
    dead : array (n, 3) [N], lab axes
    free : int array (m,), unknowns of 6 n
    modulus, time : float [Pa], [s]
    length : float [m]
    carrier, carry, mount, mount_at : see ``lure.seated_plates.LeafModel``
    inverse ... rigid : see ``condense.Condensed``, renewed in place
    frames, mates, turn : arrays (n, 3, 3), (n,), (n, 3, 3), nodes' frames where the inverse was
        taken, a neighbour of each, and how they have turned since
    motion : array (4, n, 6), see ``paddle.stepper.Bent``, in place
    shed : array (2, 4), states of the wakes of a plate
    marks : int array (rows, 3), nodes of the middle line and of the two edges abreast
    seat_frame, seat_at, seat_twist, seat_acceleration : arrays (3, 3), (3,), (6,), (6,)
    seat_begun : array (6,), the acceleration that a step begins with
    foretold : array (2, n, 6), kept : array (iterations, n + 1, 6), shift : array (n + 1, 6)
        scratch; the last row is the seat's acceleration, that of the place first
    solved : array (m,), wakes : array (2,), rim : array (14,) and seen : array (3,) of a
        paddle (hydrodynamics/rim.py), energy : array (2,) [J], [W], still : array (n, 3)
    trial : TrialPlate
    """

    plate: Plate
    flow: Flow
    wake: Wake
    pad: Pad
    on_stem: bool
    mass: tuple[Array, Integers, Integers]
    dead: Array
    free: Integers
    modulus: float
    time: float
    length: float
    carrier: int
    carry: Array
    mount: Array
    mount_at: Array
    inverse: Array
    carried: Array
    follows: Array
    end: Array
    rigid: Array
    frames: Array
    mates: Integers
    turn: Array
    motion: Array
    shed: Array
    marks: Integers
    seat_frame: Array
    seat_at: Array
    seat_twist: Array
    seat_acceleration: Array
    seat_begun: Array
    foretold: Array
    kept: Array
    shift: Array
    solved: Array
    wakes: Array
    rim: Array
    seen: Array
    energy: Array
    still: Array
    trial: TrialPlate


@kernel()
def take_seat(leaf: TreeLeaf, work: TreeWork, ahead: Ahead) -> None:
    """Write frame, place and twist of a leaf's seat from where its carrier is."""
    place_seat(
        (leaf.carrier, leaf.carry, leaf.mount, leaf.mount_at), work, ahead.frame, ahead.position,
        ahead.twist, leaf.seat_frame, leaf.seat_at, leaf.seat_twist,
    )  # fmt: skip


@kernel()
def weigh_leaf(leaf: TreeLeaf) -> None:
    """Fill forces out of balance and the wrench on the seat from ``trial`` and its motion."""
    trial, seat = leaf.trial, leaf.seat_acceleration
    spin, velocity = leaf.seat_twist[:3], leaf.seat_twist[3:]
    # the seat's acceleration is that of its components: the turning of its frame is put back
    ride_along(trial, spin, velocity, seat[:3], seat[3:] + np.cross(spin, velocity))
    stored, lost = internal_forces(leaf.plate, trial.state, trial.rate, leaf.time, trial.inner)
    if leaf.on_stem:
        pad_force(
            leaf.pad, trial.state, trial.absolute, trial.acceleration, leaf.seen,
            trial.force, trial.motion,
        )  # fmt: skip
    else:
        flow_force(
            leaf.flow, trial.state, trial.absolute, trial.acceleration, leaf.still, trial.force
        )
        push_by_free_wakes(
            leaf.wake, leaf.flow, trial.state, trial.absolute, leaf.still, leaf.wakes, trial.force
        )
    add_up(leaf.mass, leaf.dead, leaf.modulus, leaf.seat_frame, trial)
    leaf.energy[0], leaf.energy[1] = leaf.modulus * stored, leaf.modulus * lost


@kernel()
def hand_in(leaf: TreeLeaf, inertia: Array, bias: Array, work: TreeWork) -> None:
    """Add an inertia (6, 6) and a bias (6,) of a leaf to what carries it."""
    if leaf.carrier == ON_BASE:
        add_to_carrier(leaf.carry, inertia, bias, work.six[2], work.plate_inertia, work.plate_bias)
    else:
        add_to_carrier(
            leaf.carry, inertia, bias, work.six[2], work.inertia[leaf.carrier],
            work.bias[leaf.carrier],
        )  # fmt: skip


@kernel()
def foretell_leaf(leaf: TreeLeaf, scheme: Scheme) -> None:
    """Write state and rate of a leaf, and its wakes, at the end of a step."""
    foretell_plate(scheme, leaf.motion, leaf.foretold)
    leaf.shift[:] = 0.0
    leaf.seat_begun[:] = leaf.seat_acceleration
    turns_since(leaf.foretold[0], leaf.mates, leaf.frames, leaf.turn)
    if leaf.on_stem:
        if drags_wake(leaf.pad.paddle):
            scratch = np.zeros(RIM_STATES)
            foretell_rim(leaf.pad.paddle, leaf.rim, scheme.step, scratch, leaf.seen)
    else:
        foretell(leaf.wake, leaf.shed, scheme.step, leaf.wakes)


@kernel()
def try_leaf(leaf: TreeLeaf, scheme: Scheme) -> None:
    """Weigh a leaf with its present guess of the accelerations."""
    n = leaf.dead.shape[0]
    shift_plate(scheme, leaf.motion, leaf.foretold, leaf.shift[:n], leaf.trial)
    weigh_leaf(leaf)


@kernel()
def hand_condensed(leaf: TreeLeaf, work: TreeWork) -> None:
    """Hand a leaf's load and inertia, its own unknowns eliminated, to what carries it."""
    leaf.solved[:] = np.dot(leaf.inverse, turned_in(leaf.turn, leaf.free, leaf.trial.out))
    bias = leaf.trial.wrench - np.dot(leaf.carried.T, leaf.solved)
    bias -= np.dot(leaf.end, leaf.seat_acceleration)
    hand_in(leaf, leaf.end, bias, work)


@kernel()
def seat_change(leaf: TreeLeaf, work: TreeWork, ahead: Ahead) -> Array:
    """Return how much the solved acceleration of the seat (6,) differs from the guess."""
    found = np.empty(6)
    if leaf.carrier == ON_BASE:
        transform(leaf.carry, ahead.acceleration, found)
    else:
        transform(leaf.carry, work.link[leaf.carrier], found)
    return found - leaf.seat_acceleration


@kernel()
def correct_leaf(
    leaf: TreeLeaf, scheme: Scheme, work: TreeWork, ahead: Ahead, iteration: int
) -> float:
    """Better the guess of a leaf's accelerations and its seat's; return the largest change."""
    n = leaf.dead.shape[0]
    change = seat_change(leaf, work, ahead)
    move = leaf.kept[iteration]
    move[:] = 0.0
    turn_out(leaf.solved + np.dot(leaf.follows, change), leaf.turn, leaf.free, move)
    move[n, :3], move[n, 3:] = change[3:], change[:3]
    learn(leaf.kept, iteration, leaf.length)
    leaf.shift[:] += move
    leaf.seat_acceleration[:3] += move[n, 3:]
    leaf.seat_acceleration[3:] += move[n, :3]
    return float(largest_move(move, leaf.length) * scheme.angle_gain)


@kernel()
def keep_leaf(leaf: TreeLeaf, scheme: Scheme) -> None:
    """Take a converged step into a leaf's motion and wakes."""
    n, trial = leaf.dead.shape[0], leaf.trial
    keep_plate(scheme, leaf.shift[:n], trial, leaf.motion)
    if leaf.on_stem:
        if drags_wake(leaf.pad.paddle):
            scratch = np.zeros(RIM_STATES)
            step_rim(leaf.pad.paddle, trial.motion, leaf.rim, scheme.step, scratch)
    else:
        step_wakes(
            leaf.wake, leaf.flow, trial.state, trial.absolute, leaf.still, leaf.shed, scheme.step
        )
        let_go(leaf.shed)


@kernel()
def add_leaf_books(leaf: TreeLeaf, state: State, ahead: Ahead) -> None:
    """Add a leaf's energies, powers, momentum and outer force to those of the lure."""
    trial, frame, p = leaf.trial, leaf.seat_frame, ahead.power
    momentum = np.empty(trial.absolute.size)
    times_mass(leaf.mass[0], leaf.mass[1], leaf.mass[2], trial.absolute.reshape(-1), momentum)
    p[0] += 0.5 * (momentum * trial.absolute.reshape(-1)).sum()
    p[1] += leaf.energy[0]
    p[6] += leaf.energy[1]
    p[PLATE_WORK] += (trial.force * trial.absolute).sum()
    for k in range(leaf.dead.shape[0]):
        for i in range(3):
            velocity = 0.0
            for j in range(3):
                velocity += frame[i, j] * trial.absolute[k, j]
                state.impulse[0, i] += frame[i, j] * momentum[6 * k + j]
                state.impulse[2, i] += frame[i, j] * trial.force[k, j]
            p[4] += velocity * leaf.dead[k, i]
            state.impulse[2, i] += leaf.dead[k, i]


@kernel()
def log_leaf(leaf: TreeLeaf, nodes: Array) -> None:
    """Write places and width axes (rows, 6) of a leaf's middle line in the world."""
    frame, state = leaf.seat_frame, leaf.trial.state
    for k in range(leaf.marks.shape[0]):
        middle, left, right = leaf.marks[k]
        across = state[right, :3] - state[left, :3]
        across /= np.sqrt((across * across).sum())
        for i in range(3):
            nodes[k, i] = leaf.seat_at[i]
            nodes[k, 3 + i] = 0.0
            for j in range(3):
                nodes[k, i] += frame[i, j] * state[middle, j]
                nodes[k, 3 + i] += frame[i, j] * across[j]
