"""March of a free lure, with plates or without, from chunk to chunk.

What marches plates is loaded for lures that have some.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from simsoft.bodies.free.base_step import Line
from simsoft.bodies.free.step import State
from simsoft.bodies.free.stepper import advance_tree, begin
from simsoft.bodies.rod.equilibrium import make_stream
from simsoft.core.arrays import Array
from simsoft.lure.free_lure import FreeLure

if TYPE_CHECKING:
    from simsoft.bodies.free.seated_plate import TreeLeaf
    from simsoft.bodies.free.stepper_with_plates import Leaves


STILL = make_stream(0.0, np.array([1.0, 0.0, 0.0]))


@dataclass(frozen=True)
class FreeMarch:
    """A free lure on its way.

    Attributes
    ----------
    lure : FreeLure, line : Line
    step : float [s]
    state : State, of base and chains, advanced in place
    leaves : tuple of TreeLeaf, its plates, advanced in place
    bunch : the same for the kernels, None without any
    """

    lure: FreeLure
    line: Line
    step: float
    state: State
    leaves: tuple[TreeLeaf, ...]
    bunch: Leaves | None

    @property
    def rows(self) -> int:
        """Nodes of chains and plates altogether."""
        return int(self.lure.first[-1])

    def shapes(self) -> tuple[Array, ...]:
        """Return places and directors (n, 6) of every plate in the axes of its seat."""
        return tuple(leaf.motion[0].copy() for leaf in self.leaves)

    def advance(self, leads: Array, stride: int, poses: Array, nodes: Array) -> bool:
        """March along ``leads`` (steps, 3, 3); return whether it got to the end.

        ``poses`` (rows, 16) and ``nodes`` (rows, N, 6) are filled every ``stride`` steps, see
        ``free.stepper.advance_tree``.
        """
        tree, steps = self.lure.tree, len(leads)
        if self.bunch is None:
            done = advance_tree(
                tree, STILL, self.line, leads, self.step, steps, stride, self.state, poses, nodes
            )
            return bool(done == steps and np.all(np.isfinite(poses)))
        from simsoft.bodies.free.hang import renew
        from simsoft.bodies.free.stepper_with_plates import advance_leafed
        from simsoft.bodies.plate.renewals import with_renewals

        bunch = self.bunch

        def make(done: int) -> tuple[int, int]:
            made, end = advance_leafed(
                tree, STILL, self.line, leads, self.step, (steps - done, stride, done),
                bunch, self.state, poses, nodes,
            )  # fmt: skip
            return int(made), int(end)

        if (
            with_renewals(steps, make, lambda: all(renew(self.lure, self.leaves, self.step)))
            < steps
        ):
            return False
        return bool(np.all(np.isfinite(poses)) and np.all(np.isfinite(nodes)))


def start_march(lure: FreeLure, line: Line, lead: Array, state: State, step: float) -> FreeMarch:
    """Return a march ready to go on from a state, its first accelerations solved for.

    The plates start in their moulded shapes; ``lead`` (3, 3) as in ``free.stepper.advance_tree``.
    """
    if not lure.leaves:
        begin(lure.tree, STILL, line, lead, state)
        return FreeMarch(lure, line, step, state, (), None)
    from simsoft.bodies.free.hang import bunch_leaves, renew, tree_leaf
    from simsoft.bodies.free.stepper_with_plates import begin_leafed

    leaves = tuple(tree_leaf(leaf, 0.0) for leaf in lure.leaves)
    bunch = bunch_leaves(leaves)
    begin_leafed(lure.tree, STILL, line, lead, bunch, state)
    renew(lure, leaves, step)
    return FreeMarch(lure, line, step, state, leaves, bunch)
