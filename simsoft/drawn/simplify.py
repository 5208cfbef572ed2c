"""Tables with few stations: as many as the values need, no more."""

from __future__ import annotations

import numpy as np

from simsoft.core.arrays import Array

NEAR = 0.006  # of the largest value: a table follows its values as near as this
EVEN = 0.012  # of the largest value: less change is none


def few(at: Array, values: Array, most: int = 9) -> tuple[Array, Array]:
    """Return the stations that straight lines need to follow values.

    Parameters
    ----------
    at : array (n,) [-], rising from 0 to 1
    values : array (n,)
    most : int, stations at most

    Returns
    -------
    at, values : arrays; one value where they are even
    """
    if np.ptp(values) < EVEN * values.max():
        return np.array([0.0]), np.array([float(np.median(values))])
    chosen = [0, len(at) - 1]
    while len(chosen) < most:
        miss = np.abs(np.interp(at, at[chosen], values[chosen]) - values)
        worst = int(np.argmax(miss))
        if miss[worst] < NEAR * values.max():
            break
        chosen = sorted([*chosen, worst])
    return at[chosen], values[chosen]
