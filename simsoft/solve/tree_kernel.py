"""Compiled time stepping of a free lure: the scheme of march_kernel with a moving base.

The base turns and moves by the same generalised-alpha formulas on the group of rigid motions;
drag on the base is implicit as on the links, and so is a line that pulls when it is stretched.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from simsoft.compiled import kernel, lean_kernel
from simsoft.loads.paddle import foretell_wake, step_wake
from simsoft.solve.forces import Work
from simsoft.solve.scheme import (
    Scheme,
    add_implicit_drag,
    add_implicit_hinges,
    correct,
    make_scheme,
    predict,
)
from simsoft.solve.tree_base import (
    HELD,
    Line,
    add_implicit_base,
    correct_base,
    hold_to_path,
    line_load,
    moved_base,
    path_acceleration,
    predict_base,
)
from simsoft.solve.tree_books import BOOKS, books_of
from simsoft.solve.tree_forces import (
    TreeWork,
    chains_of,
    evaluate_chains,
    evaluate_tree,
    gather,
    make_tree_work,
    scatter,
    solve_base,
)
from simsoft.structure.rod import Array, Rod, Stream
from simsoft.structure.rotation import (
    matrix_from_quaternion,
    vector_from_quaternion,
)
from simsoft.structure.tree import Tree

POSE_COLUMNS = 16  # position, quaternion, twist, line force on the lure
WORST_RATE = 1.0e7  # [rad/s] hinge rate no lure part can reach


class State(NamedTuple):
    """What a march carries from step to step, updated in place.

    Attributes
    ----------
    position : array (3,) [m], turn : array (4,), of the base in the world
    motion : array (3, 6), twist, algorithmic and true acceleration of the base, its axes
    quaternion : array (N, 4), hinges : array (4, N, 6) as in march_kernel
    wake : array (C, 4), see loads/paddle.py: foretell_wake
    books : array (2, 9), running integrals of powers and their last values
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
def accelerate_tree(
    tree: Tree,
    chains: list[tuple[Rod, Work]],
    line: Line,
    lead: Array,
    scheme: Scheme,
    frame: Array,
    position: Array,
    twist: Array,
    angle: Array,
    state: State,
    work: TreeWork,
    pull: Array,
    acceleration: Array,
) -> None:
    """Solve one implicit step for all accelerations; ``pull`` (3,) [N] is the line's force."""
    gain, slope = np.zeros(3), np.zeros(3)
    for c in range(tree.carrier.shape[0]):
        a, b = tree.first[c], tree.first[c + 1]
        rod, own = chains[c]
        hinges = state.hinges[:, a:b]
        add_implicit_drag(rod, own, scheme, hinges[3], slope, work.inertia[a:b])
        add_implicit_hinges(rod, own, scheme, angle[a:b], hinges[2], work.implicit[a:b])
    speed = line_load(line, lead, frame, position, twist, pull, gain)
    gather(tree, chains, work)
    for i in range(3):
        work.whole[3 + i] -= frame[0, i] * pull[0] + frame[1, i] * pull[1] + frame[2, i] * pull[2]
    add_implicit_base(line, scheme, frame, state.motion[2], speed, gain, work)
    held = line.mode == HELD
    if held:
        path_acceleration(lead, frame, twist, acceleration)
    solve_base(work, held, acceleration)
    if held:
        reaction = np.zeros(3)
        for i in range(3):
            reaction[i] = work.whole[3 + i]
            for j in range(6):
                reaction[i] += work.total[3 + i, j] * acceleration[j]
        for i in range(3):
            for j in range(3):
                pull[i] += frame[i, j] * reaction[j]
    scatter(tree, chains, work, acceleration)


@kernel()
def begin(tree: Tree, still: Stream, line: Line, lead: Array, state: State) -> None:
    """Give a state at rest or in motion the accelerations that its loads ask for at once.

    Without it the first step would start from none and the whole march be first order.
    """
    n = tree.length.shape[0]
    work = make_tree_work(tree.carrier.shape[0], n)
    chains = chains_of(tree, work)
    angle, frame, pull = np.zeros((n, 3)), np.zeros((3, 3)), np.zeros(3)
    acceleration, power = np.zeros(6), np.zeros(BOOKS)
    rate = state.hinges[0, :, :3].copy()
    for k in range(n):
        vector_from_quaternion(state.quaternion[k], angle[k])
    matrix_from_quaternion(state.turn, frame)
    twist = state.motion[0].copy()
    if line.mode == HELD:
        hold_to_path(lead, frame, twist[:3].copy(), twist)
    evaluate_tree(
        tree, still, frame, state.position, twist, state.quaternion, angle, rate, state.wake, work
    )
    accelerate_tree(
        tree,
        chains,
        line,
        lead,
        make_scheme(0.0),
        frame,
        state.position,
        twist,
        angle,
        state,
        work,
        pull,
        acceleration,
    )
    books_of(
        tree, chains, work, frame, twist, angle, rate, acceleration, pull, power, state.impulse
    )
    for row in range(1, 3):
        state.motion[row] = acceleration
        state.hinges[row, :, :3] = work.hinge
    state.hinges[3] = work.link
    state.books[1] = power
    state.impulse[3] = state.impulse[2]


