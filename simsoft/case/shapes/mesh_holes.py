"""Holes of a mesh: loops of edges that belong to one face, filled with a fan."""

from __future__ import annotations

from typing import Any

import numpy as np

from simsoft.case.shapes.mesh_index import counted, edge_numbers, edges_of
from simsoft.core.arrays import Array


def open_edges(faces: Any) -> Any:
    """Return the directed edges (n, 2) that no other face runs through the other way."""
    if not len(faces):
        return np.zeros((0, 2), dtype=np.int64)
    edges = edges_of(faces)
    span = int(faces.max()) + 1
    ahead, back = edges[:, 0] * span + edges[:, 1], edges[:, 1] * span + edges[:, 0]
    found, index, count = np.unique(ahead, return_index=True, return_counts=True)
    returned, times = counted(back)
    place = np.clip(np.searchsorted(returned, found), 0, len(returned) - 1)
    there = returned[place] == found
    return edges[index[~there | ((count > 1) & (times[place] != count))]]


def lone_edges(faces: Any) -> int:
    """Return how many edges belong to one face only, however the faces are wound."""
    if not len(faces):
        return 0
    _, count = counted(edge_numbers(edges_of(faces)))
    return int((count == 1).sum())


def filled(points: Array, faces: Any, longest: float) -> tuple[Array, Any, int, float]:
    """Return points and faces with holes closed, how many there were, and the longest rim.

    Parameters
    ----------
    points, faces : arrays (n, 3), (m, 3)
    longest : float, rim above which a hole is not filled

    Raises
    ------
    ValueError
        A hole is larger, and what closes it cannot be known.
    """
    loops = _loops(open_edges(faces))
    added_points, added_faces = [points], [faces]
    widest, start = 0.0, len(points)
    for loop in loops:
        rim = points[loop]
        length = float(np.linalg.norm(rim - np.roll(rim, 1, axis=0), axis=1).sum())
        if length > longest:
            size = float(np.linalg.norm(np.ptp(points, axis=0)))
            raise ValueError(
                f"is open: a hole with a rim of {length:.4g} in a mesh of size {size:.4g}; "
                "close it in CAD"
            )
        widest = max(widest, length)
        if len(loop) == 3:
            added_faces.append(np.array([[loop[2], loop[1], loop[0]]]))
            continue
        added_points.append(rim.mean(axis=0)[None])
        ahead = np.roll(loop, -1)
        added_faces.append(np.column_stack([ahead, loop, np.full(len(loop), start)]))
        start += 1
    return np.concatenate(added_points), np.concatenate(added_faces), len(loops), widest


def _loops(edges: Any) -> list[Any]:
    """Return closed walks over edges; a point met twice ends a walk of its own."""
    ahead: dict[int, list[int]] = {}
    for start, end in edges.tolist():
        ahead.setdefault(start, []).append(end)
    loops: list[Any] = []
    for start in list(ahead):
        while ahead.get(start):
            walk, place = [start], {start: 0}
            while ahead.get(walk[-1]):
                step = ahead[walk[-1]].pop()
                if step in place:
                    loop = walk[place[step] :]
                    if len(loop) > 2:
                        loops.append(np.array(loop))
                    for gone in loop[1:]:
                        del place[gone]
                    walk = walk[: place[step] + 1]
                    if step == start and not ahead.get(start):
                        break
                    continue
                place[step] = len(walk)
                walk.append(step)
            else:
                break
    return loops
