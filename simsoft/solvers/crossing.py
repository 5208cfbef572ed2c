"""Where the leading growth changes sign: brackets, hidden dips and bumps, and the speed itself."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np
from scipy.optimize import brentq, minimize_scalar

from simsoft.core.arrays import Array

WIDEST = 1.05  # ratio of neighbouring speeds between which no crossing is expected to hide
CLOSE_TO_ZERO = 0.5  # growth [1/s] in passages of the stream

SPEED_TOLERANCE = 1.0e-4  # relative, of a crossing
JUMP_TOLERANCE = 1.0e-3  # relative, of where a shape turns aside, behind bands
NEAR_ENOUGH = 0.01  # relative, of a crossing that is put right from there, or has no band
FAR_FROM_ZERO = 2.0  # times the change between samples: no dip in between reaches zero
NUDGE = 1.0e-2  # of the interval, for the slope of the growth at its ends


class Lead(NamedTuple):
    """Leading small motion at a speed; all of it nan where there is no rest shape.

    Attributes
    ----------
    growth : float [1/s]
    frequency : float [Hz]; zero where it does not beat
    slow : float [1/s], growth of the leading motion that the stream can drive. Fast passive
        modes sit just below zero at every speed and would hide a dip or bump of the others.
    """

    growth: float
    frequency: float
    slow: float


NO_REST = Lead(np.nan, 0.0, np.nan)


class Samples(NamedTuple):
    """Leading small motions at ascending speeds; growth is nan where there is no rest shape.

    Attributes
    ----------
    speed : array (S,) [m/s]
    growth, frequency, slow : array (S,), see ``Lead``
    """

    speed: Array
    growth: Array
    frequency: Array
    slow: Array


def refine(samples: Samples, length: float, sample: Callable[[float], Lead]) -> Samples:
    """Return the samples with more speeds put in where a crossing could hide.

    Two speeds divide every interval wider than ``WIDEST`` whose ends lie on the same side of
    zero, one of them closer to it than half a passage of the stream over ``length`` [m].
    """
    extra = []
    for i in range(len(samples.speed) - 1):
        a, b = float(samples.speed[i]), float(samples.speed[i + 1])
        ends = samples.slow[i : i + 2]
        if b < WIDEST * a or not np.all(np.isfinite(ends)) or ends[0] * ends[1] < 0.0:
            continue
        if float(np.abs(ends).min()) < CLOSE_TO_ZERO * b / length:
            extra += [a ** (2.0 / 3.0) * b ** (1.0 / 3.0), a ** (1.0 / 3.0) * b ** (2.0 / 3.0)]
    if not extra:
        return samples
    found = np.array([sample(speed) for speed in extra])
    every = np.concatenate([samples.speed, extra])
    order = np.argsort(every)
    columns = (
        np.concatenate([old, found[:, i]])[order]
        for i, old in enumerate((samples.growth, samples.frequency, samples.slow))
    )
    return Samples(every[order], *columns)


def brackets(
    samples: Samples, limit: float, sample: Callable[[float], Lead]
) -> list[tuple[float, float, bool]]:
    """Return speed brackets of every sign change, hidden ones between samples included.

    A sample without a rest shape ends nothing: the search goes on between its neighbours, and
    it is for the caller to say that there was none.

    Parameters
    ----------
    samples : Samples
    limit : float [1/s], growth that counts as none
    sample : function of speed [m/s] returning the leading motion there

    Returns
    -------
    list of (low, high, starts), ``starts`` true where growth begins
    """
    known = np.isfinite(samples.growth)
    speeds, growth = samples.speed[known], samples.growth[known]
    slow = np.where(np.isfinite(samples.slow[known]), samples.slow[known], growth)
    result = []
    unstable = growth > limit
    if len(speeds) and known[0] and unstable[0]:
        result.append((0.0, float(speeds[0]), True))
    for i in range(len(speeds) - 1):
        a, b = float(speeds[i]), float(speeds[i + 1])
        if unstable[i] != unstable[i + 1]:
            result.append((a, b, bool(unstable[i + 1])))
            continue
        hidden = _hidden(speeds, slow, i, bool(unstable[i]), sample)
        if hidden is not None and (hidden[1] > limit) != unstable[i]:
            result.append((a, hidden[0], not unstable[i]))
            result.append((hidden[0], b, bool(unstable[i])))
    return result


def _hidden(
    speeds: Array,
    growth: Array,
    i: int,
    unstable: bool,
    sample: Callable[[float], Lead],
) -> tuple[float, float] | None:
    """Return the extreme growth between samples i and i + 1 if it may cross zero there."""
    sign = 1.0 if unstable else -1.0
    low, high = float(speeds[i]), float(speeds[i + 1])
    around = np.abs(np.diff(growth[max(0, i - 1) : i + 3]))
    if min(abs(growth[i]), abs(growth[i + 1])) > FAR_FROM_ZERO * float(around.max()):
        return None
    nudge = NUDGE * (high - low)
    ends = [(low, nudge, float(growth[i])), (high, -nudge, float(growth[i + 1]))]
    steepest = 0.0
    for speed, inward, value in sorted(ends, key=lambda end: sign * end[2]):
        change = sign * float(sample(speed + inward).slow - value) / nudge
        if not change < 0.0:
            return None  # it does not come nearer to zero from this end, or is not known
        steepest = max(steepest, -change)
    # the two tangents meet above the true extreme of a smooth dip: none reaches zero, none does
    reach = steepest * (high - low)
    if abs(growth[i]) > 2.0 * reach and abs(growth[i + 1]) > 2.0 * reach:
        return None
    worst = sign * max(abs(growth[i]), abs(growth[i + 1]))

    def depth(speed: float) -> float:
        found = sample(float(speed)).slow
        return sign * (found if np.isfinite(found) else worst)

    found = minimize_scalar(
        depth,
        bounds=(low, high),
        method="bounded",
        options={"xatol": 1e-3 * high, "maxiter": 20},
    )
    return float(found.x), sign * float(found.fun)


def locate(
    low: float,
    high: float,
    starts: bool,
    limit: float,
    sample: Callable[[float], Lead],
    tolerance: float = SPEED_TOLERANCE,
) -> float:
    """Return the speed [m/s] at which growth begins, or ceases, within a bracket.

    Brent's method, which falls back on halving where a mode takes over and makes a jump. A speed
    without a rest shape counts as lying on the lower side.
    """
    sign = 1.0 if starts else -1.0
    over = sign * (sample(high).growth - limit)

    def above(speed: float) -> float:
        value = sign * (sample(speed).growth - limit) if speed > 0.0 else -over
        return value if np.isfinite(value) else -abs(over)

    if above(low) >= 0.0 or over <= 0.0:
        return high if above(low) < 0.0 else low
    return float(brentq(above, low, high, xtol=tolerance * high))


def locate_jump(
    low: float, high: float, limit: float, sample: Callable[[float], Lead], tolerance: float
) -> float:
    """Return the lowest speed [m/s] within a bracket found to grow, to a relative tolerance.

    The bracket is halved: where a shape is lost the growth jumps, and no curve through it helps.
    A speed without a rest shape counts as lying on the lower side.
    """
    while high - low > tolerance * high:
        middle = 0.5 * (low + high)
        if sample(middle).growth > limit:
            high = middle
        else:
            low = middle
    return high
