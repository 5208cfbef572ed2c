"""Two designs by the repeats of each: Welch's difference, its band, how many runs settle it.

The band is Welch's interval, for repeats that scatter by different amounts. The scatter of a design
is never taken for less than what its readings state of themselves.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy import stats

SURE = 0.95  # share of such bands that hold the true difference
POWER = 0.80  # chance that the further runs named show a difference that is what it looks like
MOST_MORE = 50  # further runs of each that are looked through
FEWEST = 2  # runs of a design from which it has a scatter
LARGEST_FREE = 1e6  # degrees of freedom, as good as any more


@dataclass(frozen=True)
class Repeats:
    """Repeats of one design under the same conditions.

    Attributes
    ----------
    n : int
    mean : float
    scatter : float, standard deviation from run to run; 0 for a single run
    """

    n: int
    mean: float
    scatter: float


@dataclass(frozen=True)
class Apart:
    """What repeats of two designs say of their difference.

    Attributes
    ----------
    difference : float, second less first
    low, high : float or None, its band; None where a design has no scatter
    resolved : bool, the band does not hold zero
    more : int or None, further runs of each that would show it; None where ``MOST_MORE`` would not
    held : bool, no number of runs would: what they have in common hides it
    """

    difference: float
    low: float | None
    high: float | None
    resolved: bool
    more: int | None
    held: bool = False


def repeats_of(values: Sequence[float], stated: Sequence[float]) -> Repeats:
    """Return mean and scatter of repeats.

    Parameters
    ----------
    values : sequence of float
    stated : sequence of float, their own standard uncertainties, 0 where none is stated
    """
    found = np.asarray(values, dtype=float)
    if len(found) < FEWEST:
        return Repeats(len(found), float(found.mean()), 0.0)
    own = math.sqrt(float(np.mean(np.square(stated))))
    return Repeats(len(found), float(found.mean()), max(float(np.std(found, ddof=1)), own))


def welch_difference(first: Repeats, second: Repeats, common: float = 0.0) -> Apart:
    """Return the difference of two designs with its band, and how many more runs it needs.

    Parameters
    ----------
    first, second : Repeats
    common : float, standard uncertainty of the difference that no repeat takes away

    Notes
    -----
    Welch 1947, Biometrika 34:28 (doi:10.1093/biomet/34.1-2.28), with Satterthwaite's degrees of
    freedom; ``common`` joins as a part of infinitely many (JCGM 100:2008, G.4).
    """
    difference = second.mean - first.mean
    if min(first.n, second.n) < FEWEST or first.scatter + second.scatter + common == 0.0:
        return Apart(difference, None, None, False, None)
    u, free = _spread(first, second, common, 0)
    half = _limit(free) * u
    if abs(difference) > half:
        return Apart(difference, difference - half, difference + half, True, 0)
    held = common > 0.0 and _shown(difference, common, LARGEST_FREE) < POWER
    more = None if held else _more(first, second, common, difference)
    return Apart(difference, difference - half, difference + half, False, more, held)


def _more(first: Repeats, second: Repeats, common: float, difference: float) -> int | None:
    """Return the fewest further runs of each that show a difference, None for more than most."""
    for count in range(1, MOST_MORE + 1):
        if _shown(difference, *_spread(first, second, common, count)) >= POWER:
            return count
    return None


def _shown(difference: float, u: float, free: float, sure: float = SURE) -> float:
    """Return the chance that a two-sided t test shows a difference.

    Parameters
    ----------
    difference : float
    u : float, its standard uncertainty
    free : float, degrees of freedom
    sure : float, confidence of the test
    """
    return float(stats.nct.sf(_limit(free, sure), free, abs(difference) / u))


def shares_apart(first: tuple[int, int], second: tuple[int, int]) -> bool:
    """Tell whether two designs beat in different shares of their runs.

    Parameters
    ----------
    first, second : (runs that beat, runs that do not)

    Notes
    -----
    Fisher's exact test at 1 - ``SURE``.
    """
    return float(stats.fisher_exact([first, second]).pvalue) < 1.0 - SURE


def _limit(free: float, sure: float = SURE) -> float:
    return float(stats.t.ppf(0.5 + 0.5 * sure, free))


def _spread(first: Repeats, second: Repeats, common: float, more: int) -> tuple[float, float]:
    """Return the difference's standard uncertainty and its degrees of freedom with more runs."""
    parts = [(side.scatter**2 / (side.n + more), side.n + more - 1) for side in (first, second)]
    square = sum(part for part, _ in parts) + common**2
    shrunk = sum(part**2 / free for part, free in parts)
    return math.sqrt(square), min(square**2 / shrunk, LARGEST_FREE) if shrunk else LARGEST_FREE
