"""Screening of a wake-driven paddle without a time march: rest shape, small motions, balance.

About the rest shape the structure is taken as linear, with the paddle's quasi-steady moment in
it; the wake oscillator of loads/paddle.py acts through the difference of its state q to the
quasi-steady one. With q = a cos(w t) and the first harmonic of the van der Pol term,

    M x'' + C x' + K x + beta (q - q_qs) = 0,     q_qs = c.x + d.x',
    W^2 - w^2 = W^2 Re H(w),     a^2 = 4 (1 + W Im H(w) / (eps w)),     q_qs = H q,

which gives beat and stroke of the limit cycle at once (harmonic balance, e.g. Nayfeh & Mook
1979, from memory). Left out: drag that grows with the square of the beat's own speed, the change
of incidence within a beat, higher harmonics; the error against the march is stated and tested.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from simsoft.compiled import kernel
from simsoft.loads.paddle import wake_drive
from simsoft.solve.forces import Work, evaluate, make_work
from simsoft.solve.linearise import (
    residual,
    static_jacobian,
    static_residual,
    tangents,
    turned_by,
)
from simsoft.structure.dynamics import hinge_load
from simsoft.structure.rod import Array, Rod, Stream
from simsoft.structure.rotation import quaternion_from_vector

TOLERANCE = 1.0e-7  # [rad] largest correction of a converged hinge angle
CORRECTIONS = 24
SLOW = 0.2  # a chord step that shrinks the correction less asks for a new tangent
LARGEST_CORRECTION = 0.3  # [rad]
ANGLE_STEP = 1.0e-5  # [rad]
RATE_STEP = 1.0e-4  # relative to stream speed over length


class Rods(NamedTuple):
    """One rod three times.

    Attributes
    ----------
    resting : as a long-held shape feels it: resting modulus, steady paddle
    moving : resting modulus, with the paddle's turning moment
    unit : unit modulus
    """

    resting: Rod
    moving: Rod
    unit: Rod


class Small(NamedTuple):
    """Small motions about a rest shape in m modes, and how they meet the wake.

    Attributes
    ----------
    mass, damping, stiffness : array (m, m), at the resting modulus
    elastic : array (m, m), stiffness per unit modulus
    push : array (m,), beta
    by_angle, by_rate : array (m,), c and d
    reach : array (3, m), displacement of the paddle's centre
    """

    mass: Array
    damping: Array
    stiffness: Array
    elastic: Array
    push: Array
    by_angle: Array
    by_rate: Array
    reach: Array


class Stuff(NamedTuple):
    """Material of a screened rod.

    Attributes
    ----------
    resting : float [Pa], modulus of a long-held shape
    exponent : float, n of modulus ~ frequency^n
    dwell : float [Hz], below which the modulus is the resting one
    kelvin_voigt : float [s]; negative where damping is a loss factor
    loss : float, loss factor
    """

    resting: float
    exponent: float
    dwell: float
    kelvin_voigt: float
    loss: float


@kernel()
def settle_rest(rod: Rod, stream: Stream, angle: Array) -> bool:
    """Replace ``angle`` (N, 3) [rad] by the rest shape near it; tell whether it was found."""
    n = angle.shape[0]
    trial = angle.copy()
    inverse = np.zeros((3 * n, 3 * n))
    fresh, previous = False, 0.0
    for _ in range(CORRECTIONS):
        if not fresh:
            inverse = np.ascontiguousarray(np.linalg.inv(static_jacobian(rod, stream, trial)))
            fresh = True
        missing = static_residual(rod, stream, trial).reshape(3 * n)
        correction = -(inverse @ missing)
        size = np.abs(correction).max()
        if not np.isfinite(size):
            return False
        trial += min(1.0, LARGEST_CORRECTION / max(size, 1e-300)) * correction.reshape((n, 3))
        if size < TOLERANCE:
            angle[:] = trial
            return True
        fresh = size < SLOW * previous or previous == 0.0
        previous = size
    return False


@kernel()
def wet_basis(rod: Rod, still: Stream, angle: Array, basis: Array) -> float:
    """Write the lowest wet modes into ``basis`` (3 N, m); return the first [rad/s]."""
    size, count = basis.shape
    mass, _, stiffness = tangents(rod, still, angle, np.eye(size))
    lower = np.linalg.cholesky(0.5 * (mass + mass.T))
    inverse = np.linalg.inv(lower)
    reduced = inverse @ (0.5 * (stiffness + stiffness.T)) @ inverse.T
    values, vectors = np.linalg.eigh(0.5 * (reduced + reduced.T))
    shapes = np.ascontiguousarray(inverse.T) @ np.ascontiguousarray(vectors)
    for j in range(count):
        for i in range(size):
            basis[i, j] = shapes[i, j]
    return math.sqrt(max(values[0], 0.0))


@kernel()
def forced(rod: Rod, stream: Stream, angle: Array, wake: float, work: Work, result: Array) -> None:
    """Write the missing hinge moments (N, 3) at rest with the wake state held at ``wake``."""
    n = angle.shape[0]
    quaternion = np.zeros((n, 4))
    for k in range(n):
        quaternion_from_vector(angle[k], quaternion[k])
    still = np.zeros((n, 3))
    evaluate(rod, stream, quaternion, angle, still, wake, True, work)
    links = np.zeros((n, 6))
    hinge_load(rod, work.relative, work.bias, work.drifts, work.moment, still, result, links)


@kernel()
def tip_point(rod: Rod, work: Work, point: Array) -> None:
    """Write the paddle's centre (3,) [m] of the state last evaluated."""
    n = rod.length.shape[0]
    c = rod.paddle.centre
    for i in range(3):
        point[i] = work.node[n - 1, i]
        for j in range(3):
            point[i] += work.frame[n - 1, i, j] * c[j]


