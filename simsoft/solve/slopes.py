"""Slopes of what acts on one link or hinge, and how they add up along the chain.

What acts on a link depends on the motion of that link and on the curvature at its node alone, so
its slopes are 6 by 6 matrices, one set a link, taken by central differences of the exact loads.
Moving a hinge moves everything outboard; a change of the load on a link is felt by every hinge
inboard. One pass outward and one inward give a column of a tangent matrix in O(N), where a
difference of whole residuals would cost two evaluations of everything. Steps are short against
the speed of the stream: drag goes with |V| V, and a long step would add a friction of its own.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from simsoft.compiled import kernel
from simsoft.solve.forces import Work, weigh_links
from simsoft.structure.dynamics import wrench_to_parent
from simsoft.structure.elastic import hinge_moment
from simsoft.structure.kinematics import bend_change
from simsoft.structure.rod import Array, Rod, Stream
from simsoft.structure.rotation import (
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


class Passes(NamedTuple):
    """Scratch arrays of the passes along a chain of N elements.

    Attributes
    ----------
    motion : array (N, 6), turn and hinge displacement (or their rates) of every link
    curvature, slope : array (N, 3), their changes at the nodes
    """

    motion: Array
    curvature: Array
    slope: Array


@kernel()
def make_passes(n: int) -> Passes:
    """Return scratch arrays for a chain of ``n`` elements."""
    return Passes(np.zeros((n, 6)), np.zeros((n, 3)), np.zeros((n, 3)))


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
    hinge_moment(rod, angle, still, behind)
    for i in range(3):
        unit[:] = 0.0
        unit[:, i] = 1.0
        hinge_moment(rod, angle, unit, ahead)
        for k in range(n):
            for j in range(3):
                by_rate[k, j, i] = ahead[k, j] - behind[k, j]
    for i in range(3):
        for k in range(n):
            quaternion_from_vector(angle[k], base)
            step[:] = 0.0
            step[i] = HINGE_STEP
            append_rotation(base, step, turned)
            vector_from_quaternion(turned, plus[k])
            step[i] = -HINGE_STEP
            append_rotation(base, step, turned)
            vector_from_quaternion(turned, minus[k])
        hinge_moment(rod, plus, still, ahead)
        hinge_moment(rod, minus, still, behind)
        for k in range(n):
            for j in range(3):
                by_turn[k, j, i] = 0.5 * (ahead[k, j] - behind[k, j]) / HINGE_STEP


@kernel()
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


@kernel()
def shift_row(values: Array, rest: Array, axis: int, step: float) -> None:
    """Set rows (N, 3) to those of ``rest`` with a step along one axis."""
    values[:] = rest
    values[:, axis] += step


@kernel()
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
    kept = np.zeros((n, 6))
    for axis in range(6):
        if axis >= 3 and stream.shear == 0.0:
            break  # the same water everywhere
        step = TURN_STEP if axis < 3 else SHORT * length
        shift_turn(rod, rest, axis, -step, work)
        weigh_links(rod, stream, 0.0, False, work)
        kept[:] = work.bias
        shift_turn(rod, rest, axis, step, work)
        weigh_links(rod, stream, 0.0, False, work)
        difference(work, kept, step, axis, slopes.by_turn)
    work.frame[:] = rest.frame
    work.node[:] = rest.node
    work.glide[:] = rest.glide
    if rod.reactive == 0.0:
        return  # nothing else feels the curvature
    for axis in range(6):
        values, base = work.curvature, rest.curvature
        step = SHORT / length
        if axis >= 3:
            values, base = work.slope, rest.slope
            step = SHORT / length**2
        shift_row(values, base, axis % 3, -step)
        weigh_links(rod, stream, 0.0, False, work)
        kept[:] = work.bias
        shift_row(values, base, axis % 3, step)
        weigh_links(rod, stream, 0.0, False, work)
        difference(work, kept, step, axis, slopes.by_bend)
        values[:] = base


@kernel()
def slopes_by_rate(rod: Rod, stream: Stream, rest: Work, work: Work, slopes: Slopes) -> None:
    """Fill the slopes with spin, velocity and rate of curvature."""
    n = rod.length.shape[0]
    length = rod.length.sum()
    speed = max(np.sqrt((stream.velocity**2).sum()), LEAST_SPEED)
    kept = np.zeros((n, 6))
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
        weigh_links(rod, stream, 0.0, False, work)
        kept[:] = work.bias
        shift_row(values, base, axis % 3, step)
        weigh_links(rod, stream, 0.0, False, work)
        target = slopes.by_rate if axis < 6 else slopes.by_bend_rate
        difference(work, kept, step, axis if axis < 6 else axis - 6, target)
        values[:] = base
    # the frame turns under a velocity that stays: seen from it, the velocity changes
    for k in range(n):
        g = rest.glide[k]
        for i in range(6):
            h3, h4, h5 = slopes.inertia[k, i, 3], slopes.inertia[k, i, 4], slopes.inertia[k, i, 5]
            slopes.by_rate[k, i, 0] += h4 * g[2] - h5 * g[1]
            slopes.by_rate[k, i, 1] += h5 * g[0] - h3 * g[2]
            slopes.by_rate[k, i, 2] += h3 * g[1] - h4 * g[0]


@kernel()
def outward(rod: Rod, relative: Array, turn: Array, first: int, motion: Array) -> None:
    """Write turn and hinge displacement (N, 6) of every link, link axes, for hinge turns.

    ``turn`` (N, 3) is zero inboard of hinge ``first``.
    """
    for k in range(first):
        motion[k, :] = 0.0
    for k in range(first, turn.shape[0]):
        if k == first:
            w0 = w1 = w2 = v0 = v1 = v2 = 0.0
        else:
            reach = 0.5 * (rod.length[k - 1] + rod.length[k])
            w0, w1, w2 = motion[k - 1, 0], motion[k - 1, 1], motion[k - 1, 2]
            v0 = motion[k - 1, 3] + w1 * reach
            v1 = motion[k - 1, 4] - w0 * reach
            v2 = motion[k - 1, 5]
        r = relative[k]
        for i in range(3):
            motion[k, i] = r[0, i] * w0 + r[1, i] * w1 + r[2, i] * w2 + turn[k, i]
            motion[k, 3 + i] = r[0, i] * v0 + r[1, i] * v1 + r[2, i] * v2


@kernel()
def add_product(matrix: Array, vector: Array, result: Array) -> None:
    """Add matrix (6, M) times vector (M,) to ``result`` (6,)."""
    for i in range(6):
        total = 0.0
        for j in range(vector.shape[0]):
            total += matrix[i, j] * vector[j]
        result[i] += total


@kernel()
def stiffness_column(
    rod: Rod, relative: Array, angle: Array, slopes: Slopes, turn: Array, first: int,
    passes: Passes, column: Array,
) -> None:  # fmt: skip
    """Write the change of the missing hinge moments (N, 3) for small hinge turns (N, 3).

    ``passes.motion`` holds what ``outward`` found for ``turn``.
    """
    n = turn.shape[0]
    lowest = max(0, first - 3)  # curvature at the nodes inboard hangs on hinge ``first`` as well
    bend_change(rod, angle, turn, passes.curvature, passes.slope)
    outer = np.zeros(6)
    own = np.zeros(6)
    for k in range(n - 1, -1, -1):
        own[:] = 0.0
        if k < n - 1:
            t, w = turn[k + 1], slopes.carried[k + 1]
            for i in range(3):
                a, b = (i + 1) % 3, (i + 2) % 3
                outer[i] += t[a] * w[b] - t[b] * w[a]
                outer[3 + i] += t[a] * w[3 + b] - t[b] * w[3 + a]
            reach = 0.5 * (rod.length[k] + rod.length[k + 1])
            wrench_to_parent(relative[k + 1], reach, outer, own)
        if k >= lowest:
            add_product(slopes.by_turn[k], passes.motion[k], own)
            if rod.reactive > 0.0:
                add_product(slopes.by_bend[k, :, 0:3], passes.curvature[k], own)
                add_product(slopes.by_bend[k, :, 3:6], passes.slope[k], own)
        h, t = slopes.hinge_turn[k], turn[k]
        for i in range(3):
            column[k, i] = own[i] - (h[i, 0] * t[0] + h[i, 1] * t[1] + h[i, 2] * t[2])
        outer[:] = own


@kernel()
def rate_column(
    rod: Rod, relative: Array, slopes: Slopes, rate: Array, passes: Passes, column: Array
) -> None:
    """Write the change of the missing hinge moments (N, 3) for small hinge rates (N, 3).

    ``passes`` holds what ``outward`` and ``stiffness_column`` found for ``rate`` taken as turns.
    """
    n = rate.shape[0]
    outer = np.zeros(6)
    own = np.zeros(6)
    for k in range(n - 1, -1, -1):
        own[:] = 0.0
        if k < n - 1:
            reach = 0.5 * (rod.length[k] + rod.length[k + 1])
            wrench_to_parent(relative[k + 1], reach, outer, own)
        add_product(slopes.by_rate[k], passes.motion[k], own)
        if rod.reactive > 0.0:
            add_product(slopes.by_bend_rate[k], passes.curvature[k], own)
        h, t = slopes.hinge_rate[k], rate[k]
        for i in range(3):
            column[k, i] = own[i] - (h[i, 0] * t[0] + h[i, 1] * t[1] + h[i, 2] * t[2])
        outer[:] = own


@kernel()
def mass_column(rod: Rod, relative: Array, slopes: Slopes, passes: Passes, column: Array) -> None:
    """Write the missing hinge moments (N, 3) of hinge accelerations that ``outward`` took."""
    n = column.shape[0]
    outer = np.zeros(6)
    own = np.zeros(6)
    for k in range(n - 1, -1, -1):
        own[:] = 0.0
        if k < n - 1:
            reach = 0.5 * (rod.length[k] + rod.length[k + 1])
            wrench_to_parent(relative[k + 1], reach, outer, own)
        add_product(slopes.inertia[k], passes.motion[k], own)
        for i in range(3):
            column[k, i] = own[i]
        outer[:] = own
