"""The D3Q19 lattice: 19 velocities, their weights and opposites.

Velocity 0 rests; velocities 2 k + 1 and 2 k + 2 are opposite to each other (Qian, d'Humieres &
Lallemand 1992, doi:10.1209/0295-5075/17/6/001). Populations are stored less their weight, so
that a fluid at rest is all zeros: single precision then keeps the small pressures of a slow
flow, and a uniform pressure loads no solid.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt

Real = Any  # a number of a kernel, single precision once compiled

DIRECTIONS = 19
AXIS_X = (0, 1, -1, 0, 0, 0, 0, 1, -1, 1, -1, 1, -1, 1, -1, 0, 0, 0, 0)
AXIS_Y = (0, 0, 0, 1, -1, 0, 0, 1, -1, -1, 1, 0, 0, 0, 0, 1, -1, 1, -1)
AXIS_Z = (0, 0, 0, 0, 0, 1, -1, 0, 0, 0, 0, 1, -1, -1, 1, 1, -1, -1, 1)
OPPOSITE = (0, 2, 1, 4, 3, 6, 5, 8, 7, 10, 9, 12, 11, 14, 13, 16, 15, 18, 17)

REST_WEIGHT = np.float32(1.0 / 3.0)
AXIS_WEIGHT = np.float32(1.0 / 18.0)
DIAGONAL_WEIGHT = np.float32(1.0 / 36.0)
SOUND_SPEED_SQUARED = 1.0 / 3.0  # [cells^2 / step^2]


def relaxation_time(viscosity: float) -> float:
    """Return the relaxation time [steps] of a kinematic viscosity [cells^2 / step]."""
    return 0.5 + viscosity / SOUND_SPEED_SQUARED


def weights() -> npt.NDArray[np.float32]:
    """Return the weights of the 19 velocities, array (19,)."""
    return np.array([REST_WEIGHT, *(6 * [AXIS_WEIGHT]), *(12 * [DIAGONAL_WEIGHT])], np.float32)
