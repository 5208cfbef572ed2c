"""Resistive load: quadratic cross-flow drag and skin friction on a section."""

from __future__ import annotations

import math

from simsoft.core.arrays import Array
from simsoft.core.compiled import lean_kernel
from simsoft.hydrodynamics.section.motion import SPIN, VELOCITY
from simsoft.mechanics.rod import Rod


@lean_kernel()
def section_drag(rod: Rod, k: int, state: Array, wrench: Array) -> None:
    """Add the drag on node k to ``wrench`` (6,): torque [N m] and force [N], node frame.

    ``state`` as in hydrodynamics/section/motion.py. Independence principle: the cross-flow force
    goes with the velocity normal to the axis. Friction goes along the whole relative velocity, with
    equal coefficients along and across (Taylor 1952, Proc. R. Soc. A 214:158; Paidoussis
    1966, J. Fluid Mech. 26:717, from memory): along the axis alone it would be a follower
    load. Coefficients C_d b rho/2 are in ``rod.drag``; the last column resists rolling about
    the axis (strip theory, the same normal drag integrated over the width).
    """
    velocity = state[VELOCITY]
    roll_rate = state[SPIN, 2]
    normal_speed = math.sqrt(velocity[0] ** 2 + velocity[1] ** 2)
    speed = math.sqrt(normal_speed**2 + velocity[2] ** 2)
    span = rod.span[k]
    wrench[2] -= span * rod.drag[k, 3] * abs(roll_rate) * roll_rate
    wrench[3] -= span * (rod.drag[k, 0] * normal_speed + rod.drag[k, 2] * speed) * velocity[0]
    wrench[4] -= span * (rod.drag[k, 1] * normal_speed + rod.drag[k, 2] * speed) * velocity[1]
    wrench[5] -= span * rod.drag[k, 2] * speed * velocity[2]


@lean_kernel()
def drag_rate(rod: Rod, k: int, velocity: Array, rate: Array) -> None:
    """Write the drag's slope with velocity (3,) [N s/m] for the implicit part of a step."""
    normal_speed = math.sqrt(velocity[0] ** 2 + velocity[1] ** 2)
    speed = math.sqrt(normal_speed**2 + velocity[2] ** 2)
    span = rod.span[k]
    friction = rod.drag[k, 2] * speed
    rate[0] = 2.0 * span * (rod.drag[k, 0] * normal_speed + friction)
    rate[1] = 2.0 * span * (rod.drag[k, 1] * normal_speed + friction)
    rate[2] = 2.0 * span * friction
