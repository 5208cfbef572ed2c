"""Directions that drawings of a part imply: of its sections, and of its paddle."""

from __future__ import annotations

import numpy as np

from simsoft.core.arrays import Array


def section_directions(centreline: Array, edges: Array) -> Array:
    """Return the axes of the sections: across the thickness, along the width, along the part.

    Parameters
    ----------
    centreline : array (..., N, 3) [m]
    edges : array (..., N, 2, 3) [m], both edges of the width

    Returns
    -------
    axes : array (..., N, 3, 3), unit vectors in rows: thickness, width (from the first edge to the
        second), tangent; NaN where a section has no width or the part no length
    """
    width = _unit(edges[..., 1, :] - edges[..., 0, :])
    along = np.gradient(centreline, axis=-2) if centreline.shape[-2] > 1 else 0.0 * centreline
    along = along - (along * width).sum(-1, keepdims=True) * width
    tangent = _unit(along)
    return np.stack([np.cross(width, tangent), width, tangent], axis=-2)


def paddle_frames(outline: Array) -> tuple[Array, Array]:
    """Return centre and axes of a paddle's plate.

    Parameters
    ----------
    outline : array (..., P, 3) [m], around the plate

    Returns
    -------
    centre : array (..., 3) [m], mean of the outline's points
    axes : array (..., 3, 3), unit vectors in rows: normal (right-handed about the outline), toward
        the outline's first point, across both; NaN where there is no paddle

    Notes
    -----
    The normal is Newell's: the sum of the cross products of following points, which also serves a
    plate that is not quite flat.
    """
    if outline.shape[-2] < 3:
        nothing = np.full((*outline.shape[:-2], 3), np.nan)
        return nothing, np.repeat(nothing[..., None, :], 3, axis=-2)
    centre = outline.mean(axis=-2)
    spokes = outline - centre[..., None, :]
    normal = _unit(np.cross(spokes, np.roll(spokes, -1, axis=-2)).sum(axis=-2))
    first = spokes[..., 0, :]
    first = _unit(first - (first * normal).sum(-1, keepdims=True) * normal)
    return centre, np.stack([normal, first, np.cross(normal, first)], axis=-2)


def _unit(vectors: Array) -> Array:
    """Return vectors of length one, NaN where there is no length."""
    length = np.linalg.norm(vectors, axis=-1, keepdims=True)
    return np.asarray(np.divide(vectors, length, out=np.full(vectors.shape, np.nan),
                                where=length > 0.0))  # fmt: skip
