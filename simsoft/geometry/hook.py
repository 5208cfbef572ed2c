"""Hook wire and weights: length, volume, centre, inertia and added mass of slender and round."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from simsoft.core.arrays import Array


@dataclass(frozen=True)
class Wire:
    """A wire cut at the points of its path.

    Attributes
    ----------
    length : array (n,) [m], of each straight piece
    middle : array (n, 3) [m]
    tangent : array (n, 3) [-]
    diameter : float [m]
    """

    length: Array
    middle: Array
    tangent: Array
    diameter: float


def wire_along(path: Array, diameter: float) -> Wire:
    """Return the wire of a diameter [m] along a path (n + 1, 3) [m]."""
    ends = np.asarray(path, dtype=float)
    pieces = np.diff(ends, axis=0)
    length = np.linalg.norm(pieces, axis=1)
    return Wire(length, 0.5 * (ends[1:] + ends[:-1]), pieces / length[:, None], diameter)


def wire_volume(wire: Wire) -> float:
    """Return the volume [m^3] that the wire displaces; corners are counted once."""
    return 0.25 * math.pi * wire.diameter**2 * float(np.sum(wire.length))


def wire_centre(wire: Wire) -> Array:
    """Return the wire's centre (3,) [m]."""
    return np.asarray(wire.length @ wire.middle / np.sum(wire.length))


def wire_inertia(wire: Wire, point: Array) -> Array:
    """Return the wire's inertia tensor (3, 3) [m^5] about a point (3,) [m], per density.

    Straight round bars: l^2/12 + d^2/16 across, d^2/8 about the axis.
    """
    section = 0.25 * math.pi * wire.diameter**2
    round_part = wire.diameter**2 / 16.0
    total = np.zeros((3, 3))
    for length, middle, tangent in zip(wire.length, wire.middle, wire.tangent, strict=True):
        along = np.outer(tangent, tangent)
        across = np.eye(3) - along
        own = (length**2 / 12.0 + round_part) * across + 2.0 * round_part * along
        total += section * length * (own + point_inertia(middle - point))
    return total


def wire_added_mass(wire: Wire, density: float, point: Array) -> Array:
    """Return the wire's added mass (6, 6), rotation first, about a point (3,) [m].

    Strip theory for a round bar: pi/4 rho d^2 per length across, nothing along.
    """
    line = 0.25 * math.pi * wire.diameter**2 * density
    total = np.zeros((6, 6))
    for length, middle, tangent in zip(wire.length, wire.middle, wire.tangent, strict=True):
        across = line * length * (np.eye(3) - np.outer(tangent, tangent))
        x, y, z = middle - point
        arm = np.array([[0.0, z, -y], [-z, 0.0, x], [y, -x, 0.0]])
        total[3:, 3:] += across
        total[3:, :3] += across @ arm
        total[:3, 3:] += arm.T @ across
        total[:3, :3] += arm.T @ across @ arm
    return total


def wire_areas(wire: Wire) -> Array:
    """Return the areas (3,) [m^2] of the wire seen along x, y and z."""
    seen = np.sqrt(np.clip(1.0 - wire.tangent**2, 0.0, None))
    return np.asarray(wire.diameter * (wire.length @ seen))


def point_inertia(arm: Array) -> Array:
    """Return the inertia tensor (3, 3) [m^2] of a unit mass at ``arm`` (3,) [m]."""
    return np.asarray((arm @ arm) * np.eye(3) - np.outer(arm, arm))


def sphere_radius(volume: float) -> float:
    """Return the radius [m] of the sphere of a volume [m^3]."""
    return math.cbrt(0.75 * volume / math.pi)


def sphere_inertia(volume: float) -> Array:
    """Return the inertia tensor (3, 3) [m^5] of a sphere about its centre, per density."""
    return 0.4 * volume * sphere_radius(volume) ** 2 * np.eye(3)
