"""What one time step of a free lure carries: its state, and the ends of the step.

The base turns and moves by the same generalised-alpha formulas as the hinges, on the group of
rigid motions.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from simsoft.bodies.free.base_step import (
    HELD,
    Line,
    correct_base,
    hold_to_path,
    moved_base,
    predict_base,
)
from simsoft.bodies.free.work import TreeWork
from simsoft.bodies.rod.forces import Work
from simsoft.bodies.rod.scheme import Scheme, correct, predict
from simsoft.core.arrays import Array
from simsoft.core.compiled import kernel, lean_kernel
from simsoft.hydrodynamics.rim import RIM_STATES, SEEN, drags_wake, foretell_rim, step_rim
from simsoft.mechanics.rod import Rod
from simsoft.mechanics.rotation import matrix_from_quaternion

BOOKS = 10  # energies and powers, in the order of BOOK_NAMES
BOOK_NAMES = (
    "kinetic",
    "elastic",
    "drag_work",
    "reactive_work",
    "dead_work",
    "paddle_work",
    "damping_loss",
    "fluid_inertia_work",
    "line_work",
    "plate_work",
)
PLATE_WORK = 9
POSE_COLUMNS = 16  # position, quaternion, twist, line force on the lure


class State(NamedTuple):
    """What a march carries from step to step, updated in place.

    Attributes
    ----------
    position : array (3,) [m], turn : array (4,), of the base in the world
    motion : array (3, 6), twist, algorithmic and true acceleration of the base, its axes
    quaternion : array (N, 4), hinges : array (4, N, 6) as in ``rod.stepper.advance``
    wake : array (C, 14), see hydrodynamics/rim.py: foretell_rim
    books : array (2, 10), running integrals of powers and their last values
    impulse : array (4, 3) [N s, N], momentum now, impulse so far, force now and a step before
    """

    position: Array
    turn: Array
    motion: Array
    quaternion: Array
    hinges: Array
    wake: Array
    books: Array
    impulse: Array


class Ahead(NamedTuple):
    """The lure at the end of a step as far as it is known: scratch arrays.

    Attributes
    ----------
    turned : array (N, 4), angle, increment, rate : array (N, 3), of the hinges
    base_increment, twist, acceleration : array (6,), of the base in its axes
    turn : array (4,), position : array (3,) [m], frame : array (3, 3), of the base in the world
    pull : array (3,) [N], power : array (10,)
    wake : array (C, 4)
    """

    turned: Array
    angle: Array
    increment: Array
    rate: Array
    base_increment: Array
    twist: Array
    acceleration: Array
    turn: Array
    position: Array
    frame: Array
    pull: Array
    power: Array
    wake: Array


@kernel()
def make_ahead(n: int, state: State) -> Ahead:
    """Return scratch arrays for ``n`` links."""
    return Ahead(
        np.zeros((n, 4)),
        np.zeros((n, 3)),
        np.zeros((n, 3)),
        np.zeros((n, 3)),
        np.zeros(6),
        np.zeros(6),
        np.zeros(6),
        np.zeros(4),
        np.zeros(3),
        np.zeros((3, 3)),
        np.zeros(3),
        np.zeros(BOOKS),
        np.zeros((state.wake.shape[0], SEEN)),
    )


@kernel()
def foretell_step(
    chains: list[tuple[Rod, Work]],
    line: Line,
    lead: Array,
    scheme: Scheme,
    state: State,
    ahead: Ahead,
) -> None:
    """Write pose, motion and wakes at the end of a step with the old accelerations."""
    predict(
        scheme, state.quaternion, state.hinges, ahead.turned, ahead.angle, ahead.increment,
        ahead.rate,
    )  # fmt: skip
    predict_base(scheme, state.motion, ahead.base_increment, ahead.twist)
    moved_base(state.turn, state.position, ahead.base_increment, ahead.turn, ahead.position)
    matrix_from_quaternion(ahead.turn, ahead.frame)
    if line.mode == HELD:
        ahead.position[:] = lead[0]
        hold_to_path(lead, ahead.frame, ahead.twist[:3], ahead.twist)
    foretell_wakes(chains, scheme.step, state.wake, ahead.wake)


@kernel()
def take_step(
    line: Line, lead: Array, scheme: Scheme, work: TreeWork, state: State, ahead: Ahead
) -> float:
    """Take the solved accelerations into the state; return the largest rate [rad/s]."""
    worst = 0.0
    if state.quaternion.shape[0] > 0:
        worst = correct(
            scheme, work.hinge, work.link, ahead.rate, ahead.increment, ahead.turned,
            state.quaternion, state.hinges,
        )  # fmt: skip
    correct_base(scheme, ahead.acceleration, ahead.base_increment, ahead.twist, state.motion)
    moved_base(state.turn, state.position, ahead.base_increment, ahead.turn, ahead.position)
    state.turn[:] = ahead.turn
    state.position[:] = ahead.position
    if line.mode == HELD:
        matrix_from_quaternion(ahead.turn, ahead.frame)
        state.position[:] = lead[0]
        hold_to_path(lead, ahead.frame, state.motion[0, :3].copy(), state.motion[0])
    for i in range(3):
        worst = max(worst, abs(state.motion[0, i]))
    return worst


@lean_kernel()
def log_pose(state: State, work: TreeWork, pull: Array, row: Array, nodes: Array) -> None:
    """Write one row (16,) of the pose history, nodes and width axes (N, 6) with it."""
    for i in range(3):
        row[i] = state.position[i]
        row[13 + i] = pull[i]
    for i in range(4):
        row[3 + i] = state.turn[i]
    for i in range(6):
        row[7 + i] = state.motion[0, i]
    for k in range(nodes.shape[0]):
        for i in range(3):
            nodes[k, i] = work.node[k, i]
            nodes[k, 3 + i] = work.frame[k, i, 1]


@kernel()
def foretell_wakes(chains: list[tuple[Rod, Work]], step: float, wake: Array, ahead: Array) -> None:
    """Write the wakes one step on, as the loads see them, into ``ahead`` (C, 3)."""
    scratch = np.zeros(RIM_STATES)
    for c in range(len(chains)):
        paddle = chains[c][0].paddle
        if drags_wake(paddle):
            foretell_rim(paddle, wake[c], step, scratch, ahead[c])


@kernel()
def advance_wakes(chains: list[tuple[Rod, Work]], work: TreeWork, step: float, wake: Array) -> None:
    """Advance the wakes (C, 14) of all paddles by one step."""
    scratch = np.zeros(RIM_STATES)
    for c in range(len(chains)):
        paddle = chains[c][0].paddle
        if drags_wake(paddle):
            step_rim(paddle, work.paddle_motion[c], wake[c], step, scratch)


@lean_kernel()
def integrate_powers(step: float, power: Array, state: State) -> None:
    """Add one step to the running integrals of powers and of the outer force."""
    for i in range(2, BOOKS):
        state.books[0, i] += 0.5 * step * (state.books[1, i] + power[i])
    for i in range(BOOKS):
        state.books[1, i] = power[i]
    for i in range(3):
        state.impulse[1, i] += 0.5 * step * (state.impulse[3, i] + state.impulse[2, i])
        state.impulse[3, i] = state.impulse[2, i]
