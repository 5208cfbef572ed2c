"""One step of the Lie-group generalised-alpha scheme, and what of the loads it takes implicitly.

Bruls & Cardona 2010, J. Comput. Nonlinear Dyn. 5:031002, with the predictor evaluated once and
one linearly implicit correction. Hinge stiffness, hinge damping and drag are implicit, all other
loads explicit at the predicted state; the error of the missing tangents is of second order in
the step, as is the scheme.
"""

from __future__ import annotations

from typing import NamedTuple

from simsoft.bodies.rod.forces import Work
from simsoft.core.arrays import Array
from simsoft.core.compiled import lean_kernel
from simsoft.hydrodynamics.section.motion import VELOCITY
from simsoft.hydrodynamics.section.resistive import drag_rate
from simsoft.mechanics.elastic import TANGENT, hinge_tangent
from simsoft.mechanics.rod import Rod
from simsoft.mechanics.rotation import append_rotation, vector_from_quaternion

RADIUS = 0.5  # spectral radius at infinite frequency: 0.8 let short waves of an undamped rod grow


class Scheme(NamedTuple):
    """Coefficients of one step of the scheme.

    Attributes
    ----------
    step : float [s]
    alpha_m, gamma, beta : float [-]
    share : float [-], (1 - alpha_f)/(1 - alpha_m)
    rate_gain : float [s], change of the rate with the acceleration
    angle_gain : float [s^2], change of the angle with the acceleration
    """

    step: float
    alpha_m: float
    gamma: float
    beta: float
    share: float
    rate_gain: float
    angle_gain: float


@lean_kernel()
def make_scheme(step: float) -> Scheme:
    """Return the coefficients for a step [s] at the spectral radius ``RADIUS``."""
    alpha_m = (2.0 * RADIUS - 1.0) / (RADIUS + 1.0)
    alpha_f = RADIUS / (RADIUS + 1.0)
    gamma = 0.5 + alpha_f - alpha_m
    beta = 0.25 * (gamma + 0.5) ** 2
    share = (1.0 - alpha_f) / (1.0 - alpha_m)
    return Scheme(
        step, alpha_m, gamma, beta, share, step * gamma * share, step * step * beta * share
    )


@lean_kernel()
def predict(
    scheme: Scheme,
    quaternion: Array,
    motion: Array,
    turned: Array,
    angle: Array,
    increment: Array,
    rate: Array,
) -> None:
    """Write rotations, angles, increments and rates at the end of a step, old acceleration."""
    step = scheme.step
    for k in range(quaternion.shape[0]):
        for i in range(3):
            algorithmic = motion[1, k, i]
            guess = (motion[2, k, i] - scheme.alpha_m * algorithmic) / (1.0 - scheme.alpha_m)
            increment[k, i] = step * motion[0, k, i] + step * step * (
                (0.5 - scheme.beta) * algorithmic + scheme.beta * guess
            )
            rate[k, i] = motion[0, k, i] + step * (
                (1.0 - scheme.gamma) * algorithmic + scheme.gamma * guess
            )
        append_rotation(quaternion[k], increment[k], turned[k])
        vector_from_quaternion(turned[k], angle[k])


@lean_kernel()
def add_implicit_drag(
    rod: Rod, work: Work, scheme: Scheme, old: Array, slope: Array, inertia: Array
) -> None:
    """Fill the link inertias (N, 6, 6) with the implicit drag and take its old part off the bias.

    ``old`` (N, 6) is the last link acceleration; ``slope`` (3,) is scratch space.
    """
    for k in range(rod.length.shape[0]):
        reach = 0.5 * rod.length[k]
        drag_rate(rod, k, work.state[k, VELOCITY], slope)
        own = inertia[k]
        for i in range(6):
            for j in range(6):
                own[i, j] = rod.structure[k, i, j] + rod.fluid[k, i, j]
        s0 = scheme.rate_gain * slope[0]
        s1 = scheme.rate_gain * slope[1]
        s2 = scheme.rate_gain * slope[2]
        own[3, 3] += s0
        own[3, 1] += s0 * reach
        own[1, 3] += s0 * reach
        own[1, 1] += s0 * reach * reach
        own[4, 4] += s1
        own[4, 0] -= s1 * reach
        own[0, 4] -= s1 * reach
        own[0, 0] += s1 * reach * reach
        own[5, 5] += s2
        p0 = s0 * (old[k, 3] + old[k, 1] * reach)
        p1 = s1 * (old[k, 4] - old[k, 0] * reach)
        work.bias[k, 3] -= p0
        work.bias[k, 1] -= p0 * reach
        work.bias[k, 4] -= p1
        work.bias[k, 0] += p1 * reach
        work.bias[k, 5] -= s2 * old[k, 5]


@lean_kernel()
def add_implicit_hinges(
    rod: Rod, work: Work, scheme: Scheme, angle: Array, old: Array, implicit: Array
) -> None:
    """Fill the implicit hinge matrices (N, 3, 3) and add their old part to the moments.

    ``work.bending`` is that of ``angle`` (N, 3).
    """
    gain = scheme.rate_gain * rod.kelvin_voigt + scheme.angle_gain
    for k in range(rod.length.shape[0]):
        hinge_tangent(rod, k, angle[k], work.bending[k, TANGENT], gain, implicit[k])
        for i in range(3):
            for j in range(3):
                work.moment[k, i] += implicit[k, i, j] * old[k, j]


@lean_kernel()
def correct(
    scheme: Scheme,
    hinge_acceleration: Array,
    link_acceleration: Array,
    rate: Array,
    increment: Array,
    turned: Array,
    quaternion: Array,
    motion: Array,
) -> float:
    """Take the new accelerations into rotations and motion; return the largest hinge rate."""
    worst = 0.0
    for k in range(quaternion.shape[0]):
        for i in range(3):
            change = hinge_acceleration[k, i] - motion[2, k, i]
            guess = (motion[2, k, i] - scheme.alpha_m * motion[1, k, i]) / (1.0 - scheme.alpha_m)
            motion[1, k, i] = guess + scheme.share * change
            motion[2, k, i] = hinge_acceleration[k, i]
            motion[0, k, i] = rate[k, i] + scheme.rate_gain * change
            increment[k, i] += scheme.angle_gain * change
            worst = max(worst, abs(motion[0, k, i]))
            motion[3, k, i] = link_acceleration[k, i]
            motion[3, k, 3 + i] = link_acceleration[k, 3 + i]
        append_rotation(quaternion[k], increment[k], turned[k])
        for i in range(4):
            quaternion[k, i] = turned[k, i]
    return worst
