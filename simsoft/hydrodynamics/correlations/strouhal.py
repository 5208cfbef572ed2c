"""Published shedding frequencies of cylinders and bluff bodies, as pure functions."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from simsoft.core.arrays import Array
from simsoft.core.band import Band
from simsoft.hydrodynamics.correlations.limits import within

# Fey, Konig & Eckelmann 1998, Phys. Fluids 10:1547: lower end of each range of the Reynolds
# number, St* and m of St = St* + m / sqrt(Re). The fit leaves 240 to 360 open.
FEY_RANGES = (
    (47.0, 0.2684, -1.0356),
    (180.0, 0.2437, -0.8607),
    (230.0, 0.4291, -3.6735),
    (360.0, 0.2257, -0.4402),
    (1300.0, 0.2040, 0.3364),
    (5000.0, 0.1776, 2.2023),
)
FEY_GAP = (240.0, 360.0)
FEY_END = 2.0e5

# Strouhal numbers f D / U at Reynolds numbers of 1e3 to 1e5 unless the shape says otherwise.
_NARROW = "from memory of the source, +-10 %"
BLUFF_STROUHAL: dict[str, Band] = {
    "flat plate": Band(
        0.145, 0.14, 0.15, "Fage & Johansen 1927, Proc. R. Soc. A 116:170, two-dimensional"
    ),
    "inclined plate": Band(
        0.15,
        0.145,
        0.155,
        "Fage & Johansen 1927, Proc. R. Soc. A 116:170, on the projected width, 30 to 90 degrees",
    ),
    "disc": Band(
        0.135,
        0.1215,
        0.1485,
        "helical wake, Fuchs, Mercker & Michel 1979, J. Fluid Mech. 93:179; "
        f"Berger, Scholz & Schumm 1990, J. Fluids Struct. 4:231; {_NARROW}",
    ),
    "disc pumping": Band(
        0.05,
        0.045,
        0.055,
        f"slow pumping, Berger, Scholz & Schumm 1990, J. Fluids Struct. 4:231; {_NARROW}",
    ),
    "sphere": Band(0.19, 0.18, 0.20, "wake mode, Achenbach 1974, J. Fluid Mech. 62:209"),
    "sphere at Reynolds 300": Band(
        0.137, 0.1233, 0.1507, f"Johnson & Patel 1999, J. Fluid Mech. 378:19; {_NARROW}"
    ),
    "square cylinder": Band(0.1275, 0.12, 0.135, "Okajima 1982, J. Fluid Mech. 123:379"),
}


def cylinder_strouhal(reynolds: npt.ArrayLike) -> Array:
    """Strouhal number of a circular cylinder; zero below the onset of shedding.

    Parameters
    ----------
    reynolds : float or array [-], on the diameter, from 0 to 2e5

    Returns
    -------
    strouhal : array of the same shape [-], shedding frequency times diameter over speed

    Raises
    ------
    ValueError
        If a Reynolds number is negative or above 2e5.

    References
    ----------
    Fey, Konig & Eckelmann 1998, Phys. Fluids 10:1547. Their fit leaves Reynolds numbers 240 to
    360 open because the ends of the cylinder decide there; a straight line bridges the gap.
    """
    re = within("reynolds", reynolds, 0.0, FEY_END)
    starts, level, slope = (np.array(column) for column in zip(*FEY_RANGES, strict=True))

    def fit(at: Array) -> Array:
        row = np.maximum(np.searchsorted(starts, at, side="right") - 1, 0)
        return np.asarray(level[row] + slope[row] / np.sqrt(at))

    shedding = fit(np.maximum(re, starts[0]))
    bridge = np.interp(re, FEY_GAP, fit(np.array(FEY_GAP)))
    in_gap = (re > FEY_GAP[0]) & (re < FEY_GAP[1])
    return np.asarray(np.where(re < starts[0], 0.0, np.where(in_gap, bridge, shedding)))[()]


def bluff_strouhal(shape: str) -> Band:
    """Strouhal number f D / U of a bluff body, with its published scatter.

    Parameters
    ----------
    shape : one of the keys of ``BLUFF_STROUHAL``

    Returns
    -------
    strouhal : Band [-], its ``basis`` names the source

    Raises
    ------
    ValueError
        If the shape is not in the table.
    """
    if shape not in BLUFF_STROUHAL:
        raise ValueError(f"`shape` must be one of {', '.join(BLUFF_STROUHAL)}, got {shape!r}")
    return BLUFF_STROUHAL[shape]
