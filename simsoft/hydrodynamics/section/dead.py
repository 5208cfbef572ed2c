"""Dead loads: weight less buoyancy and fixed forces in world axes, follower load at the tip."""

from __future__ import annotations

from simsoft.core.arrays import Array
from simsoft.core.compiled import lean_kernel
from simsoft.mechanics.rod import Rod


@lean_kernel()
def add_force(frame: Array, force: Array, wrench: Array) -> None:
    """Add a force (3,) [N] in world axes at the node to ``wrench`` (6,)."""
    for i in range(3):
        wrench[3 + i] += frame[0, i] * force[0] + frame[1, i] * force[1] + frame[2, i] * force[2]


@lean_kernel()
def section_weight(rod: Rod, k: int, frame: Array, wrench: Array) -> None:
    """Add weight, buoyancy, tip moment and follower load of node k to ``wrench`` (6,).

    ``frame`` (3, 3) is the node frame; torque [N m] first, then force [N], node frame.
    """
    add_force(frame, rod.weight[k], wrench)
    if k == rod.length.shape[0] - 1:
        c = rod.paddle.centre
        for i in range(3):
            f = rod.paddle.weight
            local = frame[0, i] * f[0] + frame[1, i] * f[1] + frame[2, i] * f[2]
            m = rod.tip_moment
            wrench[3 + i] += rod.follower[i] + local
            wrench[i] += frame[0, i] * m[0] + frame[1, i] * m[1] + frame[2, i] * m[2]
            wrench[(i + 1) % 3] += c[(i + 2) % 3] * local
            wrench[(i + 2) % 3] -= c[(i + 1) % 3] * local
