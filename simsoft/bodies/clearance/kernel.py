"""Distances between the pieces of a wire and a surface of triangles, compiled."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from simsoft.core.arrays import Array
from simsoft.core.compiled import kernel, lean_kernel

PARALLEL = 1.0e-14  # relative, of a determinant that counts as zero


@lean_kernel()
def dot(a: Array, b: Array) -> float:
    """Return the scalar product of two vectors (3,)."""
    return float(a[0] * b[0] + a[1] * b[1] + a[2] * b[2])


@lean_kernel()
def apart(a: Array, b: Array) -> float:
    """Return the distance of two points (3,)."""
    return math.sqrt((a[0] - b[0]) ** 2 + (a[1] - b[1]) ** 2 + (a[2] - b[2]) ** 2)


@lean_kernel()
def segment_segment(
    p: Array, u: Array, q: Array, v: Array, on_first: Array, on_second: Array
) -> float:
    """Return the distance of the segments p + s u and q + t v, s and t in 0..1.

    The closest points (3,) are written to ``on_first`` and ``on_second``. Clamped solution of
    the two normal equations (Ericson, Real-Time Collision Detection, section 5.1.9, from
    memory); segments without length are points.
    """
    a, e, b = dot(u, u), dot(v, v), dot(u, v)
    c = f = 0.0
    for i in range(3):
        c += u[i] * (p[i] - q[i])
        f += v[i] * (p[i] - q[i])
    s = t = 0.0
    if a > 0.0 or e > 0.0:
        if a == 0.0:
            t = min(max(f / e, 0.0), 1.0)
        elif e == 0.0:
            s = min(max(-c / a, 0.0), 1.0)
        else:
            determinant = a * e - b * b
            if determinant > PARALLEL * a * e:
                s = min(max((b * f - c * e) / determinant, 0.0), 1.0)
            t = (b * s + f) / e
            if t < 0.0:
                t = 0.0
                s = min(max(-c / a, 0.0), 1.0)
            elif t > 1.0:
                t = 1.0
                s = min(max((b - c) / a, 0.0), 1.0)
    total = 0.0
    for i in range(3):
        on_first[i] = p[i] + s * u[i]
        on_second[i] = q[i] + t * v[i]
        total += (on_first[i] - on_second[i]) ** 2
    return math.sqrt(total)


@lean_kernel()
def inside_triangle(point: Array, corner: Array, e1: Array, e2: Array) -> bool:
    """Return whether a point of the triangle's plane lies in it (corner, edges e1 and e2)."""
    a, b, c = dot(e1, e1), dot(e1, e2), dot(e2, e2)
    f = g = 0.0
    for i in range(3):
        f += (point[i] - corner[i]) * e1[i]
        g += (point[i] - corner[i]) * e2[i]
    determinant = a * c - b * b
    if determinant <= PARALLEL * a * c:
        return False
    s = (c * f - b * g) / determinant
    t = (a * g - b * f) / determinant
    return bool(s >= 0.0 and t >= 0.0 and s + t <= 1.0)


@lean_kernel()
def copy_point(target: Array, point: Array) -> None:
    """Copy a point (3,): a loop is a tenth of the code that the compiler makes of a slice."""
    for i in range(3):
        target[i] = point[i]


@lean_kernel()
def copy_along(target: Array, point: Array, share: float, way: Array) -> None:
    """Write the point (3,) that lies a share of a way from another."""
    for i in range(3):
        target[i] = point[i] + share * way[i]


@kernel()
def segment_triangle(
    p: Array, u: Array, triangle: Array, on_segment: Array, on_triangle: Array
) -> float:
    """Return the distance of the segment p + s u, s in 0..1, and a triangle (3, 3).

    The closest points are written to the last two arguments; the distance is zero where the
    segment pierces the triangle. A triangle without area is its edges.
    """
    x, y, normal = np.empty(3), np.empty(3), np.empty(3)
    e1, e2 = np.empty(3), np.empty(3)
    best = math.inf
    for k in range(3):
        q = triangle[k]
        copy_along(e1, triangle[(k + 1) % 3], -1.0, q)
        found = segment_segment(p, u, q, e1, x, y)
        if found < best:
            best = found
            copy_point(on_segment, x)
            copy_point(on_triangle, y)
    copy_along(e1, triangle[1], -1.0, triangle[0])
    copy_along(e2, triangle[2], -1.0, triangle[0])
    for i in range(3):
        a, b = (i + 1) % 3, (i + 2) % 3
        normal[i] = e1[a] * e2[b] - e1[b] * e2[a]
    size = math.sqrt(dot(normal, normal))
    if size == 0.0:
        return best
    for i in range(3):
        normal[i] /= size
    copy_along(x, p, -1.0, triangle[0])
    here = dot(x, normal)
    there = here + dot(u, normal)
    if here * there <= 0.0 and here != there:
        copy_along(x, p, here / (here - there), u)
        if inside_triangle(x, triangle[0], e1, e2):
            copy_point(on_segment, x)
            copy_point(on_triangle, x)
            return 0.0
    for last in range(2):
        height = there if last else here
        if abs(height) < best:
            copy_along(x, p, float(last), u)
            copy_along(y, x, -height, normal)
            if inside_triangle(y, triangle[0], e1, e2):
                best = abs(height)
                copy_point(on_segment, x)
                copy_point(on_triangle, y)
    return best


