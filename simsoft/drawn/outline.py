"""Edges to draw: a solid seen along an axis, and the sizes that a case has of its pieces."""

from __future__ import annotations

from typing import Any

import numpy as np

from simsoft.case.shapes.slices import loops, turned_solid
from simsoft.core.arrays import Array
from simsoft.drawn.shapes import Appendage, Trunk

Axes = tuple[int, int]


def silhouettes(solid: Any, axes: Axes) -> list[Array]:
    """Return the closed curves (n, 2) [mm] of a solid's outline on two of its axes."""
    from manifold3d import CrossSection, FillRule

    eye = np.eye(3)
    first, second = eye[axes[0]], eye[axes[1]]
    frame = np.array([first, second, np.cross(first, second)])
    seen = turned_solid(solid, frame).project()
    whole = CrossSection(seen.to_polygons(), FillRule.Positive).simplify(0.02)
    return loops(whole)


def trunk_edge(trunk: Trunk, axes: Axes) -> Array | None:
    """Return the edge of a body's tables on two axes; None where it is seen from behind."""
    if axes[0] != 0:
        return None
    half = 0.5 * (trunk.height if axes[1] == 2 else trunk.width)
    x = trunk.at * trunk.length
    upper, lower = np.column_stack([x, half]), np.column_stack([x, -half])
    return np.vstack([upper, lower[::-1]])


def part_edges(part: Appendage, axes: Axes) -> list[Array]:
    """Return the edges of a part's sizes on two axes, of both where it is a pair or a fork."""
    line, wide, deep = _axes_along(part)
    at = np.linspace(0.0, 1.0, len(line))
    width, thick = (np.interp(at, part.at, v) for v in (part.width, part.thickness))
    rings = [_edge(line, wide, deep, width, thick, axes)]
    if part.plate is not None:
        plate = part.plate
        for sign in (-0.5, 0.5):
            rim = plate.outline[:, :1] * np.array([0.0, 1.0, 0.0])
            rim = rim + plate.outline[:, 1:] * plate.upright
            face = plate.centre + rim + sign * plate.thickness * plate.normal
            rings.append(_hull(face[:, list(axes)]))
    found = [ring for ring in rings if len(ring) > 2]
    if part.mirrored and 1 in axes:
        image = np.ones(2)
        image[axes.index(1)] = -1.0
        found += [ring * image for ring in found]
    if part.fork_angle and 2 in axes:
        image = np.ones(2)
        image[axes.index(2)] = -1.0
        shift = 2.0 * part.position[2] * (image < 0.0)
        found += [ring * image + shift for ring in found]
    return found


def _axes_along(part: Appendage) -> tuple[Array, Array, Array]:
    """Return the middle line (n, 3) and unit axes of width and thickness along it."""
    line = part.line
    if len(line) < 3:
        line = np.linspace(line[0], line[-1], 21)
    tangent = np.gradient(line, axis=0)
    tangent /= np.linalg.norm(tangent, axis=1)[:, None]
    if part.curl == "in-plane":
        wide = np.cross(np.cross(part.width_axis, part.direction), tangent)
    else:
        wide = np.tile(part.width_axis, (len(line), 1))
        wide = wide - np.einsum("ij,ij->i", wide, tangent)[:, None] * tangent
    wide = wide / np.linalg.norm(wide, axis=1)[:, None]
    return line, wide, np.cross(wide, tangent)


def _edge(line: Array, wide: Array, deep: Array, width: Array, thick: Array, axes: Axes) -> Array:
    """Return the edge of a strip as it is seen."""
    keep = list(axes)
    flat = line[:, keep]
    tangent = np.gradient(flat, axis=0)
    size = np.linalg.norm(tangent, axis=1)
    if size.min() < 1e-6:
        corners = [
            flat + a * width[:, None] * wide[:, keep] + b * thick[:, None] * deep[:, keep]
            for a in (-0.5, 0.5)
            for b in (-0.5, 0.5)
        ]
        return _hull(np.vstack(corners))
    across = np.column_stack([-tangent[:, 1], tangent[:, 0]]) / size[:, None]
    half = 0.5 * width * np.abs(np.einsum("ij,ij->i", wide[:, keep], across))
    half += 0.5 * thick * np.abs(np.einsum("ij,ij->i", deep[:, keep], across))
    return np.vstack([flat + half[:, None] * across, (flat - half[:, None] * across)[::-1]])


def _hull(points: Array) -> Array:
    from manifold3d import CrossSection

    found = loops(CrossSection.hull_points(np.ascontiguousarray(points)))
    return found[0] if found else points[:0]
