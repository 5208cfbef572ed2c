"""Evaluations of a free lure frozen stiff in a shape."""

from __future__ import annotations

import math

import numpy as np

from simsoft.bodies.free.forces import chain_of, evaluate_tree, hand_on, take_base
from simsoft.bodies.free.work import TreeWork, chain_work
from simsoft.core.arrays import Array
from simsoft.core.compiled import kernel
from simsoft.hydrodynamics.rim import SEEN
from simsoft.mechanics.dynamics import inertia_to_parent, wrench_to_parent
from simsoft.mechanics.multibody import Tree
from simsoft.mechanics.rod import Stream


@kernel()
def stiff_inertia(tree: Tree, work: TreeWork) -> None:
    """Fill the links' inertias with those of solid and water alone."""
    for k in range(tree.length.shape[0]):
        for i in range(6):
            for j in range(6):
                work.inertia[k, i, j] = tree.structure[k, i, j] + tree.fluid[k, i, j]


@kernel()
def gather_stiff(tree: Tree, work: TreeWork) -> None:
    """Fill ``work.total`` and ``work.whole`` for the lure frozen stiff in its present shape.

    For an evaluation with all hinge rates zero, the links' inertias filled in.
    """
    take_base(tree, work)
    for c in range(tree.carrier.shape[0] - 1, -1, -1):
        a, b = tree.first[c], tree.first[c + 1]
        rod = chain_of(tree, work, c)
        own = chain_work(tree, work, c)
        for k in range(b - a - 1, 0, -1):
            reach = 0.5 * (rod.length[k - 1] + rod.length[k])
            inertia_to_parent(own.relative[k], reach, work.inertia[a + k], work.inertia[a + k - 1])
            wrench_to_parent(own.relative[k], reach, own.bias[k], own.bias[k - 1])
        hand_on(tree, work, c, rod, own)


@kernel()
def stiff_loads(
    tree: Tree,
    still: Stream,
    frames: Array,
    twists: Array,
    quaternion: Array,
    angle: Array,
    work: TreeWork,
    totals: Array,
    wholes: Array,
) -> None:
    """Write inertia ``totals`` (M, 6, 6) and ``wholes`` (M, 6), what is missing to balance.

    ``frames`` (M, 3, 3) are the base in the world, ``twists`` (M, 6) its motion in its own axes;
    ``quaternion`` (N, 4) and ``angle`` (N, 3) are the frozen hinges. A whole is zero in a steady
    descent. Many at a time, for a call that hands over the tree takes longer than one of them.
    """
    n, chains = tree.length.shape[0], tree.carrier.shape[0]
    wake, rate, place = np.zeros((chains, SEEN)), np.zeros((n, 3)), np.zeros(3)
    for m in range(frames.shape[0]):
        evaluate_tree(tree, still, frames[m], place, twists[m], quaternion, angle, rate, wake, work)
        stiff_inertia(tree, work)
        gather_stiff(tree, work)
        totals[m] = work.total
        wholes[m] = work.whole


@kernel()
def poses_of(unknowns: Array, frames: Array, twists: Array) -> None:
    """Write frames (M, 3, 3) and twists (M, 6) of steady descents.

    ``unknowns`` (M, 6): velocity in the lure's axes [m/s], nose-down pitch and roll [rad], turning
    about the vertical [rad/s]. The last row of a frame is the vertical seen from the lure; the
    other two are any that fit, for turning about the vertical changes nothing.
    """
    up = np.zeros(3)
    for m in range(unknowns.shape[0]):
        own = unknowns[m]
        level = math.cos(own[3])
        up[0] = math.sin(own[3])
        up[1] = level * math.sin(own[4])
        up[2] = level * math.cos(own[4])
        frame_of(up, frames[m])
        for i in range(3):
            twists[m, i] = own[5] * up[i]
            twists[m, 3 + i] = own[i]


@kernel()
def frame_of(up: Array, frame: Array) -> None:
    """Write a frame (3, 3) whose last row is the unit vector ``up`` (3,)."""
    least = 0
    for i in range(1, 3):
        if abs(up[i]) < abs(up[least]):
            least = i
    j, k = (least + 1) % 3, (least + 2) % 3
    size = math.sqrt(up[j] ** 2 + up[k] ** 2)
    frame[1, least], frame[1, j], frame[1, k] = 0.0, up[k] / size, -up[j] / size
    frame[2] = up
    for i in range(3):
        j, k = (i + 1) % 3, (i + 2) % 3
        frame[0, i] = frame[1, j] * up[k] - frame[1, k] * up[j]
