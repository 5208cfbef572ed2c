"""Viscous loading of a section that vibrates with small amplitude in still water."""

from __future__ import annotations

from typing import Literal

import numpy as np
import numpy.typing as npt
from numpy.polynomial.polynomial import polyval
from scipy.special import kve

from simsoft.core.arrays import ComplexArray

# Sader 1998, J. Appl. Phys. 84:64, equation 21: rational polynomials in log10(Re), rising
# powers, numerator then denominator, for the real and the imaginary part of the correction.
_REAL = (
    (0.91324, -0.48274, 0.46842, -0.12886, 0.044055, -0.0035117, 0.00069085),
    (1.0, -0.56964, 0.48690, -0.13444, 0.045155, -0.0035862, 0.00069085),
)
_IMAGINARY = (
    (-0.024134, -0.029256, 0.016294, -0.00010961, 0.000064577, -0.000044510),
    (1.0, -0.59702, 0.55182, -0.18357, 0.079156, -0.014369, 0.0028361),
)
RANGE = (1.0e-6, 1.0e4)


def hydrodynamic_function(
    reynolds: npt.ArrayLike, section: Literal["circular", "rectangular"] = "rectangular"
) -> ComplexArray:
    """Complex added mass of a vibrating section over that of inviscid strip theory.

    The real part multiplies the added mass per length rho pi b^2 / 4, the imaginary part gives
    the viscous damping per length omega rho (pi b^2 / 4) Im.

    Parameters
    ----------
    reynolds : float or array [-]
        rho omega b^2 / (4 mu), with b the width (or diameter) and omega [rad/s].
    section : 'circular' or 'rectangular' (thin plate moving across its face)

    Returns
    -------
    gamma : complex array of the same shape [-]

    Raises
    ------
    ValueError
        If the section is unknown, or a Reynolds number is not positive or, for the rectangle,
        outside 1e-6 to 1e4, where the correction was fitted (within 0.1 %).

    References
    ----------
    Sader 1998, J. Appl. Phys. 84:64, equations 20 and 21 (rectangle); the circle after
    Rosenhead 1963, Laminar Boundary Layers.
    """
    re = np.asarray(reynolds, dtype=np.float64)
    if section not in ("circular", "rectangular"):
        raise ValueError(f"`section` must be 'circular' or 'rectangular', got {section!r}")
    if not np.all((re > 0.0) & np.isfinite(re)):
        raise ValueError(f"`reynolds` must be positive and finite, got {reynolds!r}")
    root = np.sqrt(1j * re)
    # Exponentially scaled Bessel functions: the scale cancels in the ratio, and the plain ones
    # underflow at large Reynolds numbers.
    circle = 1.0 + 4j * kve(1, -1j * root) / (root * kve(0, -1j * root))
    if section == "circular":
        return np.asarray(circle)[()]
    if not np.all((re >= RANGE[0]) & (re <= RANGE[1])):
        raise ValueError(f"`reynolds` must lie between 1e-06 and 10000, got {reynolds!r}")
    tau = np.log10(re)
    real = polyval(tau, _REAL[0]) / polyval(tau, _REAL[1])
    imaginary = polyval(tau, _IMAGINARY[0]) / polyval(tau, _IMAGINARY[1])
    return np.asarray((real + 1j * imaginary) * circle)[()]
