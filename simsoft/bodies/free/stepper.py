"""Compiled time stepping of a free lure: the scheme of ``rod.stepper`` with a moving base.

Drag on the base is implicit as on the links, and so is a line that pulls when it is stretched.
"""

from __future__ import annotations

import numpy as np

from simsoft.bodies.free.balances import books_of
from simsoft.bodies.free.base_step import (
    HELD,
    Line,
    add_implicit_base,
    hold_to_path,
    line_load,
    path_acceleration,
)
from simsoft.bodies.free.forces import (
    chains_of,
    evaluate_chains,
    gather,
    scatter,
    solve_base,
)
from simsoft.bodies.free.step import (
    Ahead,
    State,
    advance_wakes,
    foretell_step,
    integrate_powers,
    log_pose,
    make_ahead,
    take_step,
)
from simsoft.bodies.free.work import TreeWork, make_tree_work
from simsoft.bodies.rod.forces import Work
from simsoft.bodies.rod.scheme import Scheme, add_implicit_drag, add_implicit_hinges, make_scheme
from simsoft.bodies.rod.stepper import DIVERGED_RATE
from simsoft.core.arrays import Array
from simsoft.core.compiled import kernel
from simsoft.mechanics.multibody import Tree
from simsoft.mechanics.rod import Rod, Stream
from simsoft.mechanics.rotation import matrix_from_quaternion, vector_from_quaternion


@kernel()
def accelerate_tree(
    tree: Tree,
    chains: list[tuple[Rod, Work]],
    line: Line,
    lead: Array,
    scheme: Scheme,
    state: State,
    ahead: Ahead,
    work: TreeWork,
) -> None:
    """Solve one implicit step for all accelerations and the line's force ``ahead.pull``."""
    gain = np.zeros(3)
    make_implicit(tree, chains, scheme, ahead.angle, state, work)
    speed = line_load(line, lead, ahead.frame, ahead.position, ahead.twist, ahead.pull, gain)
    solve_tree(tree, chains, line, lead, scheme, (speed, gain), state, ahead, work)


@kernel()
def make_implicit(
    tree: Tree,
    chains: list[tuple[Rod, Work]],
    scheme: Scheme,
    angle: Array,
    state: State,
    work: TreeWork,
) -> None:
    """Fill the links' inertias and hinge matrices with what of their loads is implicit."""
    slope = np.zeros(3)
    for c in range(tree.carrier.shape[0]):
        a, b = tree.first[c], tree.first[c + 1]
        rod, own = chains[c]
        hinges = state.hinges[:, a:b]
        add_implicit_drag(rod, own, scheme, hinges[3], slope, work.inertia[a:b])
        add_implicit_hinges(rod, own, scheme, angle[a:b], hinges[2], work.implicit[a:b])


@kernel()
def solve_tree(
    tree: Tree,
    chains: list[tuple[Rod, Work]],
    line: Line,
    lead: Array,
    scheme: Scheme,
    taut: tuple[float, Array],
    state: State,
    ahead: Ahead,
    work: TreeWork,
) -> None:
    """Solve base and chains for all accelerations, their implicit parts filled in.

    ``taut`` holds the speed of the eye and what ``line_load`` wrote as ``gain``; ``ahead.pull``
    comes with the line's load, and leaves with the reaction of a held eye as well.
    """
    frame, pull, acceleration = ahead.frame, ahead.pull, ahead.acceleration
    gather(tree, chains, work)
    for i in range(3):
        work.whole[3 + i] -= frame[0, i] * pull[0] + frame[1, i] * pull[1] + frame[2, i] * pull[2]
    add_implicit_base(line, scheme, frame, state.motion[2], taut[0], taut[1], work)
    held = line.mode == HELD
    if held:
        path_acceleration(lead, frame, ahead.twist, acceleration)
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
def as_it_is(line: Line, lead: Array, state: State, ahead: Ahead) -> None:
    """Write pose and motion of a state itself, as if it were the end of a step."""
    ahead.turned[:] = state.quaternion
    ahead.rate[:] = state.hinges[0, :, :3]
    for k in range(state.quaternion.shape[0]):
        vector_from_quaternion(state.quaternion[k], ahead.angle[k])
    matrix_from_quaternion(state.turn, ahead.frame)
    ahead.position[:] = state.position
    ahead.twist[:] = state.motion[0]
    if line.mode == HELD:
        hold_to_path(lead, ahead.frame, ahead.twist[:3].copy(), ahead.twist)


@kernel()
def keep_begun(work: TreeWork, ahead: Ahead, state: State) -> None:
    """Keep the accelerations and the books of a state that a march begins with."""
    for row in range(1, 3):
        state.motion[row] = ahead.acceleration
        state.hinges[row, :, :3] = work.hinge
    state.hinges[3] = work.link
    state.books[1] = ahead.power
    state.impulse[3] = state.impulse[2]


@kernel()
def begin(tree: Tree, still: Stream, line: Line, lead: Array, state: State) -> None:
    """Give a state at rest or in motion the accelerations that its loads ask for at once.

    Without it the first step would start from none and the whole march be first order.
    """
    n = tree.length.shape[0]
    work, ahead = make_tree_work(tree.carrier.shape[0], n), make_ahead(n, state)
    chains = chains_of(tree, work)
    as_it_is(line, lead, state, ahead)
    evaluate_chains(
        tree, chains, still, ahead.frame, ahead.position, ahead.twist, ahead.turned, ahead.angle,
        ahead.rate, ahead.wake, work,
    )  # fmt: skip
    accelerate_tree(tree, chains, line, lead, make_scheme(0.0), state, ahead, work)
    books_of(tree, chains, work, ahead, state.impulse)
    keep_begun(work, ahead, state)


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
    ahead = make_ahead(n, state)
    for count in range(steps):
        lead = leads[count]
        foretell_step(chains, line, lead, scheme, state, ahead)
        evaluate_chains(
            tree, chains, still, ahead.frame, ahead.position, ahead.twist, ahead.turned,
            ahead.angle, ahead.rate, ahead.wake, work,
        )  # fmt: skip
        advance_wakes(chains, work, step, state.wake)
        accelerate_tree(tree, chains, line, lead, scheme, state, ahead, work)
        books_of(tree, chains, work, ahead, state.impulse)
        if not take_step(line, lead, scheme, work, state, ahead) < DIVERGED_RATE:
            return count
        integrate_powers(step, ahead.power, state)
        if (count + 1) % stride == 0:
            row = count // stride
            log_pose(state, work, ahead.pull, poses[row], nodes[row])
    return steps