@kernel()
def advance_tree(
    tree: Tree,
    still: Stream,
    line: Line,
    leads: Array,
    step: float,
    steps: int,
    stride: int,
    state: State,
    poses: Array,
    nodes: Array,
) -> int:
    """Advance a free lure by ``steps`` steps of ``step`` [s]; return the number completed.

    Parameters
    ----------
    still : Stream of no speed
    leads : array (steps, 3, 3), place, velocity and acceleration of the line's other end (of the
        eye itself where it is held) at the end of every step
    state : State, updated
    poses : array (steps // stride, 16), rows of eye position, quaternion, twist, line force
    nodes : array (steps // stride, N, 6), node positions [m] and width axes in the world, with
        the poses
    """
    n = tree.length.shape[0]
    scheme = make_scheme(step)
    work = make_tree_work(tree.carrier.shape[0], n)
    chains = chains_of(tree, work)
    turned, angle, increment = np.zeros((n, 4)), np.zeros((n, 3)), np.zeros((n, 3))
    rate = np.zeros((n, 3))
    base_increment, twist, acceleration = np.zeros(6), np.zeros(6), np.zeros(6)
    turn, position, frame = np.zeros(4), np.zeros(3), np.zeros((3, 3))
    pull, power = np.zeros(3), np.zeros(BOOKS)
    held = line.mode == HELD
    ahead = state.wake.copy()
    for count in range(steps):
        lead = leads[count]
        predict(scheme, state.quaternion, state.hinges, turned, angle, increment, rate)
        predict_base(scheme, state.motion, base_increment, twist)
        moved_base(state.turn, state.position, base_increment, turn, position)
        matrix_from_quaternion(turn, frame)
        if held:
            position[:] = lead[0]
            hold_to_path(lead, frame, twist[:3], twist)
        foretell_wakes(chains, step, state.wake, ahead)
        evaluate_chains(
            tree, chains, still, frame, position, twist, turned, angle, rate, ahead, work
        )
        advance_wakes(chains, work, step, state.wake)
        accelerate_tree(
            tree, chains, line, lead, scheme, frame, position, twist, angle, state, work, pull,
            acceleration,
        )  # fmt: skip
        worst = 0.0
        if n > 0:
            worst = correct(
                scheme, work.hinge, work.link, rate, increment, turned, state.quaternion,
                state.hinges,
            )  # fmt: skip
        books_of(
            tree, chains, work, frame, twist, angle, rate, acceleration, pull, power, state.impulse
        )
        correct_base(scheme, acceleration, base_increment, twist, state.motion)
        moved_base(state.turn, state.position, base_increment, turn, position)
        state.turn[:] = turn
        state.position[:] = position
        if held:
            matrix_from_quaternion(turn, frame)
            state.position[:] = lead[0]
            hold_to_path(lead, frame, state.motion[0, :3].copy(), state.motion[0])
        for i in range(3):
            worst = max(worst, abs(state.motion[0, i]))
        if not worst < WORST_RATE:
            return count
        keep_books(step, power, count, state)
        if (count + 1) % stride == 0:
            row = count // stride
            log_pose(state, work, pull, poses[row], nodes[row])
    return steps


@kernel()
def foretell_wakes(chains: list[tuple[Rod, Work]], step: float, wake: Array, ahead: Array) -> None:
    """Write the wake states one step on into the first column of ``ahead`` (C, 4)."""
    for c in range(len(chains)):
        paddle = chains[c][0].paddle
        if paddle.wake_moment > 0.0:
            ahead[c, 0] = foretell_wake(paddle, wake[c], step)


@kernel()
def advance_wakes(chains: list[tuple[Rod, Work]], work: TreeWork, step: float, wake: Array) -> None:
    """Advance the wakes (C, 4) of all shedding paddles by one step."""
    for c in range(len(chains)):
        paddle = chains[c][0].paddle
        if paddle.wake_moment > 0.0:
            step_wake(paddle, work.paddle_motion[c], wake[c], step)


@lean_kernel()
def keep_books(step: float, power: Array, count: int, state: State) -> None:
    """Add one step to the running integrals of powers and of the outer force."""
    for i in range(2, BOOKS):
        state.books[0, i] += 0.5 * step * (state.books[1, i] + power[i])
    for i in range(BOOKS):
        state.books[1, i] = power[i]
    for i in range(3):
        state.impulse[1, i] += 0.5 * step * (state.impulse[3, i] + state.impulse[2, i])
        state.impulse[3, i] = state.impulse[2, i]
