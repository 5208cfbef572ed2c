"""From triangles as a file holds them to one closed solid: weld, wind, fill, unite."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from simsoft.case.shapes.mesh_holes import filled, lone_edges, open_edges
from simsoft.case.shapes.mesh_index import (
    edge_numbers,
    edges_of,
    once,
    renumbered,
    used,
    without_twins,
)
from simsoft.core.arrays import Array

WELD = 1e-6  # of the size: points nearer than this are one
WELD_FAR = 2e-4  # the same, where exact welding leaves gaps
MOST_TORN = 0.05  # of the edges open: no mesh with holes, but loose faces
MOST_PAIRS = 20_000_000  # of near points, a third of a gigabyte
SAMPLE = 300  # points asked how many lie near
MOST_SHELLS = 1000  # more than eyes and crumbs of a bait, and a second's work to unite
LARGEST_HOLE = 0.25  # of the size, rim of a hole that is filled; a larger one is a shape


@dataclass(frozen=True)
class Repaired:
    """A closed solid and what was done to it.

    Attributes
    ----------
    solid : manifold3d.Manifold, in the unit of the points
    notes : tuple of str, what was mended
    """

    solid: Any
    notes: tuple[str, ...]


def repaired(points: Array, faces: Any) -> Repaired:
    """Return the solid that triangles bound.

    Raises
    ------
    ValueError
        One clear sentence: the faces do not close a volume.
    ImportError
        The extra `mesh` is not installed.
    """
    import manifold3d  # noqa: F401  (said before any work is done)

    size = float(np.linalg.norm(np.ptp(points[used(faces)], axis=0)))
    if size <= 0.0:
        raise ValueError("has no size; a closed mesh of one bait is needed")
    notes: list[str] = []
    kept, faces = renumbered(faces)
    points, number = once(points[kept])
    points, faces = welded(points, number[faces], WELD * size)
    torn = lone_edges(faces)
    if torn:
        points, faces = welded(points, faces, WELD_FAR * size)
        torn = lone_edges(faces)
    if len(faces) < 4:
        raise ValueError("has less than four faces; a closed mesh of one bait is needed")
    edges = 3 * len(faces) // 2
    if torn > max(MOST_TORN * edges, 300):
        raise ValueError(
            f"does not close a volume: {torn} edges belong to one face only, of "
            f"{len(faces)} faces; export it as a closed solid"
        )
    pairs = _neighbours(faces)
    faces, turned = wound(faces, pairs)
    if turned:
        notes.append(f"{turned} faces were turned round")
    if 2 * len(pairs[0]) < 3 * len(faces):  # an edge of one face, or of more than two
        points, faces, more = _closed(points, faces, size)
        notes += more
        pairs = _neighbours(faces)
    solid, more = _united(_shells(points, faces, pairs))
    return Repaired(solid, (*notes, *more))


def _closed(points: Array, faces: Any, size: float) -> tuple[Array, Any, list[str]]:
    """Return points and faces with holes filled, and notes."""
    points, faces, holes, widest = filled(points, faces, LARGEST_HOLE * size)
    left = len(open_edges(faces))
    if left:
        raise ValueError(
            f"does not close a volume: {left} edges belong to one face only; close it in CAD"
        )
    told = f"{holes} holes were filled, the longest rim {widest / size:.1%} of the size"
    return points, faces, [told] if holes else []


def welded(points: Array, faces: Any, distance: float) -> tuple[Array, Any]:
    """Return points of which none are near and faces without those that collapse or repeat.

    Parameters
    ----------
    points : array (n, 3), no two alike: pairs of twins would be too many to list
    faces : array (m, 3) of int
    distance : float, points nearer than this are one

    Raises
    ------
    ValueError
        So many points lie near others that they are no surface.
    """
    tree = cKDTree(points)
    _refuse_crowded(tree, distance)
    pairs = tree.query_pairs(distance, output_type="ndarray")
    if len(pairs):
        graph = coo_matrix((np.ones(len(pairs)), pairs.T), shape=(len(points),) * 2)
        count, label = connected_components(graph, directed=False)
        first = np.zeros(count, dtype=np.int64)
        first[label[::-1]] = np.arange(len(points))[::-1]
        points, faces = points[first], label[faces]
    a, b, c = faces.T
    faces = faces[(a != b) & (b != c) & (c != a)]
    if len(faces):
        faces = without_twins(faces)
    kept, faces = renumbered(faces)
    return points[kept], faces


def _refuse_crowded(tree: cKDTree, distance: float) -> None:
    """Refuse points of which too many lie near others, by a sample: their pairs fill the memory."""
    sample = tree.data[:: max(tree.n // SAMPLE, 1)]
    others = tree.query_ball_point(sample, distance, return_length=True).mean() - 1.0
    if 0.5 * others * tree.n > MOST_PAIRS:
        raise ValueError(
            "has most of its points crowded in a spot, far from the rest; leave out what lies far"
        )


Pairs = tuple[Any, Any, Any]


def _neighbours(faces: Any) -> Pairs:
    """Return pairs of faces that share an edge of exactly two, and whether they are wound alike."""
    edges = edges_of(faces)
    owner = np.tile(np.arange(len(faces)), 3)
    forward = edges[:, 0] < edges[:, 1]
    number = edge_numbers(edges)
    order = np.argsort(number, kind="stable")
    number, owner, forward = number[order], owner[order], forward[order]
    starts = np.flatnonzero(np.concatenate([[True], number[1:] != number[:-1]]))
    two = starts[np.diff(np.append(starts, len(edges))) == 2]
    return owner[two], owner[two + 1], forward[two] != forward[two + 1]


def wound(faces: Any, pairs: Pairs) -> tuple[Any, int]:
    """Return faces wound alike over every shell, most of them as they were, and how many turned.

    ``pairs`` are the faces' `neighbours`.
    Each face stands twice in a graph, as it is and turned; faces that must be wound alike hang
    together. A shell that hangs together with its own turned self has no two sides.
    """
    count = len(faces)
    one, other, alike = pairs
    across = np.where(alike, other, other + count)
    back = np.where(alike, other + count, other)
    rows, columns = np.concatenate([one, one + count]), np.concatenate([across, back])
    graph = coo_matrix((np.ones(len(rows)), (rows, columns)), shape=(2 * count, 2 * count))
    _, label = connected_components(graph, directed=False)
    plain, turned = label[:count], label[count:]
    if (plain == turned).any():
        raise ValueError("has a surface with one side only, as a twisted band; mend it in CAD")
    # a shell is two components, mirror images; the one with most faces as they were is taken
    sizes = np.bincount(plain, minlength=label.max() + 1)
    flip = sizes[plain] < sizes[turned]
    even = (sizes[plain] == sizes[turned]) & (plain > turned)
    flip |= even
    faces = faces.copy()
    faces[flip] = faces[flip][:, ::-1]
    return faces, int(flip.sum())


def signed_volume(points: Array, faces: Any) -> float:
    """Return the volume that faces bound; negative where they are inside out."""
    a, b, c = (points[faces[:, k]] for k in range(3))
    return float(np.einsum("ij,ij->", a, np.cross(b, c)) / 6.0)


def _shells(points: Array, faces: Any, pairs: Pairs) -> list[Any]:
    """Return every shell as a solid with its volume's sign, the largest outward."""
    one, other, _ = pairs
    graph = coo_matrix((np.ones(len(one)), (one, other)), shape=(len(faces),) * 2)
    count, label = connected_components(graph, directed=False)
    if count > MOST_SHELLS:
        raise ValueError(
            f"holds {count} shells that do not hang together, at most {MOST_SHELLS} are united; "
            "export one closed bait"
        )
    starts = np.cumsum(np.bincount(label))[:-1]
    pieces = np.split(faces[np.argsort(label, kind="stable")], starts)
    crossed = 2 * len(one) < 3 * len(faces)  # an edge of four faces may part them falsely
    if crossed and any(len(open_edges(piece)) for piece in pieces):
        pieces = [faces]
    volumes = [signed_volume(points, piece) for piece in pieces]
    sign = np.sign(volumes[int(np.argmax(np.abs(volumes)))])
    found = []
    for piece, volume in zip(pieces, volumes, strict=True):
        outward = piece if volume > 0.0 else piece[:, ::-1]
        solid = _manifold(points, outward)
        if solid is not None:
            found.append((solid, sign * volume))
    if not found:
        raise ValueError("does not close a volume: its faces cross or fold; mend it in CAD")
    return found


