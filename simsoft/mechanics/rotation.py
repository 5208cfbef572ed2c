"""Compiled rotation algebra on 3-vectors, unit quaternions (scalar first) and matrices.

Exponential, logarithm and tangent of the rotation vector follow Geradin & Cardona 2001,
"Flexible Multibody Dynamics", chapter 4.
"""

from __future__ import annotations

import math

from simsoft.core.arrays import Array
from simsoft.core.compiled import lean_kernel

SMALL_ANGLE = 1.0e-4  # [rad]; below it the series are exact to machine precision


@lean_kernel()
def half_sine_over(angle: float) -> float:
    """Return sin(angle/2)/angle for an angle [rad], by series where it is small."""
    if angle < SMALL_ANGLE:
        return 0.5 - angle * angle / 48.0
    return math.sin(0.5 * angle) / angle


@lean_kernel()
def quaternion_from_vector(vector: Array, quaternion: Array) -> None:
    """Write the unit quaternion (4,) of a rotation vector (3,) [rad]."""
    angle = math.sqrt(vector[0] ** 2 + vector[1] ** 2 + vector[2] ** 2)
    factor = half_sine_over(angle)
    quaternion[0] = math.cos(0.5 * angle)
    for i in range(3):
        quaternion[1 + i] = factor * vector[i]


@lean_kernel()
def vector_from_quaternion(quaternion: Array, vector: Array) -> None:
    """Write the rotation vector (3,) [rad], angle at most pi, of a unit quaternion (4,)."""
    sine = math.sqrt(quaternion[1] ** 2 + quaternion[2] ** 2 + quaternion[3] ** 2)
    sign = 1.0 if quaternion[0] >= 0.0 else -1.0
    if sine < SMALL_ANGLE:
        factor = 2.0 + sine * sine / 3.0
    else:
        factor = 2.0 * math.atan2(sine, sign * quaternion[0]) / sine
    for i in range(3):
        vector[i] = sign * factor * quaternion[1 + i]


@lean_kernel()
def append_rotation(quaternion: Array, vector: Array, result: Array) -> None:
    """Write ``quaternion * exp(vector)`` (4,), normalised, into ``result``."""
    angle = math.sqrt(vector[0] ** 2 + vector[1] ** 2 + vector[2] ** 2)
    factor = half_sine_over(angle)
    c = math.cos(0.5 * angle)
    x = factor * vector[0]
    y = factor * vector[1]
    z = factor * vector[2]
    q0, q1, q2, q3 = quaternion[0], quaternion[1], quaternion[2], quaternion[3]
    r0 = q0 * c - q1 * x - q2 * y - q3 * z
    r1 = q0 * x + q1 * c + q2 * z - q3 * y
    r2 = q0 * y - q1 * z + q2 * c + q3 * x
    r3 = q0 * z + q1 * y - q2 * x + q3 * c
    scale = 1.0 / math.sqrt(r0 * r0 + r1 * r1 + r2 * r2 + r3 * r3)
    result[0] = r0 * scale
    result[1] = r1 * scale
    result[2] = r2 * scale
    result[3] = r3 * scale


@lean_kernel()
def matrix_from_quaternion(quaternion: Array, matrix: Array) -> None:
    """Write the rotation matrix (3, 3) that takes body components to parent components."""
    w, x, y, z = quaternion[0], quaternion[1], quaternion[2], quaternion[3]
    matrix[0, 0] = 1.0 - 2.0 * (y * y + z * z)
    matrix[0, 1] = 2.0 * (x * y - w * z)
    matrix[0, 2] = 2.0 * (x * z + w * y)
    matrix[1, 0] = 2.0 * (x * y + w * z)
    matrix[1, 1] = 1.0 - 2.0 * (x * x + z * z)
    matrix[1, 2] = 2.0 * (y * z - w * x)
    matrix[2, 0] = 2.0 * (x * z - w * y)
    matrix[2, 1] = 2.0 * (y * z + w * x)
    matrix[2, 2] = 1.0 - 2.0 * (x * x + y * y)


@lean_kernel()
def tangent_coefficient(angle: float) -> float:
    """Return c of the inverse right tangent I + [v]x/2 + c [v]x [v]x for |v| = angle [rad]."""
    if angle < 0.05:
        return 1.0 / 12.0 + angle * angle / 720.0
    half = 0.5 * angle
    return (1.0 - half * math.cos(half) / math.sin(half)) / (angle * angle)


@lean_kernel()
def tangent_of(angle: Array) -> float:
    """Return the ``tangent_coefficient`` of a rotation vector (3,) [rad]."""
    p0, p1, p2 = angle[0], angle[1], angle[2]
    return tangent_coefficient(math.sqrt(p0 * p0 + p1 * p1 + p2 * p2))


@lean_kernel()
def vector_rate(angle: Array, rate: Array, c: float) -> tuple[float, float, float]:
    """Return the rate [rad/s] of a rotation vector (3,) turning at ``rate`` in its own frame.

    The inverse right tangent, w + v x w/2 + c v x (v x w); ``c`` is the ``tangent_coefficient``.
    """
    p0, p1, p2 = angle[0], angle[1], angle[2]
    w0, w1, w2 = rate[0], rate[1], rate[2]
    x0 = p1 * w2 - p2 * w1
    x1 = p2 * w0 - p0 * w2
    x2 = p0 * w1 - p1 * w0
    return (
        w0 + 0.5 * x0 + c * (p1 * x2 - p2 * x1),
        w1 + 0.5 * x1 + c * (p2 * x0 - p0 * x2),
        w2 + 0.5 * x2 + c * (p0 * x1 - p1 * x0),
    )
