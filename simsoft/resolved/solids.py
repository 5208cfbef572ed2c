"""Solids in the flow: signed distances of simple shapes that move, and where their walls are.

A solid is a row of ``forms`` (see ``Form``) with a row of ``poses``: where it is, how it is turned
and how it moves. Lengths are in cells, times in steps, all in single precision. Distances are
negative inside; those of ellipses are of first order in the distance, which is all a wall needs.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from simsoft.core.compiled import lean_kernel
from simsoft.resolved.lattice import Real

Single = npt.NDArray[np.float32]

ELLIPSOID, BOX, DISC, BODY, CYLINDER, SLAB = 0, 1, 2, 3, 4, 5
POSE_COLUMNS = 18
FAR = np.float32(1.0e6)
ENDLESS = 1.0e5  # reach of a solid without end
ALONG = 0.5  # cosine from which an axis counts as that of an endless solid
SEAM = np.float32(0.3)  # of its half thickness, by which a slab reaches into its neighbours
ZERO = np.float32(0.0)
ONE = np.float32(1.0)
SMALL = np.float32(1.0e-6)


class Form(NamedTuple):
    """One solid, a row of ``forms``; half sizes along its own axes.

    Attributes
    ----------
    kind : ELLIPSOID, BOX (rounded), DISC (elliptic outline in axes 1 and 2, rounded rim), BODY
        (sections along axis 1 from a table), CYLINDER (along axis 3, endless) or SLAB (a convex
        quadrilateral in axes 1 and 2 from the table, rounded rim)
    a, b, c : float, half sizes; of a BODY half its length and its largest half
        width and half height
    rounding : float, radius of the edges
    first, rows : rows of the table that belong to a BODY or a SLAB
    reach : float, radius of a ball about the centre that holds the solid
    """

    kind: float
    a: float
    b: float
    c: float
    rounding: float
    first: float
    rows: float
    reach: float


@lean_kernel(forceinline=True)
def ellipse_distance(x: Real, y: Real, a: Real, b: Real) -> Real:
    """Return the distance to an ellipse of half axes ``a`` and ``b``, exact for a circle."""
    u, v = x / a, y / b
    level = math.sqrt(u * u + v * v)
    p, q = u / a, v / b
    steepness = math.sqrt(p * p + q * q)
    if steepness < SMALL:
        return -min(a, b)
    return level * (level - ONE) / steepness


@lean_kernel()
def ellipsoid_distance(x: Real, y: Real, z: Real, a: Real, b: Real, c: Real) -> Real:
    """Return the distance to an ellipsoid, exact for a ball."""
    u, v, w = x / a, y / b, z / c
    level = math.sqrt(u * u + v * v + w * w)
    p, q, r = u / a, v / b, w / c
    steepness = math.sqrt(p * p + q * q + r * r)
    if steepness < SMALL:
        return -min(a, min(b, c))
    return level * (level - ONE) / steepness


@lean_kernel()
def body_distance(x: Real, y: Real, z: Real, form: Single, table: Single) -> Real:
    """Return the distance to a body of elliptic sections; axis 1 runs from nose to tail.

    Rows of the table are half width, half height and height of the middle, evenly spaced.
    """
    length = form[1] + form[1]
    x = x + form[1]
    first, rows = int(form[5]), int(form[6])
    place = x / length * np.float32(rows - 1)
    inside = min(max(place, ZERO), np.float32(rows - 1) - SMALL)
    row = min(int(inside), rows - 2)
    share = inside - np.float32(row)
    low, high = table[first + row], table[first + row + 1]
    a = max(low[0] + share * (high[0] - low[0]), np.float32(0.05))
    b = max(low[1] + share * (high[1] - low[1]), np.float32(0.05))
    middle = low[2] + share * (high[2] - low[2])
    across = ellipse_distance(y, z - middle, a, b)
    ahead = max(-x, x - length)
    if ahead <= ZERO:
        return max(across, ahead)
    return math.sqrt(ahead * ahead + max(across, ZERO) ** 2)


@lean_kernel()
def slab_distance(x: Real, y: Real, z: Real, form: Single, table: Single) -> Real:
    """Return the distance to a SLAB, exact but beyond its corners.

    Rows of the table are corners, counter-clockwise, and whether the side that begins there is a
    seam. A seam has no rim: inside, it is as deep as if its neighbour were the same solid.
    """
    first = int(form[5])
    rim, seam = -FAR, -FAR
    for k in range(4):
        here, following = table[first + k], table[first + (k + 1) % 4]
        along, across = following[0] - here[0], following[1] - here[1]
        length = math.sqrt(along * along + across * across)
        side = ((x - here[0]) * across - (y - here[1]) * along) / length
        if here[2] > ZERO:
            seam = max(seam, side - SEAM * form[3])
        else:
            rim = max(rim, side)
    r = form[4]
    p, q = rim + r, abs(z) - (form[3] - r)
    outside = math.sqrt(max(p, ZERO) ** 2 + max(q, ZERO) ** 2)
    distance = min(max(p, q), ZERO) + outside - r
    if seam <= ZERO:
        return distance
    return math.sqrt(max(distance, ZERO) ** 2 + seam * seam)


@lean_kernel()
def local_distance(x: Real, y: Real, z: Real, form: Single, table: Single) -> Real:
    """Return the distance of a point in a solid's own axes to that solid."""
    kind = int(form[0])
    if kind == ELLIPSOID:
        return ellipsoid_distance(x, y, z, form[1], form[2], form[3])
    if kind == BODY:
        return body_distance(x, y, z, form, table)
    if kind == CYLINDER:
        return math.sqrt(x * x + y * y) - form[1]
    if kind == SLAB:
        return slab_distance(x, y, z, form, table)
    r = form[4]
    if kind == DISC:
        p = ellipse_distance(x, y, form[1] - r, form[2] - r)
        q = abs(z) - (form[3] - r)
        s = -FAR
    else:
        p = abs(x) - (form[1] - r)
        q = abs(y) - (form[2] - r)
        s = abs(z) - (form[3] - r)
    outside = max(p, ZERO) ** 2 + max(q, ZERO) ** 2 + max(s, ZERO) ** 2
    return min(max(p, max(q, s)), ZERO) + math.sqrt(outside) - r


