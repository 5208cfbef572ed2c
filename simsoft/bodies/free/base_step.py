"""The base of a free lure in one time step, and the line at its eye."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from simsoft.bodies.free.work import TreeWork
from simsoft.bodies.rod.scheme import Scheme
from simsoft.core.arrays import Array
from simsoft.core.compiled import kernel, lean_kernel
from simsoft.mechanics.rotation import append_rotation, matrix_from_quaternion

FREE, HELD, ONE_SIDED = 0, 1, 2  # what the line does to the eye


class Line(NamedTuple):
    """The line at the eye.

    Attributes
    ----------
    mode : int, ``FREE``, ``HELD`` or ``ONE_SIDED``
    pull : array (3,) [N], steady pull in world axes
    friction : float [kg/m], of the line that follows the eye, force per squared speed
    length : float [m], unstretched, from the lead's point to the eye
    stiffness : float [N/m], damping : float [N s/m], of the stretched line
    """

    mode: int
    pull: Array
    friction: float
    length: float
    stiffness: float
    damping: float


@kernel()
def moved_base(
    turn: Array, position: Array, increment: Array, new_turn: Array, new_position: Array
) -> None:
    """Write a pose moved by ``increment`` (6,) [rad, m] in its own axes (exponential map)."""
    frame = np.zeros((3, 3))
    matrix_from_quaternion(turn, frame)
    p0, p1, p2 = increment[0], increment[1], increment[2]
    r0, r1, r2 = increment[3], increment[4], increment[5]
    square = p0 * p0 + p1 * p1 + p2 * p2
    first = 0.5 - square / 24.0
    second = 1.0 / 6.0 - square / 120.0
    x0, x1, x2 = p1 * r2 - p2 * r1, p2 * r0 - p0 * r2, p0 * r1 - p1 * r0
    s0 = r0 + first * x0 + second * (p1 * x2 - p2 * x1)
    s1 = r1 + first * x1 + second * (p2 * x0 - p0 * x2)
    s2 = r2 + first * x2 + second * (p0 * x1 - p1 * x0)
    for i in range(3):
        new_position[i] = position[i] + frame[i, 0] * s0 + frame[i, 1] * s1 + frame[i, 2] * s2
    append_rotation(turn, increment, new_turn)


@lean_kernel()
def predict_base(scheme: Scheme, motion: Array, increment: Array, twist: Array) -> None:
    """Write the increment (6,) and twist (6,) of the base at the end of a step."""
    step = scheme.step
    for i in range(6):
        guess = (motion[2, i] - scheme.alpha_m * motion[1, i]) / (1.0 - scheme.alpha_m)
        increment[i] = step * motion[0, i] + step * step * (
            (0.5 - scheme.beta) * motion[1, i] + scheme.beta * guess
        )
        twist[i] = motion[0, i] + step * (
            (1.0 - scheme.gamma) * motion[1, i] + scheme.gamma * guess
        )


@lean_kernel()
def correct_base(
    scheme: Scheme, acceleration: Array, increment: Array, twist: Array, motion: Array
) -> None:
    """Take the new acceleration (6,) into increment, twist and motion of the base."""
    for i in range(6):
        change = acceleration[i] - motion[2, i]
        guess = (motion[2, i] - scheme.alpha_m * motion[1, i]) / (1.0 - scheme.alpha_m)
        motion[1, i] = guess + scheme.share * change
        motion[2, i] = acceleration[i]
        motion[0, i] = twist[i] + scheme.rate_gain * change
        increment[i] += scheme.angle_gain * change


@kernel()
def line_load(
    line: Line, lead: Array, frame: Array, position: Array, twist: Array, pull: Array, gain: Array
) -> float:
    """Write the line's force on the eye (3,) [N], world axes; return its stretch stiffness share.

    ``lead`` (3, 3) holds place, velocity and acceleration of the line's other end. ``gain``
    (3,) becomes the unit vector along a stretched line, zero for a slack one.
    """
    velocity = np.zeros(3)
    speed = 0.0
    for i in range(3):
        velocity[i] = frame[i, 0] * twist[3] + frame[i, 1] * twist[4] + frame[i, 2] * twist[5]
        speed += velocity[i] ** 2
    speed = math.sqrt(speed)
    for i in range(3):
        pull[i] = line.pull[i] - line.friction * speed * velocity[i]
        gain[i] = 0.0
    if line.mode != ONE_SIDED:
        return speed
    distance = 0.0
    for i in range(3):
        gain[i] = lead[0, i] - position[i]
        distance += gain[i] ** 2
    distance = math.sqrt(distance)
    opening = 0.0
    for i in range(3):
        gain[i] /= distance
        opening += gain[i] * (lead[1, i] - velocity[i])
    tension = line.stiffness * (distance - line.length) + line.damping * opening
    if distance <= line.length or tension <= 0.0:
        for i in range(3):
            gain[i] = 0.0
        return speed
    for i in range(3):
        pull[i] += tension * gain[i]
    return speed


@kernel()
def add_implicit_base(
    line: Line,
    scheme: Scheme,
    frame: Array,
    old: Array,
    speed: float,
    gain: Array,
    work: TreeWork,
) -> None:
    """Add the implicit drag of the base and of its line to ``work.total`` and ``work.whole``."""
    for i in range(6):
        for j in range(6):
            share = scheme.rate_gain * work.slope[i, j]
            work.total[i, j] += share
            work.whole[i] -= share * old[j]
    stiff = scheme.rate_gain * line.damping + scheme.angle_gain * line.stiffness
    rub = 2.0 * scheme.rate_gain * line.friction * speed
    along = np.zeros(3)
    for i in range(3):
        along[i] = frame[0, i] * gain[0] + frame[1, i] * gain[1] + frame[2, i] * gain[2]
    for i in range(3):
        for j in range(3):
            share = stiff * along[i] * along[j] + (rub if i == j else 0.0)
            work.total[3 + i, 3 + j] += share
            work.whole[3 + i] -= share * old[3 + j]


@lean_kernel()
def hold_to_path(lead: Array, frame: Array, turning: Array, twist: Array) -> None:
    """Write the linear part of ``twist`` (6,) for an eye on its path; ``turning`` (3,) [rad/s]."""
    for i in range(3):
        twist[i] = turning[i]
        twist[3 + i] = (
            frame[0, i] * lead[1, 0] + frame[1, i] * lead[1, 1] + frame[2, i] * lead[1, 2]
        )


@lean_kernel()
def path_acceleration(lead: Array, frame: Array, twist: Array, acceleration: Array) -> None:
    """Write the last three of ``acceleration`` (6,): rate of the eye's velocity in base axes."""
    for i in range(3):
        j, k = (i + 1) % 3, (i + 2) % 3
        acceleration[3 + i] = (
            frame[0, i] * lead[2, 0]
            + frame[1, i] * lead[2, 1]
            + frame[2, i] * lead[2, 2]
            - (twist[j] * twist[3 + k] - twist[k] * twist[3 + j])
        )
