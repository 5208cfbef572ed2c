"""Drag of long sections across the stream by their proportions, as pure functions.

Tables of White, Fluid Mechanics, Table 7.2, after Hoerner 1965, for Reynolds numbers above 1e4
and laminar separation, from memory.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from simsoft.core.arrays import Array
from simsoft.hydrodynamics.correlations.limits import within

# First row is the size along the stream over the size across it; 0 is a plate square on.
ELLIPSE = ((0.0, 0.5, 1.0, 2.0, 4.0, 8.0), (1.98, 1.6, 1.2, 0.6, 0.35, 0.25))
RECTANGLE = (
    (0.0, 0.1, 0.4, 0.7, 1.2, 2.0, 2.5, 3.0, 6.0),
    (1.98, 1.9, 2.3, 2.7, 2.1, 1.8, 1.4, 1.3, 0.9),
)
PLATE = 1.2  # flat plates square on, up to five times as long as wide (the same, Table 7.3)
LIMP_LOAD = 2.0  # Cauchy number above which a strip's drag grows slower than the load


def section_drag_coefficient(section: str, along: Array, across: Array) -> Array:
    """Return the drag coefficient [-], on the size across, of long sections.

    Parameters
    ----------
    section : 'ellipse' or 'rectangle'
    along, across : array (n,) [m], sizes along and across the stream

    Notes
    -----
    Straight between the rows of the table; sections more than 8 (rectangles 6) times as long as
    high take the last row.
    """
    ratio = along / across
    return np.asarray(np.interp(ratio, *(RECTANGLE if section == "rectangle" else ELLIPSE)))


def folded_share(cauchy: npt.ArrayLike) -> Array:
    """Return the drag of a clamped strip that bends over in a stream, over that of a stiff one.

    Parameters
    ----------
    cauchy : float or array [-], rho U^2 C_d b L^3/(2 E I), not negative

    Notes
    -----
    Share min(1, (2/Ca)^(1/3)): the drag of a plate that bends far grows with U^(4/3) (Vogel
    exponent -2/3; Alben, Shelley & Zhang 2002, Nature 420:479). The factor is fitted to this
    program's rod, within 15 % for Ca up to 1e3.
    """
    load = within("cauchy", cauchy, 0.0)
    with np.errstate(divide="ignore"):
        return np.asarray(np.minimum(1.0, np.cbrt(LIMP_LOAD / load)))
