"""Compiled residual of the equations of motion and its derivatives.

The residual is the hinge moment missing for a given angle, rate and acceleration; its
derivatives are the tangent stiffness, damping and mass matrices in hinge coordinates. They
are taken by central differences of the exact residual, so that every load is in them and
none has to be linearised by hand; the step is chosen for rounding against truncation.
"""

from __future__ import annotations

import numpy as np

from simsoft.compiled import kernel
from simsoft.loads.paddle import turning_moment
from simsoft.solve.forces import Work, evaluate, held_load, make_work
from simsoft.structure.dynamics import hinge_load, wrench_to_parent
from simsoft.structure.elastic import hinge_tangent
from simsoft.structure.rod import Array, Rod, Stream
from simsoft.structure.rotation import (
    append_rotation,
    quaternion_from_vector,
    vector_from_quaternion,
)

ANGLE_STEP = 1.0e-5  # [rad]
JACOBIAN_STEP = 1.0e-7  # [rad]
RATE_STEP = 1.0e-4  # relative to stream speed over length


@kernel()
def residual(
    rod: Rod,
    stream: Stream,
    angle: Array,
    rate: Array,
    acceleration: Array,
    work: Work,
    result: Array,
) -> None:
    """Write the missing hinge moments (N, 3) [N m]; quasi-steady paddle, no wake state."""
    n = angle.shape[0]
    quaternion = np.zeros((n, 4))
    for k in range(n):
        quaternion_from_vector(angle[k], quaternion[k])
    evaluate(rod, stream, quaternion, angle, rate, 0.0, False, work)
    links = np.zeros((n, 6))
    hinge_load(rod, work.relative, work.bias, work.drifts, work.moment, acceleration, result, links)


@kernel()
def static_residual(rod: Rod, stream: Stream, angle: Array) -> Array:
    """Return the missing hinge moments (N, 3) [N m] at rest."""
    still = np.zeros_like(angle)
    result = np.zeros_like(angle)
    residual(rod, stream, angle, still, still, make_work(angle.shape[0]), result)
    return result


@kernel()
def clamp_load(rod: Rod, stream: Stream, angle: Array) -> Array:
    """Return force [N] and moment [N m] (6,) of a part at rest on its clamp, world axes."""
    n = angle.shape[0]
    work = make_work(n)
    still = np.zeros((n, 3))
    residual(rod, stream, angle, still, still, work, np.zeros((n, 3)))
    wrench = np.zeros(6)
    wrench_to_parent(work.relative[0], 0.5 * rod.length[0], work.bias[0], wrench)
    held = held_load(rod, stream)
    result = np.zeros(6)
    for i in range(3):
        for j in range(3):
            result[i] -= rod.frame[i, j] * wrench[3 + j]
            result[3 + i] -= rod.frame[i, j] * wrench[j]
        result[i] += held[i]
    return result


@kernel()
def turn_all(angle: Array, increment: Array) -> None:
    """Replace increments (N, 3) [rad] by the rotation vectors of ``angle`` turned by them."""
    base = np.zeros(4)
    turned = np.zeros(4)
    for k in range(angle.shape[0]):
        quaternion_from_vector(angle[k], base)
        append_rotation(base, increment[k], turned)
        vector_from_quaternion(turned, increment[k])


@kernel()
def elastic_tangent(rod: Rod, angle: Array, basis: Array) -> Array:
    """Return the part (m, m) of the tangent stiffness that grows with the hinge stiffness."""
    n = angle.shape[0]
    m = basis.shape[1]
    hinge = np.zeros((3, 3))
    result = np.zeros((m, m))
    for k in range(n):
        hinge_tangent(rod, k, angle[k], 1.0, hinge)
        for row in range(m):
            for j in range(3):
                force = 0.0
                for i in range(3):
                    force += basis[3 * k + i, row] * hinge[i, j]
                for column in range(m):
                    result[row, column] += force * basis[3 * k + j, column]
    return result


