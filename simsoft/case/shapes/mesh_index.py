"""Numbers of points and edges of triangles, sorted and counted: what hashes do far slower."""

from __future__ import annotations

from typing import Any

import numpy as np

from simsoft.core.arrays import Array


def used(faces: Any) -> Any:
    """Return the points (n,) that faces name, rising."""
    return np.flatnonzero(np.bincount(np.asarray(faces, np.int64).reshape(-1)))


def renumbered(faces: Any) -> tuple[Any, Any]:
    """Return the points (n,) that faces (m, 3) name, rising, and the faces numbered in them."""
    named = np.bincount(faces.reshape(-1)) > 0
    return np.flatnonzero(named), (np.cumsum(named) - 1)[faces]


def counted(values: Any) -> tuple[Any, Any]:
    """Return the values (n,) of a list of integers, rising, and how often each stands in it."""
    if not len(values):
        return values, np.zeros(0, dtype=np.int64)
    values = np.sort(values)
    starts = np.flatnonzero(np.concatenate([[True], values[1:] != values[:-1]]))
    return values[starts], np.diff(np.append(starts, len(values)))


def edges_of(faces: Any) -> Any:
    """Return the directed edges (3 m, 2) of faces (m, 3): all first ones, second, third."""
    return np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]])


def edge_numbers(edges: Any) -> Any:
    """Return a number (n,) for each edge (n, 2), the same both ways."""
    return edges.min(axis=1) * (int(edges.max()) + 1) + edges.max(axis=1)


def once(rows: Array) -> tuple[Array, Any]:
    """Return rows (n, 3) rising and without twins, and the number in them of every row given."""
    order = np.lexsort(rows.T[::-1])
    risen = rows[order]
    new = np.concatenate([[True], (risen[1:] != risen[:-1]).any(axis=1)])
    number = np.empty(len(rows), dtype=np.int64)
    number[order] = np.cumsum(new) - 1
    return risen[new], number


def without_twins(faces: Any) -> Any:
    """Return faces (m, 3) in their order, of those with the same three points the first."""
    corners = np.sort(faces, axis=1)
    order = np.lexsort((corners[:, 2], corners[:, 1], corners[:, 0]))
    risen = corners[order]
    new = np.concatenate([[True], (risen[1:] != risen[:-1]).any(axis=1)])
    return faces[np.sort(order[new])]
