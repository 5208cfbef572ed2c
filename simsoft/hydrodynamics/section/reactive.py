"""Reactive load: large-amplitude elongated-body force on a section, in three dimensions.

Lighthill 1971, Proc. R. Soc. B 179:125; three-dimensional form Candelier, Boyer & Leroyer
2011, J. Fluid Mech. 670:196. The momentum of a water slice, p = m1 V1 a1 + m2 V2 a2, changes
as the section moves and as the section slides along the slice:

    f = -d(p)/dt + d(V3 p)/ds - d(T a3)/ds,   T = (m1 V1^2 + m2 V2^2)/2,

taken across the axis only, because its part along the axis vanishes for a uniform
inextensible strip. About the axis, a twisted strip that slides along the slice turns it at
W = w3 - V3 kappa3, and the torque is -m_r dW/dt + m_r d(V3 W)/ds (the change of V3 with time
is left out: it is of second order in the deflection; the part that softens the strip in twist
is limited, see TWIST_SHARE).

The derivatives along the length follow from inextensibility,
V' = w x a3 - kappa x V, so that the force needs nothing from the neighbours but the
curvature and its slope. The parts with dV/dt stand in the mass matrix; here are all the others.
"""

from __future__ import annotations

from simsoft.core.arrays import Array
from simsoft.core.compiled import lean_kernel
from simsoft.hydrodynamics.section.motion import (
    CURVATURE,
    CURVATURE_RATE,
    GRADIENT,
    SLOPE,
    SPIN,
    STREAM,
    UNCARRIED,
    VELOCITY,
)
from simsoft.mechanics.rod import Rod

TWIST_SHARE = 0.8  # of the torsional stiffness that flow along a twisted strip may take away


@lean_kernel()
def section_reaction(rod: Rod, k: int, state: Array, wrench: Array) -> None:
    """Add the reactive load on node k, less its acceleration part, to ``wrench`` (6,).

    Torque [N m] first, then force [N], node frame; ``state`` as in hydrodynamics/section/motion.py.
    Where the span grows toward the tip the growing slice takes momentum up; where it shrinks, the
    momentum left behind stays in the shed wake and gives no force (Lighthill 1970, J. Fluid
    Mech. 44:265). With ``rod.reactive`` zero the section carries its added mass through
    still water and the stream is felt by drag alone.
    """
    v1, v2, v3 = state[VELOCITY, 0], state[VELOCITY, 1], state[VELOCITY, 2]
    w1, w2, w3 = state[SPIN, 0], state[SPIN, 1], state[SPIN, 2]
    m1, m2, roll = rod.added[k, 0], rod.added[k, 1], rod.added[k, 2]
    if rod.reactive > 0.0:
        k1, k2, k3 = state[CURVATURE, 0], state[CURVATURE, 1], state[CURVATURE, 2]
        d1 = w2 - (k2 * v3 - k3 * v2) - state[GRADIENT, 0]
        d2 = -w1 - (k3 * v1 - k1 * v3) - state[GRADIENT, 1]
        d3 = -(k1 * v2 - k2 * v1) - state[GRADIENT, 2]
        energy = 0.5 * (m1 * v1 * v1 + m2 * v2 * v2)
        f1 = w3 * m2 * v2 + m1 * (d1 * v3 + v1 * d3) + rod.added_gain[k, 0] * v1 * v3
        f1 -= v3 * k3 * m2 * v2 + energy * k2
        f2 = -w3 * m1 * v1 + m2 * (d2 * v3 + v2 * d3) + rod.added_gain[k, 1] * v2 * v3
        f2 += v3 * k3 * m1 * v1 + energy * k1
        spin_slope = state[CURVATURE_RATE, 2] - (k1 * w2 - k2 * w1)
        slip = w3 - v3 * k3
        # short twists carry less water than a slender body: left whole, the term that works
        # against the torsional stiffness would win at some speed and grow without bound
        softening = roll * v3 * v3
        stiffness = rod.stiffness[k, 2] * rod.length[k]
        share = 1.0
        if softening > TWIST_SHARE * stiffness:
            share = TWIST_SHARE * stiffness / softening
        slip_slope = spin_slope - d3 * k3 - share * v3 * state[SLOPE, 2]
        torque = (m1 - m2) * v1 * v2
        torque += roll * (v3 * state[CURVATURE_RATE, 2] + d3 * slip + v3 * slip_slope)
    else:
        u1, u2 = state[STREAM, 0], state[STREAM, 1]
        f1 = w3 * m2 * (v2 + u2)
        f2 = -w3 * m1 * (v1 + u1)
        torque = (m1 - m2) * (v1 + u1) * (v2 + u2)
    f1 -= m1 * state[UNCARRIED, 0]
    f2 -= m2 * state[UNCARRIED, 1]
    span = rod.span[k]
    wrench[2] += span * torque
    wrench[3] += span * f1
    wrench[4] += span * f2
