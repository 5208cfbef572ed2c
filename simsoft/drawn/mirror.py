"""Planes through a bait's long axis in which it mirrors itself."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from simsoft.case.shapes.slices import middles, slices, span
from simsoft.core.arrays import Array

SAME = 0.02  # share of the area: planes that mirror as well as the best
CUTS = 40
STEP = np.radians(5.0)
NEAR = np.radians(6.0)  # of an asked axis, a plane that mirrors best is sought


@dataclass(frozen=True)
class Planes:
    """Planes of symmetry about the long axis x.

    Attributes
    ----------
    angles : tuple of float [rad], of their normals from y toward z; those as good as the best
    left_over : tuple of float [-], share of the area that each mirror image leaves over
    free : bool, whether every plane serves as well: a round bait
    """

    angles: tuple[float, ...]
    left_over: tuple[float, ...]
    free: bool


def planes(solid: Any) -> Planes:
    """Return the planes in which a solid (manifold3d.Manifold) mirrors itself, x its long axis.

    Areas count by their size; where those say nothing, every section counts alike, so that a
    small tail on a round body tells.
    """
    sections = sections_of(solid)
    for by_area in (True, False):
        rest = _rest(sections, by_area)
        angles = np.arange(36) * STEP
        found = np.array([rest(angle) for angle in angles])
        if found.max() - found.min() >= SAME or found.max() >= 2.0 * SAME:
            break
    else:
        return Planes((0.0,), (float(found.min()),), True)
    low = (found <= np.roll(found, 1)) & (found <= np.roll(found, -1))
    best = [_narrowed(rest, float(angle), STEP) for angle in angles[low]]
    values = [rest(angle) for angle in best]
    good = [k for k, value in enumerate(values) if value < min(values) + SAME]
    return Planes(
        tuple(best[k] for k in good), tuple(left_over(sections, best[k]) for k in good), False
    )


def near(solid: Any, angle: float) -> tuple[float, float]:
    """Return the angle [rad] near another at which a solid mirrors best, and what is left over."""
    sections = sections_of(solid)
    found = _narrowed(_rest(sections, True), angle, NEAR)
    return found, left_over(sections, found)


def sections_of(solid: Any) -> list[Any]:
    """Return even sections of a solid across x, empty ones left out."""
    found = [s.simplify(1e-3) for s in slices(solid, middles(*span(solid), CUTS))]
    return [s for s in found if not s.is_empty()]


def left_over(sections: list[Any], angle: float) -> float:
    """Return the share of the area that mirror images of sections leave over."""
    return _rest(sections, True)(angle)


def _rest(sections: list[Any], by_area: bool) -> Callable[[float], float]:
    areas = np.array([section.area() for section in sections])
    weights = np.full(len(areas), 1.0 / areas.sum()) if by_area else 1.0 / areas / len(areas)

    def rest(angle: float) -> float:
        normal = (float(np.cos(angle)), float(np.sin(angle)))
        over = np.array([(s - s.mirror(normal)).area() for s in sections])
        return float(over @ weights)

    return rest


def side_axis(axes: Array, angle: float) -> Array:
    """Return the normal (3,) of a plane at an angle in a frame whose first row is the long axis."""
    return np.asarray(np.cos(angle) * axes[1] + np.sin(angle) * axes[2])


def _narrowed(function: Callable[[float], float], middle: float, width: float) -> float:
    """Return where a function with one dip is lowest, by golden section."""
    ratio = 0.5 * (np.sqrt(5.0) - 1.0)
    low, high = middle - width, middle + width
    a, b = high - ratio * (high - low), low + ratio * (high - low)
    at_a, at_b = function(a), function(b)
    for _ in range(16):
        if at_a < at_b:
            high, b, at_b = b, a, at_a
            a = high - ratio * (high - low)
            at_a = function(a)
        else:
            low, a, at_a = a, b, at_b
            b = low + ratio * (high - low)
            at_b = function(b)
    return float(0.5 * (low + high))