@kernel()
def steady_turning(rod: Rod, stream: Stream, angle: Array) -> Array:
    """Return the paddle's turning moment (2,) [N m] about its kick and upright axis at rest."""
    n = angle.shape[0]
    work = make_work(n)
    still = np.zeros((n, 3))
    residual(rod, stream, angle, still, still, work, np.zeros((n, 3)))
    about_kick, about_upright = turning_moment(rod.paddle, work.paddle_motion)
    return np.array([about_kick, about_upright])


@kernel()
def tangents(rod: Rod, stream: Stream, angle: Array, basis: Array) -> tuple[Array, Array, Array]:
    """Return mass, damping and stiffness matrices (m, m) about a rest shape in a basis.

    Parameters
    ----------
    angle : array (N, 3) [rad], rest shape
    basis : array (3 N, m) of hinge-angle shapes

    Returns
    -------
    mass, damping, stiffness : arrays (m, m); ``basis.T @ residual`` to first order. The
        coordinates are right increments of the hinge rotations, whose rates are the hinge
        rates: a change of the rotation vector would not be, once hinges are bent.
    """
    n = angle.shape[0]
    m = basis.shape[1]
    work = make_work(n)
    still = np.zeros((n, 3))
    plus = np.zeros((n, 3))
    minus = np.zeros((n, 3))
    shift = np.zeros((n, 3))
    other = np.zeros((n, 3))
    mass = np.zeros((m, m))
    damping = np.zeros((m, m))
    stiffness = np.zeros((m, m))
    length = rod.length.sum()
    speed = np.sqrt((stream.velocity**2).sum())
    rate_step = RATE_STEP * max(speed, 1.0e-3) / length
    for j in range(m):
        largest = 0.0
        for k in range(n):
            for i in range(3):
                largest = max(largest, abs(basis[3 * k + i, j]))
        for kind in range(3):
            size = (1.0 if kind == 0 else rate_step if kind == 1 else ANGLE_STEP) / largest
            for k in range(n):
                for i in range(3):
                    shift[k, i] = size * basis[3 * k + i, j]
                    other[k, i] = -shift[k, i]
            if kind == 2:
                turn_all(angle, shift)
                turn_all(angle, other)
            if kind == 0:
                residual(rod, stream, angle, still, shift, work, plus)
                residual(rod, stream, angle, still, other, work, minus)
            elif kind == 1:
                residual(rod, stream, angle, shift, still, work, plus)
                residual(rod, stream, angle, other, still, work, minus)
            else:
                residual(rod, stream, shift, still, still, work, plus)
                residual(rod, stream, other, still, still, work, minus)
            for row in range(m):
                total = 0.0
                for k in range(n):
                    for i in range(3):
                        total += basis[3 * k + i, row] * (plus[k, i] - minus[k, i])
                value = 0.5 * total / size
                if kind == 0:
                    mass[row, j] = value
                elif kind == 1:
                    damping[row, j] = value
                else:
                    stiffness[row, j] = value
    return mass, damping, stiffness


@kernel()
def static_jacobian(rod: Rod, stream: Stream, angle: Array) -> Array:
    """Return d(static residual)/d(angle), array (3 N, 3 N) [N m/rad], forward differences.

    The matrix steers Newton's method and tells the sign of a determinant; the residual
    itself decides convergence, so first-order differences serve.
    """
    n = angle.shape[0]
    work = make_work(n)
    still = np.zeros((n, 3))
    trial = angle.copy()
    base = np.zeros((n, 3))
    shifted = np.zeros((n, 3))
    jacobian = np.zeros((3 * n, 3 * n))
    residual(rod, stream, angle, still, still, work, base)
    for k in range(n):
        for i in range(3):
            trial[k, i] = angle[k, i] + JACOBIAN_STEP
            residual(rod, stream, trial, still, still, work, shifted)
            trial[k, i] = angle[k, i]
            for row in range(n):
                for axis in range(3):
                    change = shifted[row, axis] - base[row, axis]
                    jacobian[3 * row + axis, 3 * k + i] = change / JACOBIAN_STEP
    return jacobian
