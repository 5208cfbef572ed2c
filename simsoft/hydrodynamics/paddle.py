"""Load on a paddle: normal force, moving centre of pressure, wake state, edge suction.

Normal force and centre of pressure use the free-streamline forms of Rayleigh 1876 scaled to
a measured broadside coefficient; V is the speed of the plate's centre through the water, a
its incidence:

    C_N = C_N90 (4 + pi) sin a / (4 + pi sin a),   x/D = k_cp (3/4) cos a / (4 + pi sin a).

Force and moment are quasi-steady: a paddle beats by flutter of the stem that carries it, bending
coupled with twist, not by its wake. Two resolved-flow studies find next to no moment on a disc
held across the stream and none that locks in on its motion. What moment a shed wake has is a
small disturbance on top, which the motion does not feed back into:

    q'' + eps W (q^2 - 1) q' + W^2 q = 0,   W = 2 pi St V / (D sin a),
    M = -rho/2 V^2 sin a A D C_M0 q/2,

a van der Pol oscillation of amplitude 2 at St on the projected width (f b sin a / U = 0.145 to
0.155 for inclined plates: Fage & Johansen 1927, from memory), so that the moment has the
amplitude C_M0 and dies as the plate turns edge on. C_M0 is zero by default; coefficients.py has
its band, which the answers carry.

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

SMALLEST_SINE = 0.5  # projected width is not let below half the width: sheds off the edges then


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
def shedding_rate(paddle: Paddle, motion: Array) -> float:
    """Return the shedding rate W [rad/s] of a paddle."""
    speed = math.sqrt(motion[0] ** 2 + motion[1] ** 2 + motion[2] ** 2)
    if speed <= 0.0:
        return 0.0
    return rate_of_flow(speed, abs(motion[2]) / speed, paddle.width, paddle.strouhal)


@lean_kernel()
def rate_of_flow(speed: float, sine: float, width: float, strouhal: float) -> float:
    """Return the shedding rate W [rad/s] of a plate of a width [m]; ``sine`` of its incidence."""
    return 2.0 * math.pi * strouhal * speed / (width * max(sine, SMALLEST_SINE))


@lean_kernel()
def wake_of_flow(
    speed: float,
    sine: float,
    ahead: float,
    width: float,
    strouhal: float,
    normal_force: float,
    centre: float,
    moment: float,
) -> tuple[float, float]:
    """Return shedding rate W [rad/s] and quasi-steady wake state q_qs [-] of a plate in a flow.

    ``sine`` is that of the incidence, ``ahead`` the share of the velocity along the chord, of
    length ``width`` [m]; ``normal_force``, ``centre`` and ``moment`` are C_N90, k_cp and C_M0.
    """
    if moment <= 0.0:
        return 0.0, 0.0
    shape = 4.0 + math.pi * sine
    reach = 0.75 * centre * ahead / shape
    normal = normal_force * (4.0 + math.pi) / shape
    return rate_of_flow(speed, sine, width, strouhal), 2.0 * normal * reach / moment


@lean_kernel()
def wake_acceleration(q: float, q_rate: float, growth: float, rate: float, target: float) -> float:
    """Return the second derivative [1/s^2] of the wake state."""
    return growth * rate * (1.0 - q * q) * q_rate - rate * rate * (q - target)


@lean_kernel()
def advance_wake(
    q: float,
    q_rate: float,
    growth: float,
    before: tuple[float, float],
    after: tuple[float, float],
    step: float,
) -> tuple[float, float]:
    """Advance the wake state over one step [s], classical Runge-Kutta.

    ``before`` and ``after`` are shedding rate [rad/s] and quasi-steady state [-] at both ends of
    the step, straight in between: held at one end, the wake would be of first order in the step.
    """
    rate, target = before
    a1 = wake_acceleration(q, q_rate, growth, rate, target)
    rate, target = 0.5 * (before[0] + after[0]), 0.5 * (before[1] + after[1])
    p2 = q + 0.5 * step * q_rate
    r2 = q_rate + 0.5 * step * a1
    a2 = wake_acceleration(p2, r2, growth, rate, target)
    p3 = q + 0.5 * step * r2
    r3 = q_rate + 0.5 * step * a2
    a3 = wake_acceleration(p3, r3, growth, rate, target)
    rate, target = after
    p4 = q + step * r3
    r4 = q_rate + step * a3
    a4 = wake_acceleration(p4, r4, growth, rate, target)
    return (
        q + step * (q_rate + 2.0 * r2 + 2.0 * r3 + r4) / 6.0,
        q_rate + step * (a1 + 2.0 * a2 + 2.0 * a3 + a4) / 6.0,
    )


@lean_kernel()
def foretell_wake(paddle: Paddle, wake: Array, step: float) -> float:
    """Return the wake state one step [s] on under the drive of the last step.

    ``wake`` (4,) holds the state, its rate, the shedding rate of the last step, zero before the
    first, and a zero. The load at the end of a step needs the wake there: with the one at its
    beginning a march would be of first order.
    """
    before = (wake[2], 0.0)
    return advance_wake(wake[0], wake[1], paddle.wake_growth, before, before, step)[0]


@lean_kernel()
def step_wake(paddle: Paddle, motion: Array, wake: Array, step: float) -> None:
    """Advance ``wake`` (4,), see ``foretell_wake``, to the end of a step [s].

    ``motion`` (6,) is that of ``paddle_motion`` at the end of the step.
    """
    after = shedding_rate(paddle, motion)
    before = wake[2] if wake[2] > 0.0 else after
    wake[0], wake[1] = advance_wake(
        wake[0], wake[1], paddle.wake_growth, (before, 0.0), (after, 0.0), step
    )
    wake[2] = after


@lean_kernel()
def turning_moment(paddle: Paddle, motion: Array) -> tuple[float, float]:
    """Return the potential-flow turning moment [N m] about kick and upright axis."""
    momentum = paddle.munk * paddle.added_mass * motion[2]
    return -momentum * motion[1], momentum * motion[0]


@lean_kernel()
def paddle_load(paddle: Paddle, motion: Array, wake: float, wrench: Array) -> None:
    """Add the plate's load about the tip node, tip frame, to ``wrench`` (6,).

    Torque [N m] first, then force [N]. ``motion`` (6,) is that of ``paddle_motion``; ``wake`` is
    the wake state [-]. The acceleration part of the added mass stands in the mass matrix.
    """
    vk, vu, vn = motion[0], motion[1], motion[2]
    wk, wu, wn = motion[3], motion[4], motion[5]
    speed = math.sqrt(vk * vk + vu * vu + vn * vn)
    momentum = paddle.added_mass * vn
    force_k = -paddle.munk * wu * momentum - paddle.friction * speed * vk
    force_u = paddle.munk * wk * momentum - paddle.friction * speed * vu
    force_n = 0.0
    rotary_k, rotary_u = paddle.added_rotary[0] * wk, paddle.added_rotary[1] * wu
    turning_k, turning_u = turning_moment(paddle, motion)
    torque_k = wn * rotary_u + turning_k - paddle.steady_turning[0]
    torque_u = -wn * rotary_k + turning_u - paddle.steady_turning[1]
    torque_n = wu * rotary_k - wk * rotary_u
    if speed > 0.0:
        sine = abs(vn) / speed
        shape = 4.0 + math.pi * sine
        force_n = -paddle.area * paddle.normal_force * (4.0 + math.pi) / shape * speed * vn
        reach = 0.75 * paddle.centre_of_pressure * paddle.width / (shape * speed)
        torque_k += force_n * reach * vu
        moment = paddle.half_density * speed * vn * paddle.area * paddle.width
        torque_u += 0.5 * paddle.wake_moment * wake * moment - force_n * reach * vk
    tilt = math.sqrt(vn * vn + (0.25 * paddle.width) ** 2 * (wk * wk + wu * wu))
    gyration = paddle.area * paddle.width**2 / 16.0
    damping = 2.0 * paddle.rotary_damping * paddle.normal_force * gyration * tilt
    torque_k -= damping * wk
    torque_u -= damping * wu
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
