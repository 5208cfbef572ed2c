"""Added mass of ellipsoids and the axial factor of spheroids, in closed form."""

from __future__ import annotations

import math

import numpy as np

from simsoft.core.arrays import Array

ROUND = 1e-9  # [-], axes closer than this share are equal: turning about the third moves no water


def ellipsoid_added_mass(a: float, b: float, c: float, density: float = 1.0) -> Array:
    """Return the added mass of an ellipsoid in its principal axes.

    Parameters
    ----------
    a, b, c : float [m], semi-axes along x, y, z, positive
    density : float [kg/m^3], of the fluid

    Returns
    -------
    array (6,) : [kg m^2] turning about x, y, z, then [kg] moving along x, y, z

    Notes
    -----
    Lamb, Hydrodynamics, arts. 114-115: with alpha = abc int dl/((a^2 + l) D), alpha + beta +
    gamma = 2, moving takes m alpha/(2 - alpha), turning about x m/5 (b^2 - c^2)^2 (gamma - beta)
    / (2 (b^2 - c^2) + (b^2 + c^2)(beta - gamma)). The integrals are Carlson's R_D (Carlson 1979,
    Numer. Math. 33:1). Differences are written as sums, so that a disc keeps all its digits.
    """
    from scipy.special import elliprd

    square = np.array([a * a, b * b, c * c])
    share = np.array(
        [
            2.0 / 3.0 * a * b * c * float(elliprd(square[i - 2], square[i - 1], square[i]))
            for i in range(3)
        ]
    )
    displaced = 4.0 / 3.0 * math.pi * a * b * c * density
    result = np.zeros(6)
    for i in range(3):
        j, k = (i + 1) % 3, (i + 2) % 3
        result[3 + i] = displaced * share[i] / (share[j] + share[k])
        unlike = square[j] - square[k]
        if abs(unlike) > ROUND * (square[j] + square[k]):
            resistance = square[j] * (share[i] + 2.0 * share[j])
            resistance -= square[k] * (share[i] + 2.0 * share[k])
            result[i] = 0.2 * displaced * unlike**2 * (share[k] - share[j]) / resistance
    return result


def equivalent_spheroid(volume: float, length: float) -> tuple[float, float]:
    """Return the semi-axes [m], along and across, of the spheroid of a volume and length."""
    along = 0.5 * length
    return along, math.sqrt(3.0 * volume / (4.0 * math.pi * along))
