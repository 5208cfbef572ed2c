"""Slopes of what acts on one link or hinge.

What acts on a link depends on the motion of that link and on the curvature at its node alone, so
its slopes are 6 by 6 matrices, one set a link, taken by central differences of the exact loads.
``projection_kernel`` and ``stiffness_kernel`` put them together along the chain, where differences
of whole residuals would cost two evaluations of everything a column. Steps are short against
the speed of the stream: drag goes with |V| V, and a long step would add a friction of its own.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from simsoft.bodies.rod.forces import Work, weigh_links
from simsoft.core.arrays import Array
from simsoft.core.compiled import kernel, lean_kernel
from simsoft.hydrodynamics.rim import no_rim
from simsoft.mechanics.elastic import hinge_bending, hinge_moment
from simsoft.mechanics.rod import Rod, Stream
from simsoft.mechanics.rotation import (
    append_rotation,
    quaternion_from_vector,
    vector_from_quaternion,
)

TURN_STEP = 1.0e-7  # [rad]
HINGE_STEP = 1.0e-6  # [rad]
SHORT = 1.0e-7  # of stream speed, of length, of speed over length
LEAST_SPEED = 1.0e-3  # [m/s] that steps are taken of in still water


class Slopes(NamedTuple):
    """Slopes of the load about each link's hinge, torque first, link axes.

    Attributes
    ----------
    by_turn : array (N, 6, 6), with the link's rotation [rad] and its hinge's displacement [m]
    by_bend : array (N, 6, 6), with curvature [rad/m] and slope of curvature [rad/m^2]
    by_rate : array (N, 6, 6), with the link's spin [rad/s] and its hinge's velocity [m/s]
    by_bend_rate : array (N, 6, 3), with the curvature's rate [rad/(m s)]
    inertia : array (N, 6, 6), with the link's acceleration
    hinge_turn, hinge_rate : array (N, 3, 3), of the hinge's own moment, with turn and rate
    carried : array (N, 6), load of everything outboard about the hinge
    """

    by_turn: Array
    by_bend: Array
    by_rate: Array
    by_bend_rate: Array
    inertia: Array
    hinge_turn: Array
    hinge_rate: Array
    carried: Array


@lean_kernel()
def copy_rows(target: Array, source: Array) -> None:
    """Copy an array (N, M): a loop is a tenth of the code that the compiler makes of a slice."""
    for k in range(source.shape[0]):
        for i in range(source.shape[1]):
            target[k, i] = source[k, i]


@lean_kernel()
def copy_place(work: Work, rest: Work) -> None:
    """Put every link where it is in the rest shape, with the motion it has there."""
    for k in range(rest.node.shape[0]):
        for i in range(3):
            work.node[k, i] = rest.node[k, i]
            work.glide[k, i] = rest.glide[k, i]
            for j in range(3):
                work.frame[k, i, j] = rest.frame[k, i, j]


@kernel()
def hinge_slopes(rod: Rod, angle: Array, by_turn: Array, by_rate: Array) -> None:
    """Write the slopes (N, 3, 3) of the hinge moments with a turn and with its rate."""
    n = angle.shape[0]
    still = np.zeros((n, 3))
    plus, minus = np.zeros((n, 3)), np.zeros((n, 3))
    ahead, behind = np.zeros((n, 3)), np.zeros((n, 3))
    unit = np.zeros((n, 3))
    base, turned = np.zeros(4), np.zeros(4)
    step = np.zeros(3)
    bending = np.zeros((n, 4))
    hinge_bending(angle, still, bending)
    hinge_moment(rod, angle, bending, behind)
    for i in range(3):
        for k in range(n):
            for j in range(3):
                unit[k, j] = 1.0 if j == i else 0.0
        hinge_bending(angle, unit, bending)
        hinge_moment(rod, angle, bending, ahead)
        for k in range(n):
            for j in range(3):
                by_rate[k, j, i] = ahead[k, j] - behind[k, j]
    for i in range(3):
        for k in range(n):
            quaternion_from_vector(angle[k], base)
            step[0] = step[1] = step[2] = 0.0
            step[i] = HINGE_STEP
            append_rotation(base, step, turned)
            vector_from_quaternion(turned, plus[k])
            step[i] = -HINGE_STEP
            append_rotation(base, step, turned)
            vector_from_quaternion(turned, minus[k])
        hinge_bending(plus, still, bending)
        hinge_moment(rod, plus, bending, ahead)
        hinge_bending(minus, still, bending)
        hinge_moment(rod, minus, bending, behind)
        for k in range(n):
            for j in range(3):
                by_turn[k, j, i] = 0.5 * (ahead[k, j] - behind[k, j]) / HINGE_STEP


@lean_kernel()
def shift_turn(rod: Rod, rest: Work, axis: int, step: float, work: Work) -> None:
    """Turn every link about its own hinge, or move its hinge, by a step along one of its axes."""
    for k in range(rod.length.shape[0]):
        reach = 0.5 * rod.length[k]
        for i in range(3):
            work.glide[k, i] = rest.glide[k, i]
            for j in range(3):
                work.frame[k, i, j] = rest.frame[k, i, j]
        if axis < 3:
            b, c = (axis + 1) % 3, (axis + 2) % 3
            work.glide[k, b] += step * rest.glide[k, c]
            work.glide[k, c] -= step * rest.glide[k, b]
            for i in range(3):
                work.frame[k, i, b] += step * rest.frame[k, i, c]
                work.frame[k, i, c] -= step * rest.frame[k, i, b]
        for i in range(3):
            moved = reach * (work.frame[k, i, 2] - rest.frame[k, i, 2])
            if axis >= 3:
                moved += step * rest.frame[k, i, axis - 3]
            work.node[k, i] = rest.node[k, i] + moved


@lean_kernel()
def shift_row(values: Array, rest: Array, axis: int, step: float) -> None:
    """Set rows (N, 3) to those of ``rest`` with a step along one axis."""
    for k in range(rest.shape[0]):
        for i in range(3):
            values[k, i] = rest[k, i]
        values[k, axis] += step


@lean_kernel()
def difference(work: Work, kept: Array, step: float, column: int, slopes: Array) -> None:
    """Write one column of slopes from the loads in ``work`` and those before in ``kept``."""
    for k in range(kept.shape[0]):
        for i in range(6):
            slopes[k, i, column] = 0.5 * (work.bias[k, i] - kept[k, i]) / step


@kernel()
def slopes_by_turn(rod: Rod, stream: Stream, rest: Work, work: Work, slopes: Slopes) -> None:
    """Fill the slopes with turn, displacement, curvature and its slope."""
    n = rod.length.shape[0]
    length = rod.length.sum()
    kept, still = np.zeros((n, 6)), no_rim()
    for axis in range(6):
        if axis >= 3 and stream.shear == 0.0:
            break  # the same water everywhere
        step = TURN_STEP if axis < 3 else SHORT * length
        shift_turn(rod, rest, axis, -step, work)
        weigh_links(rod, stream, still, work)
        copy_rows(kept, work.bias)
        shift_turn(rod, rest, axis, step, work)
        weigh_links(rod, stream, still, work)
        difference(work, kept, step, axis, slopes.by_turn)
    copy_place(work, rest)
    if rod.reactive == 0.0:
        return  # nothing else feels the curvature
    for axis in range(6):
        values, base = work.curvature, rest.curvature
        step = SHORT / length
        if axis >= 3:
            values, base = work.slope, rest.slope
            step = SHORT / length**2
        shift_row(values, base, axis % 3, -step)
        weigh_links(rod, stream, still, work)
        copy_rows(kept, work.bias)
        shift_row(values, base, axis % 3, step)
        weigh_links(rod, stream, still, work)
        difference(work, kept, step, axis, slopes.by_bend)
        copy_rows(values, base)


@kernel()
def slopes_by_rate(rod: Rod, stream: Stream, rest: Work, work: Work, slopes: Slopes) -> None:
    """Fill the slopes with spin, velocity and rate of curvature."""
    n = rod.length.shape[0]
    length = rod.length.sum()
    speed = max(np.sqrt((stream.velocity**2).sum()), LEAST_SPEED)
    kept, still = np.zeros((n, 6)), no_rim()
    for axis in range(9):
        if axis < 3:
            values, base = work.spin, rest.spin
            step = SHORT * speed / length
        elif axis < 6:
            values, base = work.glide, rest.glide
            step = SHORT * speed
        elif rod.reactive > 0.0:
            values, base = work.curvature_rate, rest.curvature_rate
            step = SHORT * speed / length**2
        else:
            break
        shift_row(values, base, axis % 3, -step)
        weigh_links(rod, stream, still, work)
        copy_rows(kept, work.bias)
        shift_row(values, base, axis % 3, step)
        weigh_links(rod, stream, still, work)
        target = slopes.by_rate if axis < 6 else slopes.by_bend_rate
        difference(work, kept, step, axis if axis < 6 else axis - 6, target)
        copy_rows(values, base)
    # the frame turns under a velocity that stays: seen from it, the velocity changes
    for k in range(n):
        g = rest.glide[k]
        for i in range(6):
            h3, h4, h5 = slopes.inertia[k, i, 3], slopes.inertia[k, i, 4], slopes.inertia[k, i, 5]
            slopes.by_rate[k, i, 0] += h4 * g[2] - h5 * g[1]
            slopes.by_rate[k, i, 1] += h5 * g[0] - h3 * g[2]
            slopes.by_rate[k, i, 2] += h3 * g[1] - h4 * g[0]
