"""Mass properties and shape measures of a closed solid, exact for its triangles."""

from __future__ import annotations

from typing import Any

import numpy as np

from simsoft.core.arrays import Array


def arrays(solid: Any) -> tuple[Array, Any]:
    """Return points (n, 3) and faces (m, 3) of a solid."""
    mesh = solid.to_mesh64()
    return np.array(mesh.vert_properties)[:, :3], np.array(mesh.tri_verts).astype(np.int64)


def centre_and_second(solid: Any) -> tuple[Array, Array]:
    """Return the centre (3,) of a solid and int r r^T dV (3, 3) about it.

    Sums over tetrahedra from the origin (exact; the moments of a tetrahedron are from memory).
    """
    points, faces = arrays(solid)
    middle = points.mean(axis=0)
    corners = points[faces] - middle
    volume = np.einsum("ij,ij->i", corners[:, 0], np.cross(corners[:, 1], corners[:, 2])) / 6.0
    total = volume.sum()
    centre = np.einsum("i,ijk->k", volume, corners) / (4.0 * total)
    pairs = np.einsum("i,ijk,ijl->kl", volume, corners, corners)
    added = corners.sum(axis=1)
    pairs += np.einsum("i,ik,il->kl", volume, added, added)
    return middle + centre, np.asarray(pairs / 20.0 - total * np.outer(centre, centre))


def longest_axis(second: Array) -> Array:
    """Return the axis (3,) along which a solid's int r r^T dV (3, 3) is largest."""
    _, axes = np.linalg.eigh(second)
    return np.asarray(axes[:, -1])


def areas_seen(solid: Any) -> Array:
    """Return the areas (3,) of a solid's outlines seen along x, y and z."""
    from simsoft.case.shapes.slices import turned_solid

    eye = np.eye(3)
    frames = (eye[[1, 2, 0]], eye[[2, 0, 1]], eye)
    return np.array([_outline(turned_solid(solid, frame)).area() for frame in frames])


def _outline(solid: Any) -> Any:
    """Return the outline (manifold3d.CrossSection) of a solid seen along z."""
    return solid.project()


def face_normals(solid: Any) -> tuple[Array, Array, Array]:
    """Return unit normals (m, 3), areas (m,) and centres (m, 3) of the faces."""
    points, faces = arrays(solid)
    a, b, c = (points[faces[:, k]] for k in range(3))
    normal = np.cross(b - a, c - a)
    size = np.linalg.norm(normal, axis=1)
    return normal / np.maximum(size, 1e-300)[:, None], 0.5 * size, (a + b + c) / 3.0
