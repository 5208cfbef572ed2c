"""Scratch arrays of a free lure, reused at every evaluation."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from simsoft.bodies.rod.forces import Work
from simsoft.core.arrays import Array
from simsoft.core.compiled import kernel
from simsoft.hydrodynamics.section.motion import ROWS
from simsoft.mechanics.multibody import Tree


class TreeWork(NamedTuple):
    """Scratch arrays of a tree of C chains with N links, reused at every evaluation.

    Attributes
    ----------
    clamp_frame, clamp_at : array (C, 3, 3), (C, 3) [m], clamps in the world
    clamp_twist, clamp_acceleration : array (C, 6), of the clamps in their own frames
    relative ... bending : as in ``forces.Work``, stacked
    paddle_motion : array (C, 6)
    dead, drag : array (6,), wrenches on the base about its origin in its axes
    slope : array (6, 6), drag slope of the base
    opened : array (6,), see ``add_inflow``, base_bias : array (6,)
    inertia : array (N, 6, 6), implicit : array (N, 3, 3), gain : array (N + 2 C, 6, 6)
    hinge, link : array (N, 3), (N, 6), accelerations
    total : array (6, 6), whole : array (6,), what the base has to move
    plate_inertia : array (6, 6), plate_bias : array (6,), what plates on the base hand to it
    six : array (3, 6, 6), one : array (6,), scratch
    """

    clamp_frame: Array
    clamp_at: Array
    clamp_twist: Array
    clamp_acceleration: Array
    relative: Array
    frame: Array
    hinge_at: Array
    node: Array
    spin: Array
    glide: Array
    curvature: Array
    curvature_rate: Array
    slope_of_curvature: Array
    state: Array
    wrench: Array
    bias: Array
    drifts: Array
    moment: Array
    bending: Array
    paddle_motion: Array
    dead: Array
    drag: Array
    slope: Array
    opened: Array
    base_bias: Array
    inertia: Array
    implicit: Array
    gain: Array
    hinge: Array
    link: Array
    total: Array
    whole: Array
    plate_inertia: Array
    plate_bias: Array
    six: Array
    one: Array


@kernel()
def make_tree_work(chains: int, n: int) -> TreeWork:
    """Return scratch arrays for ``chains`` chains of ``n`` links altogether."""
    return TreeWork(
        np.zeros((chains, 3, 3)),
        np.zeros((chains, 3)),
        np.zeros((chains, 6)),
        np.zeros((chains, 6)),
        np.zeros((n, 3, 3)),
        np.zeros((n, 3, 3)),
        np.zeros((n, 3)),
        np.zeros((n, 3)),
        np.zeros((n, 3)),
        np.zeros((n, 3)),
        np.zeros((n, 3)),
        np.zeros((n, 3)),
        np.zeros((n, 3)),
        np.zeros((n, ROWS, 3)),
        np.zeros((n, 4, 6)),
        np.zeros((n, 6)),
        np.zeros((n, 6)),
        np.zeros((n, 3)),
        np.zeros((n, 4)),
        np.zeros((chains, 6)),
        np.zeros(6),
        np.zeros(6),
        np.zeros((6, 6)),
        np.zeros(6),
        np.zeros(6),
        np.zeros((n, 6, 6)),
        np.zeros((n, 3, 3)),
        np.zeros((n + 2 * chains, 6, 6)),
        np.zeros((n, 3)),
        np.zeros((n, 6)),
        np.zeros((6, 6)),
        np.zeros(6),
        np.zeros((6, 6)),
        np.zeros(6),
        np.zeros((3, 6, 6)),
        np.zeros(6),
    )


@kernel()
def chain_work(tree: Tree, work: TreeWork, c: int) -> Work:
    """Return the scratch arrays of chain ``c``, views into those of the tree."""
    a, b = tree.first[c], tree.first[c + 1]
    return Work(
        work.relative[a:b],
        work.frame[a:b],
        work.hinge_at[a:b],
        work.node[a:b],
        work.spin[a:b],
        work.glide[a:b],
        work.curvature[a:b],
        work.curvature_rate[a:b],
        work.slope_of_curvature[a:b],
        work.state[a:b],
        work.wrench[a:b],
        work.bias[a:b],
        work.drifts[a:b],
        work.moment[a:b],
        work.bending[a:b],
        work.paddle_motion[c],
        work.one,
    )
