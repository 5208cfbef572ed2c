"""What a moving wall sends back into the flow, and what it takes from it.

Interpolated bounce-back of second order (Bouzidi, Firdaouss & Lallemand 2001,
doi:10.1063/1.1399290), in the form that needs the cell itself only; momentum exchange in the frame
of the wall, so that a uniform motion loads nothing (Wen et al. 2014,
doi:10.1016/j.jcp.2014.02.018).
"""

from __future__ import annotations

import numpy as np

from simsoft.core.compiled import lean_kernel
from simsoft.resolved.lattice import Real

ONE = np.float32(1.0)
TWO = np.float32(2.0)
SIX = np.float32(6.0)
HALF = np.float32(0.5)


@lean_kernel(forceinline=True)
def wall_share(fluid: Real, solid: Real) -> Real:
    """Return where the wall cuts the link from a fluid to a solid cell, 0 to 1.

    ``fluid`` and ``solid`` are the signed distances of the two cells.
    """
    return fluid / (fluid - solid)


@lean_kernel(forceinline=True)
def bounced(
    towards: Real, arriving: Real, away: Real, share: Real, clear: bool, push: Real
) -> Real:
    """Return the population that comes back from a wall.

    Parameters
    ----------
    towards : population that left the cell towards the wall
    arriving : population that has now come to the cell in that direction, used when ``clear``
    away : population that left the cell away from the wall
    share : where the wall cuts the link, see ``wall_share``
    clear : bool, the cell behind is fluid; else the wall is taken half way where it is near
    push : weight times the wall's speed along the link towards it
    """
    if share >= HALF:
        back = ONE / (TWO * share)
        return back * towards + (ONE - back) * away - SIX * push * back
    if clear:
        return TWO * share * towards + (ONE - TWO * share) * arriving - SIX * push
    return towards - SIX * push