@lean_kernel()
def point_segment(point: Array, a: Array, along: Array) -> float:
    """Return the distance of a point (3,) and the segment a + s along, s in 0..1."""
    reach = dot(along, along)
    s = 0.0
    if reach > 0.0:
        for i in range(3):
            s += (point[i] - a[i]) * along[i] / reach
        s = min(max(s, 0.0), 1.0)
    gap = 0.0
    for i in range(3):
        gap += (point[i] - a[i] - s * along[i]) ** 2
    return math.sqrt(gap)


@lean_kernel()
def sheaths(
    start: Array, end: Array, spot: npt.NDArray[np.int64], axis: Array, radius: Array
) -> None:
    """Write a sheath around the pieces of each spot: all points that near a straight axis.

    Parameters
    ----------
    start, end : array (m, 3) [m], pieces of wire
    spot : array (m,) of int
    axis : array (spots, 2, 3) [m], filled: start of the first piece, way to the last end
    radius : array (spots,) [m], filled; -1 of a spot without pieces
    """
    for row in range(radius.shape[0]):
        radius[row] = -1.0
        for j in range(start.shape[0]):
            if spot[j] == row:
                if radius[row] < 0.0:
                    copy_point(axis[row, 0], start[j])
                    radius[row] = 0.0
                copy_along(axis[row, 1], end[j], -1.0, axis[row, 0])
        for j in range(start.shape[0]):
            if spot[j] == row:
                away = point_segment(start[j], axis[row, 0], axis[row, 1])
                radius[row] = max(radius[row], away)
                away = point_segment(end[j], axis[row, 0], axis[row, 1])
                radius[row] = max(radius[row], away)


@kernel()
def nearest(
    triangles: Array,
    thick: Array,
    start: Array,
    end: Array,
    spot: npt.NDArray[np.int64],
    margin: Array,
    where: Array,
    frame: npt.NDArray[np.int64],
) -> None:
    """Find the smallest gap between a moving surface and the pieces of a wire, spot by spot.

    Parameters
    ----------
    triangles : array (F, T, 3, 3) [m], middle surface of the part in F positions
    thick : array (T,) [m], what surface and wire take off the distance of their middles
    start, end : array (m, 3) [m], pieces of wire
    spot : array (m,) of int, row of ``margin`` each piece belongs to
    margin : array (spots,) [m], lowered; starts with infinity or what is too far to matter
    where : array (spots, 2, 3) [m], filled: points on the part's middle surface and the wire's axis
    frame : array (spots,) of int, filled: the position they belong to
    """
    on_wire, on_part = np.empty(3), np.empty(3)
    pieces = len(start)
    along, middle = np.empty((pieces, 3)), np.empty((pieces, 3))
    reach = np.empty(pieces)
    for j in range(pieces):
        for i in range(3):
            along[j, i] = end[j, i] - start[j, i]
            middle[j, i] = 0.5 * (start[j, i] + end[j, i])
        reach[j] = 0.5 * math.sqrt(dot(along[j], along[j]))
    axis, radius = np.zeros((len(margin), 2, 3)), np.zeros(len(margin))
    sheaths(start, end, spot, axis, radius)
    near, centre = np.zeros(len(margin), dtype=np.bool_), np.zeros(3)
    for f in range(triangles.shape[0]):
        for k in range(triangles.shape[1]):
            triangle = triangles[f, k]
            size = 0.0
            for i in range(3):
                centre[i] = (triangle[0, i] + triangle[1, i] + triangle[2, i]) / 3.0
            for c in range(3):
                size = max(size, apart(triangle[c], centre))
            some = False
            for row in range(len(margin)):
                gap = point_segment(centre, axis[row, 0], axis[row, 1]) - radius[row]
                near[row] = radius[row] >= 0.0 and gap - size - thick[k] < margin[row]
                some = some or near[row]
            if not some:
                continue
            for j in range(pieces):
                row = spot[j]
                if not near[row]:
                    continue
                if apart(middle[j], centre) - size - reach[j] - thick[k] >= margin[row]:
                    continue
                found = segment_triangle(start[j], along[j], triangle, on_wire, on_part) - thick[k]
                if found < margin[row]:
                    margin[row] = found
                    copy_point(where[row, 0], on_part)
                    copy_point(where[row, 1], on_wire)
                    frame[row] = f
