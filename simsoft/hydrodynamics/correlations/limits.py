"""Range check shared by the correlations."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from simsoft.core.arrays import Array


def within(name: str, value: npt.ArrayLike, lowest: float, highest: float = np.inf) -> Array:
    """Return ``value`` as a float array after checking its range.

    Parameters
    ----------
    name : str, of the argument, for the message
    value : float or array
    lowest, highest : float, limits that are still allowed

    Returns
    -------
    array : array of the same shape

    Raises
    ------
    ValueError
        If an entry lies outside the limits or is not a number.
    """
    array = np.asarray(value, dtype=np.float64)
    if not np.all((array >= lowest) & (array <= highest)):
        raise ValueError(f"`{name}` must lie between {lowest:g} and {highest:g}, got {value!r}")
    return array
