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


def spread(line_mass: float, length: float) -> float:
    """Return the rotary inertia [kg m] per length of mass spread evenly over a stiff link.

    ``line_mass`` [kg/m]; ``length`` [m]. A link turns as a whole, so its mass does not sit at
    its node. With m l^2/12 the inertia of a wave of wavenumber k is (k l)^2/12 too large, just
    as its bending stiffness and its reactive force are, and the wave travels as it should but
    for terms of fourth order.
    """
    return line_mass * length**2 / 12.0
