"""Moving six-by-six inertias between reference points."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]


def inertia_from_point(inertia: Array, reach: Array) -> Array:
    """Return an inertia (6, 6), rotation first, about the origin.

    ``inertia`` is about the point at ``reach`` (3,) [m] from the origin, same axes.
    """
    x, y, z = reach
    shift = np.eye(6)
    shift[3:, :3] = np.array([[0.0, z, -y], [-z, 0.0, x], [y, -x, 0.0]])
    return np.asarray(shift.T @ inertia @ shift)
