"""Moving six-by-six inertias between reference points."""

from __future__ import annotations

import numpy as np

from simsoft.core.arrays import Array


def inertia_from_point(inertia: Array, reach: Array) -> Array:
    """Return an inertia (..., 6, 6), rotation first, about the origin.

    ``inertia`` is about the point at ``reach`` (..., 3) [m] from the origin, same axes.
    """
    points = np.asarray(reach, dtype=np.float64)
    shift = np.zeros((*points.shape[:-1], 6, 6))
    shift[..., range(6), range(6)] = 1.0
    for i, j, k in ((0, 1, 2), (1, 2, 0), (2, 0, 1)):
        shift[..., 3 + i, j] = points[..., k]
        shift[..., 3 + j, i] = -points[..., k]
    return np.asarray(np.swapaxes(shift, -1, -2) @ inertia @ shift)


def turned(inertia: Array, frame: Array) -> Array:
    """Return inertias (..., 6, 6) in the axes that ``frame`` (..., 3, 3) has its columns in."""
    both = np.zeros((*frame.shape[:-2], 6, 6))
    both[..., :3, :3] = both[..., 3:, 3:] = frame
    return np.asarray(both @ inertia @ np.swapaxes(both, -1, -2))


def spread_inertia(line_mass: Array, length: Array) -> Array:
    """Return the rotary inertia [kg m] per length of mass spread evenly over a stiff link.

    ``line_mass`` [kg/m]; ``length`` [m]. A link turns as a whole, so its mass does not sit at
    its node. With m l^2/12 the inertia of a wave of wavenumber k is (k l)^2/12 too large, just
    as its bending stiffness and its reactive force are, and the wave travels as it should but
    for terms of fourth order.
    """
    return line_mass * length**2 / 12.0
