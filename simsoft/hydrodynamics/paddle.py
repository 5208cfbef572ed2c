"""Load on a paddle: normal force, moving centre of pressure, rim force, edge suction.

Normal force and centre of pressure start from the free-streamline forms of Rayleigh 1876, scaled to
a measured broadside coefficient; V is the speed of the plate's centre through the water, a
its incidence:

    C_N = C_N90 (4 + pi) sin a / (4 + pi sin a) (1 + c_l cos^2 a (1 - cos^4 a)),
    x/D = k_cp (3/4) cos a / (4 + pi sin a).

Rayleigh's strip is infinitely wide. Water spills round all sides of a plate as wide as long, so
that its normal force hardly falls as it leans; the last factor says so.

Two more loads follow the wake that the plate drags along. Its state r (``hydrodynamics/rim.py``)
is driven by the acceleration of the plate along itself. It pushes the rim along the plate,

    F = rho/2 V^2 min(1, 2 sin a) A C_r r / sqrt(1 + (r / r_0)^2).

The wake also widens: the normal force grows by 1 + g E with E the envelope of r. On the velocity v
along the plate a drag -rho/2 C_i A |v| v acts on the rim, at rest and in motion; on its share
sideways v_k, along the kick axis, another -rho/2 C_N90 A c_s V v_k. Spin w about the normal meets a
share of the rim's drag, taken as spread over the rim of radius R:
-c_i rho/2 C_i A R^2 w sqrt((3/2 v)^2 + (R w)^2), its slope for a small w beside v.

Potential flow also gives a turning moment -V x p and an in-plane force -w x p by suction on
the edges (p is the added momentum along the normal). Both live on attached edges and are
scaled together by ``munk``; one without the other would feed energy in. In steady flow the
measured centre of pressure already holds the whole moment of a separated plate, so the turning
moment acts only on changes about the rest incidence: its steady part is taken off.
"""

from __future__ import annotations

import math

from simsoft.core.arrays import Array
from simsoft.core.compiled import lean_kernel
from simsoft.mechanics.rod import Paddle

# Set once, together with the coefficients, by marched baits and tails and by discs
# (validation/RESOLVED.md); validation/resolved/fit.py moves the coefficients alone.
LEAN = 0.48  # c_l, how much less the normal force falls with the lean than Rayleigh's
RIM_LIMIT = 0.16  # r_0, state of the wake at which the rim force levels off
SIDE_DAMPING = 0.14  # c_s
RIM_SPIN_DRAG = 0.9  # c_i
SMALLEST_SINE = 0.5  # a plate at less incidence sheds off its edges, and its rim drags less wake


@lean_kernel()
def paddle_motion(paddle: Paddle, velocity: Array, spin: Array, motion: Array) -> None:
    """Write velocity and spin of the plate centre in plate axes, ``motion`` (6,).

    ``velocity`` [m/s] and ``spin`` [rad/s] are the tip node's, relative to the water, in the
    tip frame. Plate axes: kick, upright, normal.
    """
    c = paddle.centre
    v0 = velocity[0] + spin[1] * c[2] - spin[2] * c[1]
    v1 = velocity[1] + spin[2] * c[0] - spin[0] * c[2]
    v2 = velocity[2] + spin[0] * c[1] - spin[1] * c[0]
    for j in range(3):
        a0, a1, a2 = paddle.axes[0, j], paddle.axes[1, j], paddle.axes[2, j]
        motion[j] = a0 * v0 + a1 * v1 + a2 * v2
        motion[3 + j] = a0 * spin[0] + a1 * spin[1] + a2 * spin[2]


@lean_kernel()
def turning_moment(paddle: Paddle, motion: Array) -> tuple[float, float]:
    """Return the potential-flow turning moment [N m] about kick and upright axis."""
    momentum = paddle.munk * paddle.added_mass * motion[2]
    return -momentum * motion[1], momentum * motion[0]


@lean_kernel()
def normal_share(sine: float) -> float:
    """Return C_N / (C_N90 sin a) [-] at an incidence a by its ``sine``."""
    square = 1.0 - sine * sine  # cos^2 a
    rayleigh = (4.0 + math.pi) / (4.0 + math.pi * sine)
    return rayleigh * (1.0 + LEAN * square * (1.0 - square * square))


