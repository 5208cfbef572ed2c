"""Compiled residual of the equations of motion and its derivatives.

The residual is the hinge moment missing for a given angle, rate and acceleration; its
derivatives are the tangent stiffness, damping and mass matrices in hinge coordinates. They
are put together from the slopes of what acts on single links (``slopes``), so that every load
is in them and none has to be linearised by hand.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from simsoft.bodies.rod.forces import Work, evaluate, held_load, make_work
from simsoft.bodies.rod.projection import projected
from simsoft.bodies.rod.slopes import (
    Slopes,
    copy_place,
    copy_rows,
    hinge_slopes,
    slopes_by_rate,
    slopes_by_turn,
)
from simsoft.bodies.rod.stiffness import stiffness_matrix
from simsoft.core.arrays import Array
from simsoft.core.compiled import kernel, lean_kernel
from simsoft.hydrodynamics.paddle import turning_moment
from simsoft.hydrodynamics.rim import RIM_SPIN, no_rim, rim_rate
from simsoft.mechanics.dynamics import hinge_load, wrench_to_parent
from simsoft.mechanics.elastic import hinge_tangent
from simsoft.mechanics.rod import Paddle, Rod, Stream
from simsoft.mechanics.rotation import (
    append_rotation,
    quaternion_from_vector,
    tangent_of,
    vector_from_quaternion,
)

WAKE_STEP = 1.0e-4  # state of the wake by which its push is found: far below where it levels off


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
    """Write the missing hinge moments (N, 3) [N m], the paddle's wake at rest."""
    residual_in_wake(rod, stream, angle, rate, acceleration, no_rim(), work, result)


@kernel()
def residual_in_wake(
    rod: Rod,
    stream: Stream,
    angle: Array,
    rate: Array,
    acceleration: Array,
    wake: Array,
    work: Work,
    result: Array,
) -> None:
    """Write the missing hinge moments (N, 3) [N m]; ``wake`` (3,) as the paddle's load sees it."""
    n = angle.shape[0]
    quaternion = np.zeros((n, 4))
    for k in range(n):
        quaternion_from_vector(angle[k], quaternion[k])
    evaluate(rod, stream, quaternion, angle, rate, wake, work)
    links = np.zeros((n, 6))
    hinge_load(rod, work.relative, work.bias, work.drifts, work.moment, acceleration, result, links)


@kernel()
def turned_by(angle: Array, increment: Array) -> Array:
    """Return rotation vectors (N, 3) [rad] turned on by small right increments (N, 3)."""
    result = np.zeros_like(angle)
    base, turned = np.zeros(4), np.zeros(4)
    for k in range(angle.shape[0]):
        quaternion_from_vector(angle[k], base)
        append_rotation(base, increment[k], turned)
        vector_from_quaternion(turned, result[k])
    return result


class AtRest(NamedTuple):
    """What acts on a part at rest.

    Attributes
    ----------
    missing : array (N, 3) [N m], hinge moments that balance lacks
    load : array (6,), force [N] and moment [N m] of the part on its clamp, world axes
    turning : array (2,) [N m], the paddle's turning moment about its kick and upright axis
    """

    missing: Array
    load: Array
    turning: Array


@kernel()
def at_rest(rod: Rod, stream: Stream, angle: Array) -> AtRest:
    """Return what acts on a part at rest in a shape (N, 3) [rad].

    All of it in one: what compiles is the evaluation of the loads, and it would be done for each.
    """
    n = angle.shape[0]
    work, still = make_work(n), np.zeros((n, 3))
    found = AtRest(np.zeros((n, 3)), np.zeros(6), np.zeros(2))
    residual(rod, stream, angle, still, still, work, found.missing)
    wrench, held = np.zeros(6), held_load(rod, stream)
    wrench_to_parent(work.relative[0], 0.5 * rod.length[0], work.bias[0], wrench)
    for i in range(3):
        for j in range(3):
            found.load[i] -= rod.frame[i, j] * wrench[3 + j]
            found.load[3 + i] -= rod.frame[i, j] * wrench[j]
        found.load[i] += held[i]
    if rod.paddle.area > 0.0:
        found.turning[0], found.turning[1] = turning_moment(rod.paddle, work.paddle_motion)
    return found


