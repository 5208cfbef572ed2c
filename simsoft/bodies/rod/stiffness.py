"""Whole tangent stiffness of a chain from the slopes of its links, in O(N^2).

A turn of one hinge moves everything outboard as one rigid body. What that does to the loads is
held by one 6 by 6 matrix a hinge, the slopes of all links outboard put together as composite
inertias are (Featherstone 2008, "Rigid Body Dynamics Algorithms", section 6.2, from memory);
only the curvature at the few nodes beside the hinge has to be added link by link.
"""

from __future__ import annotations

import numpy as np

from simsoft.bodies.rod.slopes import Slopes
from simsoft.core.arrays import Array
from simsoft.core.compiled import kernel, lean_kernel
from simsoft.mechanics.dynamics import inertia_to_parent, wrench_to_parent
from simsoft.mechanics.kinematics import slope_at_nodes, to_nodes
from simsoft.mechanics.rod import Rod
from simsoft.mechanics.rotation import tangent_of, vector_rate

INBOARD, OUTBOARD = 3, 2  # nodes either side of a hinge whose curvature hangs on it


@lean_kernel()
def gap(rod: Rod, k: int) -> float:
    """Return the distance [m] from hinge k to the next."""
    return float(0.5 * (rod.length[k] + rod.length[k + 1]))


@kernel()
def composite(rod: Rod, relative: Array, by_turn: Array) -> Array:
    """Return the load (N, 6, 6) about each hinge with a rigid motion of everything outboard."""
    whole = by_turn.copy()
    for k in range(rod.length.shape[0] - 2, -1, -1):
        inertia_to_parent(relative[k + 1], gap(rod, k), whole[k + 1], whole[k])
    return whole


@lean_kernel()
def bend_loads(
    rod: Rod, slopes: Slopes, k: int, rate: Array, weight: Array, slope: Array, loads: Array
) -> None:
    """Write the loads (N, 6) that the curvature beside hinge ``k`` changes on single links.

    ``rate`` (3,) is the change of the hinge's rotation vector; ``weight`` and ``slope`` (N, 1)
    are curvature and slope of curvature at the nodes for one radian of it.
    """
    for j in range(max(0, k - INBOARD), min(rod.length.shape[0], k + OUTBOARD + 1)):
        loads[j, :] = 0.0
        if rod.reactive == 0.0:
            continue  # nothing feels the curvature
        by_bend = slopes.by_bend[j]
        for i in range(3):
            bend, change = weight[j, 0] * rate[i], slope[j, 0] * rate[i]
            for row in range(6):
                loads[j, row] += by_bend[row, i] * bend + by_bend[row, 3 + i] * change


@kernel()
def fill_outboard(rod: Rod, relative: Array, whole: Array, matrix: Array) -> None:
    """Write the moments of all hinges for the rigid motions that hinges inboard give them.

    The moment about an axis of hinge j is a row that goes with the motion of link j; carried
    inward as a wrench is, it goes with the motion of any link inboard.
    """
    row, carried = np.zeros(6), np.zeros(6)
    for j in range(1, rod.length.shape[0]):
        for i in range(3):
            row[:] = whole[j, i]
            for k in range(j - 1, -1, -1):
                carried[:] = 0.0
                wrench_to_parent(relative[k + 1], gap(rod, k), row, carried)
                row[:] = carried
                for axis in range(3):
                    matrix[3 * j + i, 3 * k + axis] = row[axis]


@kernel()
def fill_inboard(
    rod: Rod, relative: Array, slopes: Slopes, whole: Array, k: int, axis: int, loads: Array,
    matrix: Array,
) -> None:  # fmt: skip
    """Write the moments of hinge ``k`` and those inboard for a turn of hinge ``k``.

    To those outboard the ``loads`` (N, 6) by curvature are added.
    """
    first, last = max(0, k - INBOARD), min(rod.length.shape[0] - 1, k + OUTBOARD)
    own, outer = np.zeros(6), np.zeros(6)
    for j in range(last, -1, -1):
        own[:] = 0.0
        if j < last:
            wrench_to_parent(relative[j + 1], gap(rod, j), outer, own)
        if j >= first:
            for i in range(6):
                own[i] += loads[j, i]
        if j == k:
            for i in range(6):
                own[i] += whole[k, i, axis]
        for i in range(3):
            matrix[3 * j + i, 3 * k + axis] += own[i]
        outer[:] = own
        if j == k:
            # the turn carries the load of everything outboard round with it
            a, b = (axis + 1) % 3, (axis + 2) % 3
            w = slopes.carried[k]
            for block in range(0, 6, 3):
                outer[block + a] -= w[block + b]
                outer[block + b] += w[block + a]
    for i in range(3):
        matrix[3 * k + i, 3 * k + axis] -= slopes.hinge_turn[k, i, axis]


@kernel()
def stiffness_matrix(rod: Rod, relative: Array, angle: Array, slopes: Slopes) -> Array:
    """Return the change of the missing hinge moments with hinge turns, (3 N, 3 N) [N m/rad].

    Parameters
    ----------
    relative : array (N, 3, 3), rotation of every link against the one inboard
    angle : array (N, 3) [rad], rest shape
    slopes : Slopes about it; those with rates are not asked for
    """
    n = angle.shape[0]
    whole = composite(rod, relative, slopes.by_turn)
    matrix = np.zeros((3 * n, 3 * n))
    fill_outboard(rod, relative, whole, matrix)
    loads = np.zeros((n, 6))
    weight, slope, unit, rate = np.zeros((n, 1)), np.zeros((n, 1)), np.zeros(3), np.zeros(3)
    for k in range(n):
        weight[:] = 0.0
        weight[k, 0] = 1.0 / rod.length[k]
        slope_at_nodes(rod, weight, slope)
        to_nodes(weight)
        for axis in range(3):
            unit[:] = 0.0
            unit[axis] = 1.0
            rate[0], rate[1], rate[2] = vector_rate(angle[k], unit, tangent_of(angle[k]))
            bend_loads(rod, slopes, k, rate, weight, slope, loads)
            fill_inboard(rod, relative, slopes, whole, k, axis, loads, matrix)
    return matrix
