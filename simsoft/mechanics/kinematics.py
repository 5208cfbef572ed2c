"""Positions, frames and velocities along the chain, clamp to tip."""

from __future__ import annotations

import numpy as np

from simsoft.core.arrays import Array
from simsoft.core.compiled import kernel, lean_kernel
from simsoft.mechanics.rod import Rod, Stream
from simsoft.mechanics.rotation import matrix_from_quaternion, tangent_of, vector_rate


@lean_kernel()
def place(
    rod: Rod, quaternion: Array, relative: Array, frame: Array, hinge: Array, node: Array
) -> None:
    """Write relative and world frames (N, 3, 3), hinge and node positions (N, 3) [m].

    ``quaternion`` (N, 4) turns link k against link k - 1 (the clamp for k = 0).
    """
    n = rod.length.shape[0]
    for k in range(n):
        matrix_from_quaternion(quaternion[k], relative[k])
        if k == 0:
            parent = rod.frame
            reach = 0.5 * rod.length[0]
        else:
            parent = frame[k - 1]
            reach = 0.5 * (rod.length[k - 1] + rod.length[k])
        for i in range(3):
            origin = rod.root[i] if k == 0 else hinge[k - 1, i]
            hinge[k, i] = origin + reach * parent[i, 2]
            for j in range(3):
                frame[k, i, j] = (
                    parent[i, 0] * relative[k, 0, j]
                    + parent[i, 1] * relative[k, 1, j]
                    + parent[i, 2] * relative[k, 2, j]
                )
        for i in range(3):
            node[k, i] = hinge[k, i] + 0.5 * rod.length[k] * frame[k, i, 2]


@lean_kernel()
def held_twist(rod: Rod, stream: Stream, twist: Array) -> None:
    """Write the twist (6,) of a clamp at rest, its own frame.

    In axes that drift with the stream at height zero it moves upstream.
    """
    f, s = rod.frame, stream.velocity
    for i in range(3):
        twist[i] = 0.0
        twist[3 + i] = -(f[0, i] * s[0] + f[1, i] * s[1] + f[2, i] * s[2])


@lean_kernel()
def move(rod: Rod, relative: Array, rate: Array, clamp: Array, spin: Array, glide: Array) -> None:
    """Write spin [rad/s] and hinge velocity [m/s] of every link (N, 3), in its own frame.

    Velocities are those of the structure in axes that drift with the stream at height zero.
    ``rate`` (N, 3) [rad/s] is the hinge rate in the outboard frame, ``clamp`` (6,) the twist of
    the clamp in its own frame.
    """
    for k in range(rod.length.shape[0]):
        if k == 0:
            reach = 0.5 * rod.length[0]
            w0, w1, w2 = clamp[0], clamp[1], clamp[2]
            v0, v1, v2 = clamp[3] + w1 * reach, clamp[4] - w0 * reach, clamp[5]
        else:
            reach = 0.5 * (rod.length[k - 1] + rod.length[k])
            w0, w1, w2 = spin[k - 1, 0], spin[k - 1, 1], spin[k - 1, 2]
            v0 = glide[k - 1, 0] + w1 * reach
            v1 = glide[k - 1, 1] - w0 * reach
            v2 = glide[k - 1, 2]
        turn = relative[k]
        for i in range(3):
            spin[k, i] = turn[0, i] * w0 + turn[1, i] * w1 + turn[2, i] * w2 + rate[k, i]
            glide[k, i] = turn[0, i] * v0 + turn[1, i] * v1 + turn[2, i] * v2


@lean_kernel()
def bend(
    rod: Rod, angle: Array, bending: Array, curvature: Array, curvature_rate: Array, slope: Array
) -> None:
    """Write curvature [rad/m], its rate and its slope [rad/m^2] at the nodes (N, 3).

    ``bending`` as of ``elastic.hinge_bending``.

    A hinge carries the whole turning of its element, so that angle over length is the mean
    curvature of the element; values at the nodes are those of cubics with these means, of
    quadratics next to the ends and beyond the last element. Taking the means for values at the
    element middles would cost (k l)^2/24 of a wave of wavenumber k, and joining them by straight
    lines (k l)^2/8. Elements are of equal length.
    """
    n = rod.length.shape[0]
    for k in range(n):
        inverse = 1.0 / rod.length[k]
        for i in range(3):
            curvature_rate[k, i] = bending[k, i] * inverse
            curvature[k, i] = angle[k, i] * inverse
    slope_at_nodes(rod, curvature, slope)
    to_nodes(curvature)
    to_nodes(curvature_rate)


@kernel()
def bend_changes(rod: Rod, angle: Array, turns: Array) -> tuple[Array, Array]:
    """Return the changes of curvature and of its slope at the nodes (N, 3, M) for small turns.

    ``turns`` (N, 3, M) [rad] are right increments of the hinge rotations, M sets of them.
    """
    n, _, m = turns.shape
    curvature = np.zeros((n, 3, m))
    unit = np.zeros(3)
    for k in range(n):
        inverse = 1.0 / rod.length[k]
        coefficient = tangent_of(angle[k])
        for j in range(3):
            unit[:] = 0.0
            unit[j] = inverse
            r0, r1, r2 = vector_rate(angle[k], unit, coefficient)
            for c in range(m):
                curvature[k, 0, c] += r0 * turns[k, j, c]
                curvature[k, 1, c] += r1 * turns[k, j, c]
                curvature[k, 2, c] += r2 * turns[k, j, c]
    slope = np.zeros((n, 3, m))
    slope_at_nodes(rod, curvature.reshape(n, 3 * m), slope.reshape(n, 3 * m))
    to_nodes(curvature.reshape(n, 3 * m))
    return curvature, slope


@lean_kernel()
def slope_at_nodes(rod: Rod, means: Array, slope: Array) -> None:
    """Write the slope at the nodes (N, M) of means (N, M) over the elements."""
    n = means.shape[0]
    for i in range(means.shape[1]):
        for k in range(n - 1):
            gap = 0.5 * (rod.length[k] + rod.length[k + 1])
            slope[k, i] = (means[k + 1, i] - means[k, i]) / gap
        slope[n - 1, i] = slope[n - 2, i]


@lean_kernel()
def to_nodes(values: Array) -> None:
    """Turn means (N, M) over the elements into values at the nodes at their ends."""
    n = values.shape[0]
    for i in range(values.shape[1]):
        if n < 4:
            tip = 1.5 * values[n - 1, i] - 0.5 * values[n - 2, i]
            for k in range(n - 1):
                values[k, i] = 0.5 * (values[k, i] + values[k + 1, i])
            values[n - 1, i] = tip
            continue
        tip = (11.0 * values[n - 1, i] - 7.0 * values[n - 2, i] + 2.0 * values[n - 3, i]) / 6.0
        last = (2.0 * values[n - 1, i] + 5.0 * values[n - 2, i] - values[n - 3, i]) / 6.0
        before = values[0, i]
        values[0, i] = (2.0 * values[0, i] + 5.0 * values[1, i] - values[2, i]) / 6.0
        for k in range(1, n - 2):
            here = values[k, i]
            outer = before + values[k + 2, i]
            values[k, i] = (7.0 * (here + values[k + 1, i]) - outer) / 12.0
            before = here
        values[n - 2, i] = last
        values[n - 1, i] = tip