@kernel()
def elastic_tangent(rod: Rod, angle: Array, basis: Array) -> Array:
    """Return the part (m, m) of the tangent stiffness that grows with the hinge stiffness."""
    n = angle.shape[0]
    m = basis.shape[1]
    hinge = np.zeros((3, 3))
    result = np.zeros((m, m))
    for k in range(n):
        hinge_tangent(rod, k, angle[k], tangent_of(angle[k]), 1.0, hinge)
        for row in range(m):
            for j in range(3):
                force = 0.0
                for i in range(3):
                    force += basis[3 * k + i, row] * hinge[i, j]
                for column in range(m):
                    result[row, column] += force * basis[3 * k + j, column]
    return result


@kernel()
def slopes_at(rod: Rod, stream: Stream, angle: Array, rest: Work, moving: bool) -> Slopes:
    """Return all slopes about a rest shape (N, 3) [rad] and fill ``rest`` with its kinematics.

    Those with rates and accelerations are left zero unless ``moving``.
    """
    n = angle.shape[0]
    still = np.zeros((n, 3))
    residual(rod, stream, angle, still, still, rest, np.zeros((n, 3)))
    slopes = Slopes(
        np.zeros((n, 6, 6)),
        np.zeros((n, 6, 6)),
        np.zeros((n, 6, 6)),
        np.zeros((n, 6, 3)),
        np.zeros((n, 6, 6)),
        np.zeros((n, 3, 3)),
        np.zeros((n, 3, 3)),
        np.zeros((n, 6)),
    )
    for k in range(n):
        for i in range(6):
            slopes.carried[k, i] = rest.bias[k, i]
            for j in range(6):
                slopes.inertia[k, i, j] = rod.structure[k, i, j] + rod.fluid[k, i, j]
    work = make_work(n)
    copy_place(work, rest)
    copy_rows(work.curvature, rest.curvature)
    copy_rows(work.slope, rest.slope)
    hinge_slopes(rod, angle, slopes.hinge_turn, slopes.hinge_rate)
    slopes_by_turn(rod, stream, rest, work, slopes)
    if moving:
        slopes_by_rate(rod, stream, rest, work, slopes)
    return slopes


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
    rest = make_work(angle.shape[0])
    slopes = slopes_at(rod, stream, angle, rest, True)
    return projected(rod, rest.relative, angle, slopes, basis)


@kernel()
def wake_coupling(
    rod: Rod, stream: Stream, angle: Array, basis: Array
) -> tuple[Array, Array, Array]:
    """Return how a paddle's wake and small motions of a basis (3 N, m) drive each other.

    Returns
    -------
    at_rest : array (6,), motion of the paddle through the water in the rest shape
    driven : array (6, m), motion of the paddle, see ``paddle_motion``, per rate of the basis
    pushed : array (m, 2) [N m], residual per state of the wake
    """
    n, m = angle.shape[0], basis.shape[1]
    work = make_work(n)
    still, missing = np.zeros((n, 3)), np.zeros((n, 3))
    residual(rod, stream, angle, still, still, work, missing)
    kept, at_rest = missing.copy(), work.paddle_motion.copy()
    driven, pushed = np.zeros((6, m)), np.zeros((m, 2))
    rate = np.zeros((n, 3))
    for column in range(m):
        for k in range(n):
            for i in range(3):
                rate[k, i] = basis[3 * k + i, column]
        residual(rod, stream, angle, rate, still, work, missing)
        for i in range(6):
            driven[i, column] = work.paddle_motion[i] - at_rest[i]
    for state in range(2):
        wake = no_rim()
        wake[state] = WAKE_STEP
        residual_in_wake(rod, stream, angle, still, still, wake, work, missing)
        for k in range(n):
            for i in range(3):
                push = (missing[k, i] - kept[k, i]) / WAKE_STEP
                for column in range(m):
                    pushed[column, state] += basis[3 * k + i, column] * push
    return at_rest, driven, pushed


