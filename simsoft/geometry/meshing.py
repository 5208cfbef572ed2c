"""Quadrilaterals on any outline with holes, by a well-kept mesher."""

from __future__ import annotations

from functools import lru_cache
from threading import Lock

import numpy as np

from simsoft.core.arrays import Array, Integers

Ring = tuple[tuple[float, float], ...]

CACHED_MESHES = 16
_ONE_AT_A_TIME = Lock()  # the mesher keeps one model for the whole process


@lru_cache(maxsize=CACHED_MESHES)
def quads_on(rings: tuple[Ring, ...], size: float, keep: Ring = ()) -> tuple[Array, Integers]:
    """Return nodes (n, 2) [m] and quadrilaterals (E, 4), counter-clockwise, on an outline.

    Parameters
    ----------
    rings : tuple of closed polygons [m], the outline first, then the holes
    size : float [m], side of an element aimed at
    keep : points of the outline that become nodes

    Raises
    ------
    ValueError
        If the mesher is not installed or leaves no quadrilaterals.
    """
    try:
        import gmsh
    except (ImportError, OSError) as problem:
        raise ValueError(
            "an outline needs the mesher; install simsoft with the extra `outline`"
        ) from problem
    with _ONE_AT_A_TIME:
        gmsh.initialize(interruptible=False)
        try:
            return _meshed(gmsh, rings, size, keep)
        finally:
            gmsh.finalize()


def _meshed(
    gmsh: object, rings: tuple[Ring, ...], size: float, keep: Ring
) -> tuple[Array, Integers]:
    model, option = gmsh.model, gmsh.option  # type: ignore[attr-defined]
    option.setNumber("General.Terminal", 0)
    option.setNumber("Mesh.RecombineAll", 1)
    option.setNumber("Mesh.RecombinationAlgorithm", 1)
    option.setNumber("Mesh.SubdivisionAlgorithm", 1)  # what is left of triangles is divided
    option.setNumber("Mesh.Algorithm", 8)  # frontal, for quadrilaterals
    option.setNumber("Mesh.Smoothing", 10)
    # the subdivision halves the sides
    option.setNumber("Mesh.MeshSizeMin", 2.0 * size)
    option.setNumber("Mesh.MeshSizeMax", 2.0 * size)
    model.add("planform")
    loops = []
    for ring in rings:
        points = [
            model.geo.addPoint(x, y, 0.0, 2.0 * size) for x, y in _sparse(ring, 1.9 * size, keep)
        ]
        lines = [
            model.geo.addLine(points[i], points[(i + 1) % len(points)]) for i in range(len(points))
        ]
        loops.append(model.geo.addCurveLoop(lines))
    model.geo.addPlaneSurface(loops)
    model.geo.synchronize()
    model.mesh.generate(2)
    tags, places, _ = model.mesh.getNodes()
    _, _, corners = model.mesh.getElements(2)
    nodes = np.asarray(places).reshape(-1, 3)[:, :2]
    found = [c for c in corners if len(c) % 4 == 0 and len(c) > 0]
    if not found:
        raise ValueError("the mesher left no quadrilaterals")
    row = np.zeros(int(max(tags)) + 1, dtype=np.int64)
    row[np.asarray(tags, dtype=np.int64)] = np.arange(len(tags))
    quads = row[np.asarray(found[-1], dtype=np.int64)].reshape(-1, 4)
    used, packed = np.unique(quads, return_inverse=True)
    plan, quads = nodes[used], np.asarray(packed).reshape(-1, 4)
    a = plan[quads[:, 2]] - plan[quads[:, 0]]
    b = plan[quads[:, 3]] - plan[quads[:, 1]]
    turned = a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0] < 0.0
    quads[turned] = quads[turned][:, ::-1]
    return np.ascontiguousarray(plan), np.ascontiguousarray(quads)


def _sparse(ring: Ring, size: float, keep: Ring) -> list[tuple[float, float]]:
    """Return the corners of a polygon without those closer than the elements are wide.

    Corners that turn by more than a fifth of a right angle stay, and so do the points of ``keep``;
    what is left out makes room for them.
    """
    points = np.asarray(ring)
    wanted = [point in keep for point in ring]
    kept, fixed = [0], [True]
    for i in range(1, len(points)):
        before, here = points[kept[-1]], points[i]
        after = points[(i + 1) % len(points)]
        first, second = here - before, after - here
        norm = float(np.linalg.norm(first) * np.linalg.norm(second))
        bend = abs(first[0] * second[1] - first[1] * second[0]) / norm if norm > 0.0 else 0.0
        stays = wanted[i] or bend > 0.3
        apart = bool(np.linalg.norm(first) >= 0.7 * size)
        if wanted[i] and not apart and not fixed[-1]:
            kept.pop()
            fixed.pop()
        if apart or stays:
            kept.append(i)
            fixed.append(stays)
    return [(float(x), float(y)) for x, y in points[kept]]
