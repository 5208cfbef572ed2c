"""Published drag and shedding correlations of simple bodies, as pure functions.

Every function takes a dimensionless float or array and returns floats of the same shape. Each
refuses values outside the range it was fitted on, rather than extrapolating in silence.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from simsoft.core.arrays import Array
from simsoft.hydrodynamics.correlations.limits import within
from simsoft.hydrodynamics.correlations.strouhal import bluff_strouhal, cylinder_strouhal

__all__ = [
    "bluff_strouhal",
    "cylinder_drag",
    "cylinder_end_factor",
    "cylinder_strouhal",
    "plate_drag",
    "sphere_drag",
    "strip_oscillatory_coefficients",
]

# Rectangular plate square to the stream, Reynolds number above 1e3: White, Fluid Mechanics,
# Table 7.3, after Hoerner 1965 (from memory); first row is height over breadth, 0 = infinite span.
PLATE_TABLE = ((0.0, 0.05, 0.1, 0.2, 1.0), (1.98, 1.5, 1.3, 1.2, 1.18))

# Circular cylinder across the stream, Reynolds number about 1e5: White, Fluid Mechanics,
# Table 7.3, after Hoerner 1965 (from memory); first row is diameter over length, 0 = infinite.
CYLINDER_TABLE = (
    (0.0, 0.025, 0.05, 0.1, 0.2, 1.0 / 3.0, 0.5, 1.0),
    (1.2, 0.98, 0.91, 0.82, 0.74, 0.74, 0.68, 0.64),
)


def sphere_drag(reynolds: npt.ArrayLike) -> Array:
    """Drag coefficient of a smooth sphere, the standard drag curve.

    Parameters
    ----------
    reynolds : float or array [-], on the diameter, positive

    Returns
    -------
    drag : array of the same shape [-], on the frontal area

    Raises
    ------
    ValueError
        If a Reynolds number is not positive.

    References
    ----------
    Clift, Grace & Weber 1978, Bubbles, Drops and Particles, Table 5.2 (above 1e5 from memory).
    The published pieces meet within 2 %, except for a step of -0.019 at 4e5, past the crisis.
    """
    re = within("reynolds", reynolds, np.finfo(float).tiny)
    w = np.log10(re)
    ranges = [re < 0.01, re <= 20.0, re <= 260.0, re <= 1500.0, re <= 1.2e4]
    ranges += [re <= 4.4e4, re <= 3.38e5, re <= 4.0e5, re <= 1.0e6]
    low = np.clip(re, None, 260.0)
    curves = [
        3.0 / 16.0 + 24.0 / re,
        24.0 / re * (1.0 + 0.1315 * low ** (0.82 - 0.05 * np.log10(low))),
        24.0 / re * (1.0 + 0.1935 * re**0.6305),
        10.0 ** (1.6435 - 1.1242 * w + 0.1558 * w**2),
        10.0 ** (-2.4571 + 2.5558 * w - 0.9295 * w**2 + 0.1049 * w**3),
        10.0 ** (-1.9181 + 0.6370 * w - 0.0636 * w**2),
        10.0 ** (-4.3390 + 1.5809 * w - 0.1546 * w**2),
        29.78 - 5.3 * w,
        0.1 * w - 0.49,
    ]
    return np.asarray(np.select(ranges, curves, default=0.19 - 8.0e4 / re))[()]


def plate_drag(aspect_ratio: npt.ArrayLike) -> Array:
    """Drag coefficient of a flat rectangular plate square to the stream.

    Parameters
    ----------
    aspect_ratio : float or array [-], breadth over height, positive; ``inf`` is allowed and
        r and 1/r are the same plate

    Returns
    -------
    drag : array of the same shape [-], on the face area, for Reynolds numbers above 1e3

    Raises
    ------
    ValueError
        If an aspect ratio is not positive.

    Notes
    -----
    Table of White, Fluid Mechanics, Table 7.3, after Hoerner 1965, straight in height over
    breadth. The table of DNV-RP-C205, appendix E, is 15 % higher at an aspect ratio of 10 and
    4 % lower at infinity; nothing here decides between them.
    """
    ratio = within("aspect_ratio", aspect_ratio, np.finfo(float).tiny)
    slender = np.where(ratio < 1.0, ratio, 1.0 / ratio)
    return np.asarray(np.interp(slender, *PLATE_TABLE))[()]


def cylinder_drag(reynolds: npt.ArrayLike) -> Array:
    """Drag coefficient of a long circular cylinder across the stream.

    Parameters
    ----------
    reynolds : float or array [-], on the diameter, from 1 to 2.5e5 (below the drag crisis)

    Returns
    -------
    drag : array of the same shape [-], on length times diameter

    Raises
    ------
    ValueError
        If a Reynolds number is outside the fitted range.

    References
    ----------
    White, Viscous Fluid Flow: C_D = 1 + 10 Re^(-2/3), within 10 %.
    """
    re = within("reynolds", reynolds, 1.0, 2.5e5)
    return np.asarray(1.0 + 10.0 * re ** (-2.0 / 3.0))[()]


def cylinder_end_factor(length_over_diameter: npt.ArrayLike) -> Array:
    """Drag of a cylinder of finite length over that of an infinite one.

    Parameters
    ----------
    length_over_diameter : float or array [-], from 1 up; ``inf`` is allowed

    Returns
    -------
    factor : array of the same shape [-], 0.53 to 1

    Raises
    ------
    ValueError
        If a length is below one diameter.

    References
    ----------
    White, Fluid Mechanics, Table 7.3, after Hoerner 1965, at a Reynolds number of about 1e5
    (from memory); used at other Reynolds numbers as a factor, which is common practice.
    """
    ratio = within("length_over_diameter", length_over_diameter, 1.0)
    return np.asarray(np.interp(1.0 / ratio, *CYLINDER_TABLE) / CYLINDER_TABLE[1][0])[()]


def strip_oscillatory_coefficients(keulegan_carpenter: npt.ArrayLike) -> tuple[Array, Array]:
    """Drag and inertia coefficients of a flat strip in oscillating water.

    Parameters
    ----------
    keulegan_carpenter : float or array [-], speed amplitude times period over width, positive

    Returns
    -------
    drag, inertia : arrays of the same shape [-]
        ``drag`` on the width, ``inertia`` on the displaced cylinder of that diameter.

    Raises
    ------
    ValueError
        If a Keulegan-Carpenter number is not positive.

    References
    ----------
    Luhar & Nepf 2016, J. Fluids Struct. 61:20, fit to Keulegan & Carpenter 1958 and to
    Sarpkaya & O'Keefe 1996; a model form good to 20 %.
    """
    kc = within("keulegan_carpenter", keulegan_carpenter, np.finfo(float).tiny)
    drag = np.maximum(10.0 * kc ** (-1.0 / 3.0), 1.95)
    rise = np.where(kc < 20.0, 0.35, 0.15) * kc ** (2.0 / 3.0)
    inertia = 1.0 + np.minimum(rise, (kc - 18.0) ** 2 / 49.0)
    return np.asarray(drag)[()], np.asarray(inertia)[()]
