"""Plane sections of a solid and their moments, exact for polygons."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from simsoft.core.arrays import Array

# The library cuts at a height: x goes there, (y, z) lies in the plane.
FINE = 0.01  # of a radius: corners nearer to a straight line are left out
CORNERS = 24  # of a full turn around a corner
_X_UP = np.array([[0.0, 1.0, 0.0], [0.0, 0.0, 1.0], [1.0, 0.0, 0.0]])


def turned_solid(solid: Any, axes: Array, origin: Array | None = None) -> Any:
    """Return a solid in other axes.

    Parameters
    ----------
    solid : manifold3d.Manifold
    axes : array (3, 3), the new axes as rows, a right-handed frame
    origin : array (3,) or None, the new origin in the old axes
    """
    shift = np.zeros(3) if origin is None else -axes @ origin
    return solid.transform(np.column_stack([axes, shift]))


def moved(solid: Any, axes: Array, origin: Array) -> Any:
    """Return a solid given in axes at an origin, in the axes those are given in."""
    return solid.transform(np.column_stack([axes.T, origin]))


def slices(solid: Any, x: Sequence[float] | Array) -> list[Any]:
    """Return sections (manifold3d.CrossSection in y, z) of a solid across x."""
    upright = turned_solid(solid, _X_UP)
    return [upright.slice(float(height)) for height in x]


def span(solid: Any) -> tuple[float, float]:
    """Return the ends of a solid along x."""
    box = solid.bounding_box()
    return float(box[0]), float(box[3])


def middles(low: float, high: float, count: int) -> Array:
    """Return the middles of ``count`` equal steps."""
    return np.asarray(low + (np.arange(count) + 0.5) * (high - low) / count)


def loops(section: Any) -> list[Array]:
    """Return the closed curves (n, 2) of a section; holes run clockwise."""
    return [np.asarray(loop, dtype=np.float64) for loop in section.to_polygons()]


def moments(section: Any) -> Array:
    """Return area, centre (2,) and second moments yy, zz, yz about the centre of a section.

    Returns
    -------
    array (6,) : area, centre y, centre z, int y^2 dA, int z^2 dA, int yz dA
    """
    total = np.zeros(6)
    for loop in loops(section):
        y, z = loop.T
        y1, z1 = np.roll(y, -1), np.roll(z, -1)
        cross = y * z1 - y1 * z
        total += np.array(
            [
                cross.sum() / 2.0,
                (cross * (y + y1)).sum() / 6.0,
                (cross * (z + z1)).sum() / 6.0,
                (cross * (y * y + y * y1 + y1 * y1)).sum() / 12.0,
                (cross * (z * z + z * z1 + z1 * z1)).sum() / 12.0,
                (cross * (y * z1 + 2.0 * y * z + 2.0 * y1 * z1 + y1 * z)).sum() / 24.0,
            ]
        )
    area = total[0]
    if area <= 0.0:
        return np.zeros(6)
    cy, cz = total[1] / area, total[2] / area
    return np.array(
        [area, cy, cz, total[3] - area * cy**2, total[4] - area * cz**2, total[5] - area * cy * cz]
    )


def softest(second: Array) -> Array:
    """Return the smaller principal second moment of rows of yy, zz, yz."""
    yy, zz, yz = np.moveaxis(np.asarray(second), -1, 0)
    return np.asarray(0.5 * (yy + zz) - np.hypot(0.5 * (yy - zz), yz))


def inscribed(section: Any) -> float:
    """Return the radius of the largest circle within a section."""
    low, high = 0.0, 0.5 * min(_sides(section))
    section = section.simplify(0.01 * high)
    for _ in range(9):
        middle = 0.5 * (low + high)
        if section.offset(-middle).is_empty():
            high = middle
        else:
            low = middle
    return low


def without_holes(section: Any) -> Any:
    """Return a section with what it encloses filled."""
    if section.num_contour() < 2:
        return section
    from manifold3d import CrossSection, FillRule

    outer = [loop for loop in loops(section) if _signed(loop) > 0.0]
    return CrossSection(outer, FillRule.NonZero)


def _signed(loop: Array) -> float:
    y, z = loop.T
    return float(0.5 * np.sum(y * np.roll(z, -1) - np.roll(y, -1) * z))


def opened(section: Any, radius: float) -> Any:
    """Return a section without what is thinner than twice a radius."""
    from manifold3d import JoinType

    less = section.simplify(FINE * radius).offset(
        -radius, JoinType.Round, circular_segments=CORNERS
    )
    return less.offset(radius, JoinType.Round, circular_segments=CORNERS)


def closed(section: Any, radius: float) -> Any:
    """Return a section with its clefts filled that are narrower than twice a radius."""
    from manifold3d import JoinType

    more = section.simplify(FINE * radius).offset(radius, JoinType.Round, circular_segments=CORNERS)
    return more.offset(-radius, JoinType.Round, circular_segments=CORNERS)


def _sides(section: Any) -> tuple[float, float]:
    box = section.bounds()
    return float(box[2] - box[0]), float(box[3] - box[1])