def _manifold(points: Array, faces: Any) -> Any:
    """Return a solid, or None where its faces do not bound one."""
    from manifold3d import Error, Manifold, Mesh64

    kept, faces = renumbered(faces)
    corners = np.ascontiguousarray(points[kept], dtype=np.float64)
    faces = np.ascontiguousarray(faces, dtype=np.uint64)
    mesh = Mesh64(corners, faces)
    solid = Manifold(mesh)
    if solid.status() != Error.NoError:
        return None
    return None if solid.is_empty() else solid


def _united(shells: list[Any]) -> tuple[Any, list[str]]:
    """Return the union of all shells; one inside out within another is a hollow."""
    from manifold3d import Manifold, OpType

    notes = []
    outer = [solid for solid, volume in shells if volume > 0.0]
    if not outer:
        raise ValueError("does not close a volume: its largest shell folds; mend it in CAD")
    whole = Manifold.batch_boolean(outer, OpType.Add) if len(outer) > 1 else outer[0]
    for solid, volume in shells:
        if volume > 0.0:
            continue
        within = (whole ^ solid).volume() > 0.999 * solid.volume()
        whole = whole - solid if within else whole + solid
        notes.append("a hollow was kept" if within else "a shell inside out was turned")
    if len(shells) > 1:
        notes.insert(0, f"{len(shells)} shells were united")
    return whole, notes
