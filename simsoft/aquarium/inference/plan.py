"""Which run to make next: how far each would narrow what the verdict hangs on.

Linear Bayesian design on the Laplace posterior: a measurement with gradient g and scatter s
takes C g g'C/(s^2 + g'C g) off the covariance, whatever number it then shows.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy import stats

from simsoft.aquarium.measured import At, Measured
from simsoft.core.arrays import Array

# Relative u of one run of each kind (5 beats at 120 frames/s and the like, derived; screening).
RUN_SHARE = {
    "natural_frequency": 0.02,
    "flap_frequency": 0.05,
    "start_speed": 0.08,
    "stroke": 0.05,
}
# Inputs that a bench test gives at once: input, relative or absolute u, words.
BENCH = (
    ("modulus", 0.10, "a ring-down strip of the same pour"),
    ("loss_factor", 0.05, "a ring-down strip of the same pour"),
    ("thickness", 0.05e-3, "the tail's thickness by caliper"),
    ("density", 0.003, "weighing dry and in water"),
)


@dataclass(frozen=True)
class RunCandidate:
    """A run that could be made.

    Attributes
    ----------
    label : str
    slope : array (K, P), gradients of what it measures, per prior standard deviation
    scatter : array (K,), standard uncertainties from run to run
    model : array (K,), errors of the model, which repeats share
    """

    label: str
    slope: Array
    scatter: Array
    model: Array


@dataclass(frozen=True)
class Choice:
    """What one or two runs would leave of the doubt.

    Attributes
    ----------
    labels : tuple of str
    factor : float, one standard deviation of the target afterwards, as a factor
    left : float, share of the present standard deviation
    """

    labels: tuple[str, ...]
    factor: float
    left: float


def updated(covariance: Array, slope: Array, scatter: Array) -> Array:
    """Return the covariance (P, P) after measurements with gradients (K, P), scatter (K,)."""
    gain = covariance @ slope.T
    inner = slope @ gain + np.diag(scatter**2)
    return np.asarray(covariance - gain @ np.linalg.solve(inner, gain.T))


def rank_runs(
    covariance: Array, target: Array, candidates: Sequence[RunCandidate], *, most: int = 2
) -> list[Choice]:
    """Return single runs and pairs by how much of the target's doubt they leave, best first.

    Parameters
    ----------
    covariance : array (P, P), posterior (the unit matrix for the prior)
    target : array (P,), gradient of the logarithm of what the verdict hangs on
    candidates : sequence of Candidate
    most : int, runs together
    """
    now = math.sqrt(float(target @ covariance @ target))
    choices = []
    for size in range(1, most + 1):
        for group in itertools.combinations_with_replacement(candidates, size):
            after = updated(covariance, *_together(group))
            left = math.sqrt(max(0.0, float(target @ after @ target)))
            share = left / now if now > 0.0 else 1.0
            choices.append(Choice(tuple(c.label for c in group), math.exp(left), share))
    return sorted(choices, key=lambda choice: (choice.left, len(choice.labels)))


def _together(group: Sequence[RunCandidate]) -> tuple[Array, Array]:
    """Return gradients and scatter of runs made together; repeats average scatter alone."""
    counts: dict[str, int] = {}
    for one in group:
        counts[one.label] = counts.get(one.label, 0) + 1
    different = list({one.label: one for one in group}.values())
    slope = np.vstack([one.slope for one in different])
    scatter = [np.hypot(c.scatter / math.sqrt(counts[c.label]), c.model) for c in different]
    return slope, np.concatenate(scatter)


def repeats(difference: float, scatter: float, *, sure: float = 0.95, power: float = 0.80) -> int:
    """Return how many runs of each of two tails show a difference.

    Parameters
    ----------
    difference : float, relative, to be shown
    scatter : float, relative standard deviation from run to run of one tail
    sure, power : float, confidence of the two-sided test, chance to see the difference

    Notes
    -----
    Two-sample t test, n from its noncentral distribution, starting at
    2 ((z_a + z_b) s/d)^2 (textbook).

    Raises
    ------
    ValueError
        The difference or the scatter is not positive.
    """
    if not difference > 0.0 or not scatter > 0.0:
        raise ValueError("difference and scatter must be positive")
    n = 2
    while n < 10_000:
        free = 2 * n - 2
        shift = difference / scatter * math.sqrt(n / 2.0)
        limit = float(stats.t.ppf(0.5 + 0.5 * sure, free))
        if float(stats.nct.sf(limit, free, shift)) >= power:
            return n
        n += 1
    return n


def wished(speeds: Sequence[float], temperature: float, *, natural: bool) -> list[Measured]:
    """Return the measurements that candidate runs would make, with stand-in values.

    Parameters
    ----------
    speeds : sequence of float [m/s]
    temperature : float [K]
    natural : bool, the case has a still-water scenario
    """
    warm: At = {"temperature": temperature}
    found = [Measured("start_speed", 1.0, RUN_SHARE["start_speed"], "m/s", "", 1, {**warm})]
    for speed in speeds:
        for name, unit in (("flap_frequency", "Hz"), ("stroke", "m")):
            at: At = {"speed": speed, **warm}
            found.append(Measured(name, 1.0, RUN_SHARE[name], unit, "", 1, at))
    if natural:
        u = RUN_SHARE["natural_frequency"]
        found.append(Measured("natural_frequency", 1.0, u, "Hz", "", 1, {"mode": 1, **warm}))
    return found
