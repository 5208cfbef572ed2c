"""Quadrilaterals on any outline with holes, as plates take them."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from simsoft.core.arrays import Array, Integers
from simsoft.geometry.quads import quads_between

Ring = tuple[tuple[float, float], ...]

CACHED_MESHES = 16
MOST_ELEMENTS = 40_000
FINER = 0.6  # of the side asked for: first wet frequencies are then within 1.5 % of a fine mesh


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
        If no mesh of that size follows the outline, or one would have too many elements.
    """
    needed = max(_boxed(rings[0]) / size**2, max(_around(ring) for ring in rings) / size)
    if needed > MOST_ELEMENTS:
        raise ValueError(
            f"about {needed:.3g} elements of {1e3 * size:.3g} mm would be needed; "
            f"{MOST_ELEMENTS} are allowed: give fewer numerics.elements, or a narrower outline"
        )
    side = FINER * size
    corners = [np.array(_sparse(ring, 1.9 * side, keep)) for ring in rings]
    plan, quads = quads_between(corners, side)
    return np.ascontiguousarray(plan), np.ascontiguousarray(quads)


def _boxed(ring: Ring) -> float:
    """Return the area [m^2] of the box around a ring."""
    wide, high = np.ptp(np.asarray(ring), axis=0)
    return float(wide * high)


def _around(ring: Ring) -> float:
    """Return the length [m] of a ring."""
    points = np.asarray(ring)
    return float(np.linalg.norm(points - np.roll(points, 1, axis=0), axis=1).sum())


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
