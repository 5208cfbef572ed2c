"""Distributions of scattering inputs: a share of 0..1 to a value, a value to overrides."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from simsoft.core.band import Band
from simsoft.design.text_number import computed

Group = Literal["making", "use", "model"]
WIDEST = 3.0  # standard deviations at which every distribution is cut off


@dataclass(frozen=True)
class Scatter:
    """One scattering input.

    Attributes
    ----------
    name : str, for the reader
    group : 'making', 'use' or 'model'
    at : function of the share u to its value [unit]
    unit : str, for the reader
    kind : 'override', or 'temperature' [K] and 'speed' [factor], which every run applies to
        its own water and speeds, and 'answer', which changes no key but what comes out
    write : function of the value to overrides
    """

    name: str
    group: Group
    at: Callable[[float], float]
    unit: str
    kind: Literal["override", "temperature", "speed", "answer"]
    write: Callable[[float], tuple[str, ...]]


def deviate(share: float) -> float:
    """Return the standard normal deviate of a share, cut off at three standard deviations."""
    from statistics import NormalDist

    tail = NormalDist().cdf(-WIDEST)
    return NormalDist().inv_cdf(tail + (1.0 - 2.0 * tail) * min(max(share, 0.0), 1.0))


def normal(mean: float, sigma: float) -> Callable[[float], float]:
    """Return a normal distribution as a function of the share."""
    return lambda share: mean + sigma * deviate(share)


def banded(band: Band) -> Callable[[float], float]:
    """Return a distribution whose ends at one standard deviation are those of a band.

    Two-sided: each side has the width of its own half band; in logarithms where all three
    numbers are above zero, so that no sample turns negative; else cut off at zero.
    """
    if band.low > 0.0:
        down, up = math.log(band.value / band.low), math.log(band.high / band.value)

        def scaled(share: float) -> float:
            z = deviate(share)
            return band.value * math.exp(z * (up if z > 0.0 else down))

        return scaled

    signed = two_sided(band)
    return lambda share: max(signed(share), 0.0)


def two_sided(band: Band) -> Callable[[float], float]:
    """Return the distribution of a band whose value may have either sign, ends as in `banded`."""

    def shifted(share: float) -> float:
        z = deviate(share)
        return band.value + z * (band.high - band.value if z > 0.0 else band.value - band.low)

    return shifted


def plain(
    name: str,
    group: Group,
    at: Callable[[float], float],
    path: str,
    unit: str = "",
    low: float = -math.inf,
    high: float = math.inf,
) -> Scatter:
    """Return an input that sets one key, kept within what the key allows."""

    def write(value: float) -> tuple[str, ...]:
        return (f"{path}={computed(value, unit).text}",)

    def kept(share: float) -> float:
        return min(max(at(share), low), high)

    return Scatter(name, group, kept, unit, "override", write)