@lean_kernel()
def nearest_solid(
    x: Real, y: Real, z: Real, forms: Single, poses: Single, table: Single
) -> tuple[Real, int]:
    """Return the distance of a cell to the nearest solid, and which that is.

    Solids further away than their ball and three cells are passed over; ``FAR`` if all are.
    """
    best, owner = FAR, 0
    for k in range(forms.shape[0]):
        pose, form = poses[k], forms[k]
        dx, dy, dz = x - pose[0], y - pose[1], z - pose[2]
        reach = form[7] + np.float32(3.0)
        if dx * dx + dy * dy + dz * dz > reach * reach:
            continue
        p = pose[3] * dx + pose[6] * dy + pose[9] * dz
        q = pose[4] * dx + pose[7] * dy + pose[10] * dz
        r = pose[5] * dx + pose[8] * dy + pose[11] * dz
        distance = local_distance(p, q, r, form, table)
        if distance < best:
            best, owner = distance, k
    return best, owner


@lean_kernel(forceinline=True)
def wall_velocity(x: Real, y: Real, z: Real, pose: Single) -> tuple[Real, Real, Real]:
    """Return the velocity [cells / step] of a solid at a point of the grid."""
    dx, dy, dz = x - pose[0], y - pose[1], z - pose[2]
    return (
        pose[12] + pose[16] * dz - pose[17] * dy,
        pose[13] + pose[17] * dx - pose[15] * dz,
        pose[14] + pose[15] * dy - pose[16] * dx,
    )


def extents(forms: Single, axes: Single) -> Single:
    """Return how far solids reach from their centres along the world's axes, array (..., P, 3).

    ``forms`` (P, 8) and ``axes`` (..., P, 3, 3), the solids' axes as columns; endless ones reach
    without end.
    """
    turned = np.abs(axes)
    reach: Single = (turned @ forms[:, 1:4, None])[..., 0]
    endless = forms[:, 7, None] >= ENDLESS
    return np.where(endless & (turned[..., 2] > ALONG), np.float32(np.inf), reach)
