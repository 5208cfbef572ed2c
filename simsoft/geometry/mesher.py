"""The mesher in a process of its own: outlines in on stdin, nodes and elements out on stdout.

Run by its path from `simsoft.geometry.meshing`, so it imports nothing of the package. A mesher
that never comes back, or that takes all memory, is ended by the limits set here and ends none but
this process.
"""

from __future__ import annotations

import pickle
import signal
import sys
from contextlib import suppress
from typing import Any

import numpy as np

Ring = tuple[tuple[float, float], ...]

MEMORY = 2 << 30  # bytes of address space
ALGORITHMS = (8, 6, 5)  # frontal for quadrilaterals; frontal, Delaunay where the first one fails


def main() -> None:
    """Read rings, size, points to keep and seconds; write the mesh, or why there is none."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the parent ends this process
    rings, size, keep, seconds = pickle.load(sys.stdin.buffer)
    answer: Any = "no mesh"
    with suppress(ImportError):
        import gmsh  # noqa: F401  its loading does not count

    _limit(seconds)
    for algorithm in ALGORITHMS:
        try:
            plan, quads = meshed(rings, size, keep, algorithm)
            problem = flaw(quads)
            answer = problem or (plan, quads)
        except ImportError:
            answer = "an outline needs the mesher; install simsoft with the extra `outline`"
            break
        except Exception as problem:  # the mesher raises nothing more special
            answer = f"the mesher gives up: {' '.join(str(problem).split())}"
        if not isinstance(answer, str):
            break
    sys.stdout.buffer.write(pickle.dumps(answer))


def _limit(seconds: float) -> None:
    """End this process where it takes more time of a processor or more memory than it may."""
    try:
        import resource
    except ImportError:  # another system; the parent waits only so long
        return
    signal.setitimer(signal.ITIMER_VIRTUAL, seconds)  # its signal ends the process
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def flaw(quads: Any) -> str:
    """Return why elements (E, 4) are no sheet, '' where they are.

    Every side is run through once by the element on its left, and the rim passes a node once.
    """
    first, last = quads.ravel(), np.roll(quads, -1, axis=1).ravel()
    sides = np.stack([first, last], axis=1)
    _, count = np.unique(sides, axis=0, return_counts=True)
    back = {(int(b), int(a)) for a, b in sides}
    rim = [int(a) for a, b in sides if (int(a), int(b)) not in back]
    return "the mesh folds over itself" if count.max() > 1 or len(set(rim)) < len(rim) else ""


def meshed(rings: tuple[Ring, ...], size: float, keep: Ring, algorithm: int) -> tuple[Any, Any]:
    """Return nodes (n, 2) [m] and quadrilaterals (E, 4), counter-clockwise, on an outline.

    Parameters
    ----------
    rings : tuple of closed polygons [m], the outline first, then the holes
    size : float [m], side of an element aimed at
    keep : points of the outline that become nodes
    algorithm : int, the mesher's own number

    Raises
    ------
    ValueError
        If no quadrilaterals are left; whatever else the mesher raises passes.
    """
    import gmsh

    gmsh.initialize(readConfigFiles=False, interruptible=False)
    try:
        return _meshed(gmsh, rings, size, keep, algorithm)
    finally:
        gmsh.finalize()


def _meshed(
    gmsh: Any, rings: tuple[Ring, ...], size: float, keep: Ring, algorithm: int
) -> tuple[Any, Any]:
    model, option = gmsh.model, gmsh.option
    option.setNumber("General.Terminal", 0)
    option.setNumber("Mesh.RecombineAll", 1)
    option.setNumber("Mesh.RecombinationAlgorithm", 1)
    option.setNumber("Mesh.SubdivisionAlgorithm", 1)  # what is left of triangles is divided
    option.setNumber("Mesh.Algorithm", algorithm)
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


if __name__ == "__main__":
    main()
