"""What independent standard normal inputs are after a look at a line of them.

A look says that a sum of inputs, each times its slope, is so large, give or take a doubt, or that
it lies on one side of a limit. Looks are taken one after the other; both updates keep a normal
distribution: the first is exact, the second keeps mean and variance of the exact one.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

import numpy as np

from simsoft.core.arrays import Array

Row = Mapping[str, float]
REFUSED = 0.01  # probability of a look so far from what was expected: it teaches nothing
STRANGE = 0.10  # from here on it may as well be wrong
EVEN = 0.5  # share of a look that is as likely wrong as what it is held against
SMALLEST = 1e-12  # variance of a look that no input and no doubt moves

Taken = Literal["used", "widened", "refused"]


@dataclass(frozen=True)
class Known:
    """Normal inputs by name; those not named are standard normal still.

    Attributes
    ----------
    names : tuple of str
    mean : array (P,)
    covariance : array (P, P)
    """

    names: tuple[str, ...] = ()
    mean: Array = field(default_factory=lambda: np.zeros(0))
    covariance: Array = field(default_factory=lambda: np.zeros((0, 0)))

    def mean_of(self, row: Row) -> float:
        """Return the expected sum of a row."""
        return float(self._slopes(row) @ self.mean)

    def variance_of(self, row: Row) -> float:
        """Return the variance of the sum of a row."""
        slopes = self._slopes(row)
        rest = sum(s * s for name, s in row.items() if name not in self.names)
        return max(0.0, float(slopes @ self.covariance @ slopes)) + rest

    def _slopes(self, row: Row) -> Array:
        return np.array([row.get(name, 0.0) for name in self.names])


def _grown(known: Known, row: Row) -> Known:
    """Return the same knowledge with the inputs of a row named."""
    new = tuple(name for name in row if name not in known.names)
    size, more = len(known.names), len(new)
    covariance = np.eye(size + more)
    covariance[:size, :size] = known.covariance
    return Known((*known.names, *new), np.concatenate([known.mean, np.zeros(more)]), covariance)


def learn_value(known: Known, row: Row, value: float, doubt: float) -> tuple[Known, Taken, float]:
    """Return what is known after a look at the size of a sum.

    Parameters
    ----------
    known : Known
    row : mapping of input to slope
    value, doubt : float, the sum seen and its standard deviation

    Returns
    -------
    known : Known, as before where the look is refused
    taken : 'used', 'widened' or 'refused'
    chance : float, of a look at least so far from what was expected

    Notes
    -----
    Conditioning of a normal distribution (textbook). A look of less than ``REFUSED`` is not taken:
    one of the two is wrong, and nobody can tell which. Between ``STRANGE`` and that the answer is a
    mixture of the look believed and not believed, in the end as much of the one as of the other.
    It has mean and covariance of both together, and one deviation reaches to what was seen.
    """
    known = _grown(known, row)
    slopes = known._slopes(row)
    away = value - float(slopes @ known.mean)
    total = max(SMALLEST, float(slopes @ known.covariance @ slopes) + doubt**2)
    far = abs(away) / math.sqrt(total)
    chance = math.erfc(far / math.sqrt(2.0))
    if chance < REFUSED:
        return known, "refused", chance
    gain = known.covariance @ slopes / total
    mean = known.mean + gain * away
    covariance = known.covariance - np.outer(gain, gain) * total
    believed = Known(known.names, mean, covariance)
    if chance >= STRANGE:
        return believed, "used", chance
    return reaching(blend(believed, known, belief(chance)), row, value), "widened", chance


def belief(chance: float) -> float:
    """Return the share that believes a look: 1 to a chance of ``STRANGE``, then to ``EVEN``."""
    if chance >= STRANGE:
        return 1.0
    return 1.0 - EVEN * math.log(STRANGE / max(chance, REFUSED)) / math.log(STRANGE / REFUSED)


def blend(one: Known, other: Known, share: float) -> Known:
    """Return the normal with mean and covariance of a mixture: ``share`` of one, the rest other."""
    one, other = (_grown(a, dict.fromkeys(b.names, 0.0)) for a, b in ((one, other), (other, one)))
    order = [other.names.index(name) for name in one.names]
    mean, covariance = other.mean[order], other.covariance[np.ix_(order, order)]
    apart = one.mean - mean
    spread = share * (1.0 - share) * np.outer(apart, apart)
    both = share * one.covariance + (1.0 - share) * covariance
    return Known(one.names, mean + share * apart, both + spread)


def reaching(known: Known, row: Row, value: float) -> Known:
    """Return the same with as much more variance as one deviation of a row needs to hold a value.

    The inputs get it as they would get the news of a look at that row.
    """
    known = _grown(known, row)
    slopes = known._slopes(row)
    own = max(SMALLEST, float(slopes @ known.covariance @ slopes))
    lacking = (value - float(slopes @ known.mean)) ** 2 - own
    if lacking <= 0.0:
        return known
    way = known.covariance @ slopes / own
    return Known(known.names, known.mean, known.covariance + lacking * np.outer(way, way))


def learn_side(
    known: Known, row: Row, limit: float, doubt: float, *, below: bool
) -> tuple[Known, Taken, float]:
    """Return what is known after a look that tells on which side of a limit a sum lies.

    Parameters
    ----------
    known, row : see `learn_value`
    limit, doubt : float, the limit and its standard deviation
    below : bool, whether the sum lies below it

    Notes
    -----
    Mean and variance of a normal times a cumulative normal: Rasmussen & Williams 2006, Gaussian
    Processes for Machine Learning, eqs. 3.85 to 3.87 (from memory; checked by sampling in the
    tests). ``chance`` is that of the side seen.
    """
    known = _grown(known, row)
    slopes = known._slopes(row)
    spread = math.sqrt(max(SMALLEST, float(slopes @ known.covariance @ slopes) + doubt**2))
    sign = 1.0 if below else -1.0
    inside = sign * (limit - float(slopes @ known.mean)) / spread
    chance = 0.5 * math.erfc(-inside / math.sqrt(2.0))
    if chance < REFUSED:
        return known, "refused", chance
    hazard = math.exp(-0.5 * inside**2) / math.sqrt(2.0 * math.pi) / chance
    gain = known.covariance @ slopes / spread
    mean = known.mean - sign * gain * hazard
    covariance = known.covariance - np.outer(gain, gain) * hazard * (hazard + inside)
    return Known(known.names, mean, covariance), "used", chance
