"""Triangles of a tail as the model has it: through its sections, moulded or deflected."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from simsoft.case.model import Part
from simsoft.core.arrays import Array
from simsoft.results.result import Shape

CORNERS = 24  # of a round section

Triangles = tuple[Array, Any]


def loft(rings: Array) -> Triangles:
    """Return points and faces of a closed solid through rings (n, m, 3) of points."""
    count, corners, _ = rings.shape
    here = np.arange(count * corners).reshape(count, corners)
    ahead = np.roll(here, -1, axis=1)
    a, b, c, d = here[:-1], ahead[:-1], ahead[1:], here[1:]
    sides = np.concatenate([np.stack([a, b, c], -1), np.stack([a, c, d], -1)]).reshape(-1, 3)
    first, last = count * corners, count * corners + 1
    points = np.vstack([rings.reshape(-1, 3), rings[0].mean(axis=0), rings[-1].mean(axis=0)])
    front = np.column_stack([ahead[0], here[0], np.full(corners, first)])
    rear = np.column_stack([here[-1], ahead[-1], np.full(corners, last)])
    return points, np.vstack([sides, front, rear])


def joined_triangles(pieces: Sequence[Triangles]) -> Triangles:
    """Return several solids side by side as one list of triangles."""
    starts = np.cumsum([0, *(len(points) for points, _ in pieces)])
    points = np.concatenate([points for points, _ in pieces])
    faces = [faces + start for (_, faces), start in zip(pieces, starts, strict=False)]
    return points, np.concatenate(faces)


def tail(shape: Shape, part: Part) -> Triangles:
    """Return the solid [mm] of a part in one of its shapes, paddle included.

    Parameters
    ----------
    shape : Shape, its middle line, edges and paddle
    part : Part, its thickness along the length and that of its paddle
    """
    line = shape.centreline
    wide = shape.edges[:, 1] - shape.edges[:, 0]
    width = np.linalg.norm(wide, axis=1)
    wide = wide / width[:, None]
    tangent = np.gradient(line, axis=0)
    deep = np.cross(wide, tangent)
    deep /= np.linalg.norm(deep, axis=1)[:, None]
    share = np.linspace(0.0, 1.0, len(line))
    thick = np.interp(share, part.thickness.stations, part.thickness.values)
    if part.section == "ellipse":
        turn = (np.arange(CORNERS) + 0.5) * 2.0 * np.pi / CORNERS
        outline = 0.5 * np.column_stack([np.cos(turn), np.sin(turn)])
    else:
        outline = 0.5 * np.array([[1.0, -1.0], [1.0, 1.0], [-1.0, 1.0], [-1.0, -1.0]])
    rings = (
        line[:, None]
        + (thick[:, None] * outline[:, 0])[..., None] * deep[:, None]
        + (width[:, None] * outline[:, 1])[..., None] * wide[:, None]
    )
    pieces = [loft(rings)]
    if part.paddle is not None and len(shape.paddle) > 2:
        rim = shape.paddle
        normal = np.linalg.svd(rim - rim.mean(axis=0))[2][2]
        half = 0.5 * part.paddle.thickness * normal
        pieces.append(loft(np.stack([rim - half, rim + half])))
    points, faces = joined_triangles(pieces)
    return 1e3 * (points + shape.root), faces
