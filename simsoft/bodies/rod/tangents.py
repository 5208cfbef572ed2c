"""Compiled residual of the equations of motion and its derivatives.

The residual is the hinge moment missing for a given angle, rate and acceleration; its
derivatives are the tangent stiffness, damping and mass matrices in hinge coordinates. They
are put together from the slopes of what acts on single links (``slopes``), so that every load
is in them and none has to be linearised by hand.
"""

from __future__ import annotations

import numpy as np

from simsoft.bodies.rod.forces import Work, evaluate, held_load, make_work
from simsoft.bodies.rod.projection import projected
from simsoft.bodies.rod.slopes import Slopes, hinge_slopes, slopes_by_rate, slopes_by_turn
from simsoft.bodies.rod.stiffness import stiffness_matrix
from simsoft.core.arrays import Array
from simsoft.core.compiled import kernel
from simsoft.hydrodynamics.paddle import turning_moment
from simsoft.hydrodynamics.rim import RIM_SPIN, no_rim, rim_arm, rim_rate
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
def static_residual(rod: Rod, stream: Stream, angle: Array) -> Array:
    """Return the missing hinge moments (N, 3) [N m] at rest."""
    still = np.zeros_like(angle)
    result = np.zeros_like(angle)
    residual(rod, stream, angle, still, still, make_work(angle.shape[0]), result)
    return result


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
def steady_turning(rod: Rod, stream: Stream, angle: Array) -> Array:
    """Return the paddle's turning moment (2,) [N m] about its kick and upright axis at rest."""
    n = angle.shape[0]
    work = make_work(n)
    still = np.zeros((n, 3))
    residual(rod, stream, angle, still, still, work, np.zeros((n, 3)))
    about_kick, about_upright = turning_moment(rod.paddle, work.paddle_motion)
    return np.array([about_kick, about_upright])


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
        rod.structure + rod.fluid,
        np.zeros((n, 3, 3)),
        np.zeros((n, 3, 3)),
        rest.bias.copy(),
    )
    work = make_work(n)
    work.frame[:] = rest.frame
    work.node[:] = rest.node
    work.glide[:] = rest.glide
    work.curvature[:] = rest.curvature
    work.slope[:] = rest.slope
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
    for column in range(m):
        rate = np.ascontiguousarray(basis[:, column]).reshape(n, 3)
        residual(rod, stream, angle, rate, still, work, missing)
        driven[:, column] = work.paddle_motion - at_rest
    for i in range(2):
        wake = no_rim()
        wake[i] = WAKE_STEP
        residual_in_wake(rod, stream, angle, still, still, wake, work, missing)
        pushed[:, i] = basis.T @ ((missing - kept) / WAKE_STEP).ravel()
    return at_rest, driven, pushed


@kernel()
def with_wake(
    paddle: Paddle, motion: Array, driven: Array, pushed: Array, mass: Array, damping: Array,
    stiffness: Array,
) -> tuple[Array, Array, Array]:  # fmt: skip
    """Return the matrices (m + 2, m + 2) of small motions and of the wake that goes with them.

    The wake's two states follow the plate's acceleration (``hydrodynamics/rim.py``). ``motion``
    (6,), ``driven`` and ``pushed`` are those of ``wake_coupling``.
    """
    m = mass.shape[0]
    rate, arm = rim_rate(paddle, motion), rim_arm(paddle, motion)
    across = RIM_SPIN * motion[2]
    whole = np.zeros((3, m + 2, m + 2))
    whole[0, :m, :m], whole[1, :m, :m], whole[2, :m, :m] = mass, damping, stiffness
    whole[0, m, :m] = -(driven[0] + arm * driven[4]) / paddle.width
    whole[0, m + 1, :m] = -(driven[1] - arm * driven[3]) / paddle.width
    whole[1, m, :m] = -across * driven[4] / paddle.width
    whole[1, m + 1, :m] = across * driven[3] / paddle.width
    whole[2, :m, m:] = pushed
    for i in range(2):
        whole[0, m + i, m + i] = 1.0
        whole[1, m + i, m + i] = 2.0 * paddle.rim_damping * rate
        whole[2, m + i, m + i] = rate * rate
    return whole[0].copy(), whole[1].copy(), whole[2].copy()


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
def padded(matrix: Array, size: int) -> Array:
    """Return a matrix (m, m) in the corner of zeros (size, size)."""
    result = np.zeros((size, size))
    result[: matrix.shape[0], : matrix.shape[1]] = matrix
    return result


@kernel()
def static_jacobian(rod: Rod, stream: Stream, angle: Array) -> Array:
    """Return the change of the static residual with hinge turns, array (3 N, 3 N) [N m/rad].

    The coordinates are right increments of the hinge rotations, see ``tangents``.
    """
    rest = make_work(angle.shape[0])
    slopes = slopes_at(rod, stream, angle, rest, False)
    return stiffness_matrix(rod, rest.relative, angle, slopes)
