"""Elastic and Kelvin-Voigt moments of the hinges."""

from __future__ import annotations

from simsoft.core.arrays import Array
from simsoft.core.compiled import lean_kernel
from simsoft.mechanics.rod import Rod
from simsoft.mechanics.rotation import tangent_of, vector_rate

TANGENT = 3  # column of ``bending``: coefficient of the inverse right tangent


@lean_kernel()
def hinge_bending(angle: Array, rate: Array, bending: Array) -> None:
    """Write rates (3) of the rotation vectors ``angle`` (N, 3) and their coefficient, (N, 4).

    ``rate`` (N, 3) [rad/s] are the hinge rates. Moments, curvatures, tangents and losses of a
    hinge all ask for these, and large angles cost a sine and a cosine each time.
    """
    for k in range(angle.shape[0]):
        c = tangent_of(angle[k])
        r0, r1, r2 = vector_rate(angle[k], rate[k], c)
        bending[k, 0], bending[k, 1], bending[k, 2], bending[k, TANGENT] = r0, r1, r2, c


@lean_kernel()
def hinge_moment(rod: Rod, angle: Array, bending: Array, moment: Array) -> None:
    """Write the moment (N, 3) [N m] each hinge exerts on its outboard link, outboard axes.

    The energy is (angle - natural) . K . (angle - natural) / 2 in the rotation vector
    ``angle`` (N, 3) [rad]; damping is Kelvin-Voigt on the rate of that vector, which follows
    from the hinge rate by the inverse right tangent (``bending``, see ``hinge_bending``). Moment
    and rate are power conjugate, so the damping never feeds energy in.
    """
    for k in range(rod.length.shape[0]):
        p0, p1, p2 = angle[k, 0], angle[k, 1], angle[k, 2]
        r0, r1, r2, c = bending[k, 0], bending[k, 1], bending[k, 2], bending[k, TANGENT]
        tau = rod.kelvin_voigt
        e0 = rod.stiffness[k, 0] * (p0 - rod.natural[k, 0] + tau * r0)
        e1 = rod.stiffness[k, 1] * (p1 - rod.natural[k, 1] + tau * r1)
        e2 = rod.stiffness[k, 2] * (p2 - rod.natural[k, 2] + tau * r2)
        y0 = p1 * e2 - p2 * e1
        y1 = p2 * e0 - p0 * e2
        y2 = p0 * e1 - p1 * e0
        moment[k, 0] = -(e0 - 0.5 * y0 + c * (p1 * y2 - p2 * y1))
        moment[k, 1] = -(e1 - 0.5 * y1 + c * (p2 * y0 - p0 * y2))
        moment[k, 2] = -(e2 - 0.5 * y2 + c * (p0 * y1 - p1 * y0))


@lean_kernel()
def hinge_tangent(rod: Rod, k: int, angle: Array, c: float, gain: float, tangent: Array) -> None:
    """Write ``gain`` times the stiffness (3, 3) [N m/rad] hinge k shows to turning.

    ``c`` is the ``tangent_coefficient`` of the size of its rotation vector ``angle`` (3,).

    J^-T K J^-1 with J the right tangent of the rotation vector ``angle`` (3,): symmetric and
    positive definite at any angle. A diagonal in its place is not enough: with a stiff and
    a soft axis and strong damping the missing coupling makes a step unstable at hinge angles
    of a few degrees.
    """
    p0, p1, p2 = angle[0], angle[1], angle[2]
    j00 = 1.0 - c * (p1 * p1 + p2 * p2)
    j11 = 1.0 - c * (p0 * p0 + p2 * p2)
    j22 = 1.0 - c * (p0 * p0 + p1 * p1)
    j01 = -0.5 * p2 + c * p0 * p1
    j10 = 0.5 * p2 + c * p0 * p1
    j02 = 0.5 * p1 + c * p0 * p2
    j20 = -0.5 * p1 + c * p0 * p2
    j12 = -0.5 * p0 + c * p1 * p2
    j21 = 0.5 * p0 + c * p1 * p2
    s0 = gain * rod.stiffness[k, 0]
    s1 = gain * rod.stiffness[k, 1]
    s2 = gain * rod.stiffness[k, 2]
    tangent[0, 0] = s0 * j00 * j00 + s1 * j10 * j10 + s2 * j20 * j20
    tangent[1, 1] = s0 * j01 * j01 + s1 * j11 * j11 + s2 * j21 * j21
    tangent[2, 2] = s0 * j02 * j02 + s1 * j12 * j12 + s2 * j22 * j22
    tangent[0, 1] = tangent[1, 0] = s0 * j00 * j01 + s1 * j10 * j11 + s2 * j20 * j21
    tangent[0, 2] = tangent[2, 0] = s0 * j00 * j02 + s1 * j10 * j12 + s2 * j20 * j22
    tangent[1, 2] = tangent[2, 1] = s0 * j01 * j02 + s1 * j11 * j12 + s2 * j21 * j22


@lean_kernel()
def elastic_energy(rod: Rod, angle: Array) -> float:
    """Return the stored bending and twisting energy [J]."""
    total = 0.0
    for k in range(rod.length.shape[0]):
        for i in range(3):
            strain = angle[k, i] - rod.natural[k, i]
            total += 0.5 * rod.stiffness[k, i] * strain * strain
    return total


@lean_kernel()
def damping_power(rod: Rod, bending: Array) -> float:
    """Return the power [W] lost in Kelvin-Voigt damping (not negative); see ``hinge_bending``."""
    total = 0.0
    for k in range(rod.length.shape[0]):
        r0, r1, r2 = bending[k, 0], bending[k, 1], bending[k, 2]
        stiffness = rod.stiffness[k]
        total += rod.kelvin_voigt * (
            stiffness[0] * r0 * r0 + stiffness[1] * r1 * r1 + stiffness[2] * r2 * r2
        )
    return total
