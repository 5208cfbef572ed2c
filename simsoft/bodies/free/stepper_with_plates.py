"""Compiled time stepping of a free lure with plates: solved to convergence at every step.

Base and chains are taken as in ``free.stepper``: at the predicted pose, linear in the
accelerations. The plates are not linear; they are iterated with the lure until both agree.
"""

from __future__ import annotations

import math

import numpy as np
from numba import typed

from simsoft.bodies.free.balances import books_of
from simsoft.bodies.free.base_step import Line, line_load
from simsoft.bodies.free.forces import chains_of, evaluate_chains, evaluate_tree
from simsoft.bodies.free.frozen import gather_stiff, stiff_inertia
from simsoft.bodies.free.seated_plate import (
    TreeLeaf,
    add_leaf_books,
    correct_leaf,
    foretell_leaf,
    hand_condensed,
    hand_in,
    keep_leaf,
    log_leaf,
    seat_change,
    take_seat,
    try_leaf,
    weigh_leaf,
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
from simsoft.bodies.free.stepper import as_it_is, keep_begun, make_implicit, solve_tree
from simsoft.bodies.free.work import TreeWork, make_tree_work
from simsoft.bodies.paddle.stepper import ITERATIONS
from simsoft.bodies.plate.stepper import DONE, LOST, RENEW, TIRED, TOLERANCE, turn_out, turns_since
from simsoft.bodies.rod.scheme import make_scheme
from simsoft.bodies.rod.stepper import DIVERGED_RATE
from simsoft.core.arrays import Array
from simsoft.core.compiled import kernel
from simsoft.core.references import whole
from simsoft.mechanics.multibody import Tree
from simsoft.mechanics.rod import Stream

Leaves = list[TreeLeaf]


@kernel()
def bunch_of(leaf: TreeLeaf) -> Leaves:
    """Return a list with one leaf."""
    leaves: Leaves = typed.List()
    leaves.append(whole(leaf))
    return leaves


@kernel()
def add_leaf(leaves: Leaves, leaf: TreeLeaf) -> None:
    """Put a leaf at the end of a list."""
    leaves.append(whole(leaf))


@kernel()
def weigh_at_rest(leaf: TreeLeaf, work: TreeWork, ahead: Ahead) -> None:
    """Weigh a leaf that does not move on its seat, nor the seat gain speed."""
    take_seat(leaf, work, ahead)
    leaf.trial.state[:] = leaf.motion[0]
    leaf.trial.rate[:] = 0.0
    leaf.trial.change[:] = 0.0
    leaf.seat_acceleration[:] = 0.0
    weigh_leaf(leaf)


@kernel()
def begin_leafed(
    tree: Tree, still: Stream, line: Line, lead: Array, leaves: Leaves, state: State
) -> None:
    """Do as ``free.stepper.begin``; the leaves begin at rest on their seats.

    Their inverses are those of steps of no size, of the mass alone.
    """
    n = tree.length.shape[0]
    work, ahead = make_tree_work(tree.carrier.shape[0], n), make_ahead(n, state)
    chains = chains_of(tree, work)
    as_it_is(line, lead, state, ahead)
    evaluate_chains(
        tree, chains, still, ahead.frame, ahead.position, ahead.twist, ahead.turned, ahead.angle,
        ahead.rate, ahead.wake, work,
    )  # fmt: skip
    scheme, gain = make_scheme(0.0), np.zeros(3)
    make_implicit(tree, chains, scheme, ahead.angle, state, work)
    speed = line_load(line, lead, ahead.frame, ahead.position, ahead.twist, ahead.pull, gain)
    for leaf in leaves:
        weigh_at_rest(leaf, work, ahead)
        turns_since(leaf.motion[0], leaf.mates, leaf.frames, leaf.turn)
        hand_condensed(leaf, work)
    solve_tree(tree, chains, line, lead, scheme, (speed, gain), state, ahead, work)
    books_of(tree, chains, work, ahead, state.impulse)
    for leaf in leaves:
        leaf.seat_acceleration[:] = seat_change(leaf, work, ahead)
        change = leaf.solved + np.dot(leaf.follows, leaf.seat_acceleration)
        turn_out(change, leaf.turn, leaf.free, leaf.trial.change)
        leaf.motion[2], leaf.motion[3] = leaf.trial.change, leaf.trial.change
        weigh_leaf(leaf)
        add_leaf_books(leaf, state, ahead)
    keep_begun(work, ahead, state)


@kernel()
def advance_leafed(
    tree: Tree,
    still: Stream,
    line: Line,
    leads: Array,
    step: float,
    counts: tuple[int, int, int],
    leaves: Leaves,
    state: State,
    poses: Array,
    nodes: Array,
) -> tuple[int, int]:
    """Advance a free lure with plates; return the steps made and why it ended.

    Parameters
    ----------
    tree, still, line, leads, step, state, poses, nodes : as in ``free.stepper.advance_tree``, the
        nodes of the plates after those of the chains
    counts : steps, steps from sample to sample, steps made before of those ``leads`` is for
    leaves : list of TreeLeaf, their inverses taken for this step, advanced in place

    Returns
    -------
    done, end : int, ``RENEW`` asks for new inverses, ``LOST`` says that a step failed
    """
    n = tree.length.shape[0]
    scheme = make_scheme(step)
    work, ahead = make_tree_work(tree.carrier.shape[0], n), make_ahead(n, state)
    chains = chains_of(tree, work)
    steps, stride, offset = counts
    gain, tired = np.zeros(3), 0
    for count in range(steps):
        lead = leads[offset + count]
        foretell_step(chains, line, lead, scheme, state, ahead)
        evaluate_chains(
            tree, chains, still, ahead.frame, ahead.position, ahead.twist, ahead.turned,
            ahead.angle, ahead.rate, ahead.wake, work,
        )  # fmt: skip
        make_implicit(tree, chains, scheme, ahead.angle, state, work)
        speed = line_load(line, lead, ahead.frame, ahead.position, ahead.twist, ahead.pull, gain)
        inertia, bias, pull = work.inertia.copy(), work.bias.copy(), ahead.pull.copy()
        for leaf in leaves:
            take_seat(leaf, work, ahead)
            foretell_leaf(leaf, scheme)
        used, found = ITERATIONS, False
        for iteration in range(ITERATIONS):
            for leaf in leaves:
                try_leaf(leaf, scheme)
            if found:
                used = iteration
                break
            work.inertia[:], work.bias[:], ahead.pull[:] = inertia, bias, pull
            work.plate_inertia[:] = 0.0
            work.plate_bias[:] = 0.0
            for leaf in leaves:
                hand_condensed(leaf, work)
            solve_tree(tree, chains, line, lead, scheme, (speed, gain), state, ahead, work)
            largest = 0.0
            for leaf in leaves:
                largest = max(largest, correct_leaf(leaf, scheme, work, ahead, iteration))
            found = largest < TOLERANCE
            if not math.isfinite(largest):
                break
        if not found:
            for leaf in leaves:
                leaf.seat_acceleration[:] = leaf.seat_begun
            return count, RENEW
        advance_wakes(chains, work, step, state.wake)
        books_of(tree, chains, work, ahead, state.impulse)
        for leaf in leaves:
            add_leaf_books(leaf, state, ahead)
            keep_leaf(leaf, scheme)
        if not take_step(line, lead, scheme, work, state, ahead) < DIVERGED_RATE:
            return count, LOST
        integrate_powers(step, ahead.power, state)
        if (offset + count + 1) % stride == 0:
            row = (offset + count) // stride
            log_pose(state, work, ahead.pull, poses[row], nodes[row, :n])
            at = n
            for leaf in leaves:
                rows = leaf.marks.shape[0]
                log_leaf(leaf, nodes[row, at : at + rows])
                at += rows
        tired = tired + 1 if used >= TIRED else 0
        if tired >= 2:
            return count + 1, RENEW
    return steps, DONE


@kernel()
def stiff_load_leafed(
    tree: Tree,
    still: Stream,
    leaves: Leaves,
    state: State,
    ahead: Ahead,
    angle: Array,
    work: TreeWork,
) -> None:
    """Do as ``free.frozen.stiff_loads`` once, with plates frozen stiff as well.

    ``ahead`` holds frame, place and twist of the base, ``state`` the frozen hinges.
    """
    rate = np.zeros((tree.length.shape[0], 3))
    evaluate_tree(
        tree, still, ahead.frame, ahead.position, ahead.twist, state.quaternion, angle, rate,
        ahead.wake, work,
    )  # fmt: skip
    stiff_inertia(tree, work)
    work.plate_inertia[:] = 0.0
    work.plate_bias[:] = 0.0
    for leaf in leaves:
        weigh_at_rest(leaf, work, ahead)
        hand_in(leaf, leaf.rigid, leaf.trial.wrench, work)
    gather_stiff(tree, work)