@kernel()
def wake_coupling(
    rod: Rod,
    stream: Stream,
    angle: Array,
    basis: Array,
    small: Small,
) -> float:
    """Write how wake and motion meet into ``small``; return the shedding rate W [rad/s]."""
    push, by_angle, by_rate, reach = small.push, small.by_angle, small.by_rate, small.reach
    n, m = angle.shape[0], basis.shape[1]
    work = make_work(n)
    still = np.zeros((n, 3))
    plus, minus, unused = np.zeros((n, 3)), np.zeros((n, 3)), np.zeros((n, 3))
    shift, other = np.zeros((n, 3)), np.zeros((n, 3))
    here, there = np.zeros(3), np.zeros(3)
    forced(rod, stream, angle, 1.0, work, plus)
    forced(rod, stream, angle, -1.0, work, minus)
    rate, _ = wake_drive(rod.paddle, work.paddle_motion)
    speed = np.sqrt((stream.velocity**2).sum())
    rate_step = RATE_STEP * max(speed, 1.0e-3) / rod.length.sum()
    for j in range(m):
        push[j] = 0.0
        largest = 0.0
        for k in range(n):
            for i in range(3):
                push[j] += 0.5 * basis[3 * k + i, j] * (plus[k, i] - minus[k, i])
                largest = max(largest, abs(basis[3 * k + i, j]))
        size = ANGLE_STEP / largest
        for k in range(n):
            for i in range(3):
                shift[k, i] = size * basis[3 * k + i, j]
                other[k, i] = -shift[k, i]
        shift[:] = turned_by(angle, shift)
        other[:] = turned_by(angle, other)
        residual(rod, stream, shift, still, still, work, unused)
        _, up = wake_drive(rod.paddle, work.paddle_motion)
        tip_point(rod, work, here)
        residual(rod, stream, other, still, still, work, unused)
        _, down = wake_drive(rod.paddle, work.paddle_motion)
        tip_point(rod, work, there)
        by_angle[j] = 0.5 * (up - down) / size
        for i in range(3):
            reach[i, j] = 0.5 * (here[i] - there[i]) / size
        size = rate_step / largest
        for k in range(n):
            for i in range(3):
                shift[k, i] = size * basis[3 * k + i, j]
                other[k, i] = -shift[k, i]
        residual(rod, stream, angle, shift, still, work, unused)
        _, up = wake_drive(rod.paddle, work.paddle_motion)
        residual(rod, stream, angle, other, still, work, unused)
        _, down = wake_drive(rod.paddle, work.paddle_motion)
        by_rate[j] = 0.5 * (up - down) / size
    return rate
