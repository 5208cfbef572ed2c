"""Tangents of a chain in a basis, from the slopes of its links by virtual work.

The moments of all hinges, each weighted with the hinge's share of a basis shape, do the work of
the links' loads on the links' motions in that shape. So no load has to be passed inward: one
pass outward gives the motions of all shapes at once, and each matrix is one product.
"""

from __future__ import annotations

import numpy as np

from simsoft.bodies.rod.slopes import Slopes
from simsoft.core.arrays import Array
from simsoft.core.compiled import kernel
from simsoft.mechanics.kinematics import bend_changes
from simsoft.mechanics.rod import Rod


@kernel()
def motions(rod: Rod, relative: Array, turns: Array) -> Array:
    """Return turn and hinge displacement (N, 6, M) of every link, link axes, for hinge turns.

    ``turns`` (N, 3, M) [rad] are right increments of the hinge rotations, one set a shape.
    """
    n, _, m = turns.shape
    motion = np.zeros((n, 6, m))
    for k in range(n):
        turn = relative[k]
        for i in range(3):
            for c in range(m):
                motion[k, i, c] = turns[k, i, c]
            if k == 0:
                continue
            reach = 0.5 * (rod.length[k - 1] + rod.length[k])
            a, b, z = turn[0, i], turn[1, i], turn[2, i]
            for c in range(m):
                p = motion[k - 1, :, c]
                motion[k, i, c] += a * p[0] + b * p[1] + z * p[2]
                motion[k, 3 + i, c] = (
                    a * (p[3] + reach * p[1]) + b * (p[4] - reach * p[0]) + z * p[5]
                )
    return motion


@kernel()
def add_loads(blocks: Array, values: Array, loads: Array) -> None:
    """Add blocks (N, P, Q) times values (N, Q, M), link by link, to ``loads`` (N, P, M)."""
    n, rows, columns = blocks.shape
    m = values.shape[2]
    for k in range(n):
        for i in range(rows):
            for j in range(columns):
                factor = blocks[k, i, j]
                for c in range(m):
                    loads[k, i, c] += factor * values[k, j, c]


@kernel()
def work_of(values: Array, loads: Array) -> Array:
    """Return the work (M, M) of loads (N, P, M) on motions (N, P, M)."""
    n, rows, m = values.shape
    return np.ascontiguousarray(values.reshape(n * rows, m).T) @ loads.reshape(n * rows, m)


@kernel()
def carried_round(slopes: Slopes, turns: Array, loads: Array, moments: Array) -> None:
    """Add what the turns do to the load of everything outboard, which goes round with them.

    It acts on the link inboard: on the motion of the link at hand but for the hinge's own turn,
    so that it is added to ``loads`` (N, 6, M) and taken off the hinge's ``moments`` (N, 3, M).
    """
    n, _, m = turns.shape
    for k in range(1, n):
        for i in range(3):
            a, b = (i + 1) % 3, (i + 2) % 3
            for block in range(0, 6, 3):
                wa, wb = slopes.carried[k, block + a], slopes.carried[k, block + b]
                for c in range(m):
                    loads[k, block + i, c] += turns[k, a, c] * wb - turns[k, b, c] * wa
            wa, wb = slopes.carried[k, a], slopes.carried[k, b]
            for c in range(m):
                moments[k, i, c] += turns[k, a, c] * wb - turns[k, b, c] * wa


@kernel()
def projected(
    rod: Rod, relative: Array, angle: Array, slopes: Slopes, basis: Array
) -> tuple[Array, Array, Array]:
    """Return mass, damping and stiffness matrices (M, M) in a basis.

    Parameters
    ----------
    relative : array (N, 3, 3), rotation of every link against the one inboard
    angle : array (N, 3) [rad], rest shape
    slopes : Slopes about it, all of them
    basis : array (3 N, M) of hinge-angle shapes
    """
    n, m = angle.shape[0], basis.shape[1]
    turns = np.ascontiguousarray(basis).reshape(n, 3, m)
    motion = motions(rod, relative, turns)
    curvature, slope = bend_changes(rod, angle, turns)
    loads = np.zeros((n, 6, m))
    add_loads(slopes.inertia, motion, loads)
    mass = work_of(motion, loads)

    loads[:] = 0.0
    moments = np.zeros((n, 3, m))
    add_loads(slopes.by_rate, motion, loads)
    add_loads(slopes.hinge_rate, turns, moments)
    if rod.reactive > 0.0:
        add_loads(slopes.by_bend_rate, curvature, loads)
    damping = work_of(motion, loads) - work_of(turns, moments)

    loads[:] = 0.0
    moments[:] = 0.0
    add_loads(slopes.by_turn, motion, loads)
    add_loads(slopes.hinge_turn, turns, moments)
    carried_round(slopes, turns, loads, moments)
    if rod.reactive > 0.0:
        add_loads(slopes.by_bend[:, :, 0:3], curvature, loads)
        add_loads(slopes.by_bend[:, :, 3:6], slope, loads)
    return mass, damping, work_of(motion, loads) - work_of(turns, moments)