@lean_kernel()
def paddle_load(paddle: Paddle, motion: Array, wake: Array, wrench: Array) -> None:
    """Add the plate's load about the tip node, tip frame, to ``wrench`` (6,).

    Torque [N m] first, then force [N]. ``motion`` (6,) is that of ``paddle_motion``; ``wake`` (3,)
    is the wake's state along kick and upright axis and its envelope (``rim.foretell_rim``). The
    acceleration part of the added mass stands in the mass matrix.
    """
    vk, vu, vn = motion[0], motion[1], motion[2]
    wk, wu, wn = motion[3], motion[4], motion[5]
    speed = math.sqrt(vk * vk + vu * vu + vn * vn)
    momentum = paddle.added_mass * vn
    rubbed = paddle.friction * speed + paddle.rim_drag * math.sqrt(vk * vk + vu * vu)
    force_k = -paddle.munk * wu * momentum - rubbed * vk
    force_u = paddle.munk * wk * momentum - rubbed * vu
    force_n = 0.0
    rotary_k, rotary_u = paddle.added_rotary[0] * wk, paddle.added_rotary[1] * wu
    turning_k, turning_u = turning_moment(paddle, motion)
    torque_k = wn * rotary_u + turning_k - paddle.steady_turning[0]
    torque_u = -wn * rotary_k + turning_u - paddle.steady_turning[1]
    torque_n = wu * rotary_k - wk * rotary_u
    if speed > 0.0:
        sine = abs(vn) / speed
        shape = 4.0 + math.pi * sine
        broadside = paddle.area * paddle.normal_force * speed
        force_n = -broadside * normal_share(sine) * vn
        force_n *= 1.0 + paddle.force_growth * wake[2]
        force_k -= SIDE_DAMPING * broadside * vk
        reach = 0.75 * paddle.centre_of_pressure * paddle.width / (shape * speed)
        torque_k += force_n * reach * vu
        torque_u -= force_n * reach * vk
        push = paddle.half_density * speed * speed * paddle.area * min(1.0, sine / SMALLEST_SINE)
        push *= paddle.rim_force / math.sqrt(
            1.0 + (wake[0] * wake[0] + wake[1] * wake[1]) / (RIM_LIMIT * RIM_LIMIT)
        )
        force_k += push * wake[0]
        force_u += push * wake[1]
    tilt = math.sqrt(vn * vn + (0.25 * paddle.width) ** 2 * (wk * wk + wu * wu))
    gyration = paddle.area * paddle.width**2 / 16.0
    damping = 2.0 * paddle.rotary_damping * paddle.normal_force * gyration * tilt
    torque_k -= damping * wk
    torque_u -= damping * wu
    rim = 0.5 * paddle.width
    slip = math.sqrt(2.25 * (vk * vk + vu * vu) + rim * rim * wn * wn)
    torque_n -= RIM_SPIN_DRAG * paddle.rim_drag * rim * rim * slip * wn
    a = paddle.axes
    c = paddle.centre
    f0 = a[0, 0] * force_k + a[0, 1] * force_u + a[0, 2] * force_n
    f1 = a[1, 0] * force_k + a[1, 1] * force_u + a[1, 2] * force_n
    f2 = a[2, 0] * force_k + a[2, 1] * force_u + a[2, 2] * force_n
    t0 = a[0, 0] * torque_k + a[0, 1] * torque_u + a[0, 2] * torque_n
    t1 = a[1, 0] * torque_k + a[1, 1] * torque_u + a[1, 2] * torque_n
    t2 = a[2, 0] * torque_k + a[2, 1] * torque_u + a[2, 2] * torque_n
    wrench[0] += t0 + c[1] * f2 - c[2] * f1
    wrench[1] += t1 + c[2] * f0 - c[0] * f2
    wrench[2] += t2 + c[0] * f1 - c[1] * f0
    wrench[3] += f0
    wrench[4] += f1
    wrench[5] += f2