@kernel()
def padded(matrix: Array, size: int) -> Array:
    """Return a matrix (m, m) in the corner of zeros (size, size)."""
    result = np.zeros((size, size))
    for i in range(matrix.shape[0]):
        for j in range(matrix.shape[1]):
            result[i, j] = matrix[i, j]
    return result


@lean_kernel()
def fill_wake(
    paddle: Paddle, motion: Array, driven: Array, pushed: Array, mass: Array, damping: Array,
    stiffness: Array,
) -> None:  # fmt: skip
    """Write the last two rows and columns of matrices (m + 2, m + 2) with the wake in them."""
    m = driven.shape[1]
    rate = rim_rate(paddle, motion)
    across = RIM_SPIN * motion[2]
    for k in range(m):
        mass[m, k] = -driven[0, k] / paddle.width
        mass[m + 1, k] = -driven[1, k] / paddle.width
        damping[m, k] = -across * driven[4, k] / paddle.width
        damping[m + 1, k] = across * driven[3, k] / paddle.width
        stiffness[k, m] = pushed[k, 0]
        stiffness[k, m + 1] = pushed[k, 1]
    for i in range(m, m + 2):
        mass[i, i] = 1.0
        damping[i, i] = 2.0 * paddle.rim_damping * rate
        stiffness[i, i] = rate * rate


@kernel()
def with_wake(
    paddle: Paddle, motion: Array, driven: Array, pushed: Array, mass: Array, damping: Array,
    stiffness: Array,
) -> tuple[Array, Array, Array]:  # fmt: skip
    """Return the matrices (m + 2, m + 2) of small motions and of the wake that goes with them.

    The wake's two states follow the plate's acceleration (``hydrodynamics/rim.py``). ``motion``
    (6,), ``driven`` and ``pushed`` are those of ``wake_coupling``.
    """
    size = mass.shape[0] + 2
    wide, slowed, stiff = padded(mass, size), padded(damping, size), padded(stiffness, size)
    fill_wake(paddle, motion, driven, pushed, wide, slowed, stiff)
    return wide, slowed, stiff


@kernel()
def tangents_in_wake(
    rod: Rod, stream: Stream, angle: Array, basis: Array
) -> tuple[Array, Array, Array]:
    """Return ``tangents`` with the wake of a paddle that drags one, (m + 2, m + 2), else as is."""
    mass, damping, stiffness = tangents(rod, stream, angle, basis)
    if rod.paddle.rim_force <= 0.0:
        return mass, damping, stiffness
    motion, driven, pushed = wake_coupling(rod, stream, angle, basis)
    return with_wake(rod.paddle, motion, driven, pushed, mass, damping, stiffness)


@kernel()
def static_jacobian(rod: Rod, stream: Stream, angle: Array) -> Array:
    """Return the change of the static residual with hinge turns, array (3 N, 3 N) [N m/rad].

    The coordinates are right increments of the hinge rotations, see ``tangents``.
    """
    rest = make_work(angle.shape[0])
    slopes = slopes_at(rod, stream, angle, rest, False)
    return stiffness_matrix(rod, rest.relative, angle, slopes)


@kernel()
def linearised(rod: Rod, stream: Stream, angle: Array, basis: Array) -> tuple[Array, Array, Array]:
    """Return ``tangents_in_wake``, or of a basis without shapes (3 N, 0) the ``static_jacobian``.

    That stands for the stiffness then. Python calls both, and both are made of the same slopes:
    what compiles is these.
    """
    if basis.shape[1] == 0:
        return basis, basis, static_jacobian(rod, stream, angle)
    return tangents_in_wake(rod, stream, angle, basis)


def whole_stiffness(rod: Rod, stream: Stream, angle: Array) -> Array:
    """Return the ``static_jacobian``, array (3 N, 3 N) [N m/rad]."""
    _, _, stiffness = linearised(rod, stream, angle, np.zeros((angle.size, 0)))
    return stiffness
