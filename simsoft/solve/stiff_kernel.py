"""One evaluation of a free lure frozen stiff in a shape."""

from __future__ import annotations

import numpy as np

from simsoft.compiled import kernel
from simsoft.solve.tree_forces import TreeWork, evaluate_tree, gather_stiff
from simsoft.structure.rod import Array, Stream
from simsoft.structure.tree import Tree


@kernel()
def stiff_load(
    tree: Tree,
    still: Stream,
    frame: Array,
    twist: Array,
    quaternion: Array,
    angle: Array,
    work: TreeWork,
) -> None:
    """Fill ``work.total`` (6, 6) and ``work.whole`` (6,): inertia and what is missing to balance.

    ``frame`` (3, 3) is the base in the world, ``twist`` (6,) its motion in its own axes;
    ``quaternion`` (N, 4) and ``angle`` (N, 3) are the frozen hinges. ``whole`` is zero in a
    steady descent.
    """
    n, chains = tree.length.shape[0], tree.carrier.shape[0]
    wake, rate, place = np.zeros((chains, 4)), np.zeros((n, 3)), np.zeros(3)
    evaluate_tree(tree, still, frame, place, twist, quaternion, angle, rate, wake, work)
    gather_stiff(tree, work)
