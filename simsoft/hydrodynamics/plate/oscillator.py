"""The oscillator of a plate whose case states a wake moment C_M0: rate, drive, its advance.

    q'' + eps W (q^2 - 1) q' + W^2 q = W^2 q_qs,   W = 2 pi St V / (D sin a),

a van der Pol oscillation of amplitude 2 at St on the projected width (f b sin a / U = 0.145 to
0.155 for inclined plates: Fage & Johansen 1927, from memory). Held discs feel next to none of it
(resolved-flow studies), so that only a plate whose case states its moment has one.
"""

from __future__ import annotations

import math

from simsoft.core.compiled import lean_kernel
from simsoft.hydrodynamics.paddle import SMALLEST_SINE


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
