"""A beat that wanders: the mean rate of a phase that walks, and how well it is known."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy import stats

from simsoft.core.arrays import Array

FEWEST_STEPS = 3
LARGE = 0.3  # [rad], rms of the phase from which one sine no longer fits the whole run
LINE = 6.0 / 5.0  # variance of a straight line through a random walk over that of its ends' slope
TWO_SIGMA = float(stats.norm.cdf(2.0))


@dataclass(frozen=True)
class Wander:
    """How the phase of a run strays from one steady beat.

    Attributes
    ----------
    shift : float [rad per beat], slope of the phases, 0 where one sine fits the whole run
    u : float [rad per beat], standard uncertainty of the mean rate; 2 u holds 95 %
    scatter : float [-], scatter of the periods, as a share of the period
    """

    shift: float
    u: float
    scatter: float


def slow_components(steps: int) -> int:
    """Return how many slow cosine components of a series its long-run variance is taken from.

    Notes
    -----
    0.4 n^(2/3): Lazarus, Lewis, Stock & Watson 2018, J. Bus. Econ. Stat. 36:541 (from memory);
    three where that gives fewer, for a t distribution that can be used, and two for runs so
    short that the third component is no slow one.
    """
    return min(max(2, steps // 2), max(3, round(0.4 * math.pow(steps, 2.0 / 3.0))))


def long_run(steps: Array, noise: float) -> tuple[float, int]:
    """Return the long-run variance of steps (N,) and its degrees of freedom.

    Parameters
    ----------
    steps : array (N,) [rad], from beat to beat
    noise : float [rad], of a single phase, independent from beat to beat

    Notes
    -----
    Mean square of the first cosine transforms (equal weights): unlike the scatter of the steps it
    is right for steps that hang together. White noise of the phases adds 2 (1 - cos w) s^2 at
    angle w and is taken off again.
    """
    count = len(steps)
    used = slow_components(count)
    order = np.arange(1, used + 1)
    angle = math.pi * order / count
    basis = np.cos(np.outer(angle, np.arange(count) + 0.5)) * math.sqrt(2.0 / count)
    power = (basis @ steps) ** 2 - 2.0 * (1.0 - np.cos(angle)) * noise**2
    return max(0.0, float(power.mean())), used


def wander_of(phases: Array, noise: float) -> Wander | None:
    """Return the wander of phases, one a beat, None where there are too few.

    Parameters
    ----------
    phases : array (N,) [rad], unwrapped, against one steady beat
    noise : float [rad], of a single phase

    Notes
    -----
    The rate is the slope of a straight line through the phases: a weighted mean of the steps whose
    variance is 6/5 of the long-run variance over their number. The uncertainty is half of the
    interval that holds 95.4 % by Student's t, so that 2 u is honest for few beats too.
    """
    steps = np.diff(phases)
    if len(steps) < FEWEST_STEPS:
        return None
    variance, freedom = long_run(steps, noise)
    widened = 0.5 * float(stats.t.ppf(TWO_SIGMA, freedom))
    u = widened * math.sqrt(LINE * variance / len(steps))
    slope = float(np.polyfit(np.arange(len(phases)), phases, 1)[0])
    large = float(np.std(phases)) > LARGE
    return Wander(slope if large else 0.0, u, math.sqrt(variance) / (2.0 * math.pi))
