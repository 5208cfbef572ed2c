"""Where the leading growth changes sign: brackets, hidden dips and bumps, bisection."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
from scipy.optimize import minimize_scalar

Array = npt.NDArray[np.float64]

NO_REST = -1.0e9  # [1/s], stands for the growth where there is no rest shape
WIDEST = 1.05  # ratio of neighbouring speeds between which no crossing is expected to hide
CLOSE_TO_ZERO = 0.5  # growth [1/s] in passages of the stream

SPEED_TOLERANCE = 1.0e-4  # relative, of a bisected crossing
FAR_FROM_ZERO = 2.0  # times the change between samples: no dip in between reaches zero
NUDGE = 1.0e-2  # of the interval, for the slope of the growth at its ends


class Lead(NamedTuple):
    """Leading small motion at a speed.

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


def refine(
    speeds: Array,
    growth: Array,
    frequency: Array,
    slow: Array,
    length: float,
    sample: Callable[[float], Lead],
) -> tuple[Array, Array, Array, Array]:
    """Return the samples with more speeds put in where a crossing could hide.

    Two speeds divide every interval wider than ``WIDEST`` whose ends lie on the same side of
    zero, one of them closer to it than half a passage of the stream over ``length`` [m].
    """
    extra = []
    for i in range(len(speeds) - 1):
        a, b = float(speeds[i]), float(speeds[i + 1])
        ends = slow[i : i + 2]
        if b < WIDEST * a or not np.all(np.isfinite(ends)) or ends[0] * ends[1] < 0.0:
            continue
        if float(np.abs(ends).min()) < CLOSE_TO_ZERO * b / length:
            extra += [a ** (2.0 / 3.0) * b ** (1.0 / 3.0), a ** (1.0 / 3.0) * b ** (2.0 / 3.0)]
    if not extra:
        return speeds, growth, frequency, slow
    found = np.array([sample(speed) for speed in extra])
    found[found[:, 0] <= NO_REST, :] = (-np.inf, 0.0, -np.inf)
    every = np.concatenate([speeds, extra])
    order = np.argsort(every)
    return (
        every[order],
        np.concatenate([growth, found[:, 0]])[order],
        np.concatenate([frequency, found[:, 1]])[order],
        np.concatenate([slow, found[:, 2]])[order],
    )


def brackets(
    speeds: Array, growth: Array, slow: Array, limit: float, sample: Callable[[float], Lead]
) -> list[tuple[float, float, bool]]:
    """Return speed brackets of every sign change, hidden ones between samples included.

    Parameters
    ----------
    speeds : array (S,) [m/s], ascending
    growth, slow : array (S,) [1/s], see ``Lead``; minus infinity where there is no rest shape
    limit : float [1/s], growth that counts as none
    sample : function of speed [m/s] returning the leading motion there

    Returns
    -------
    list of (low, high, starts), ``starts`` true where growth begins
    """
    result = []
    unstable = growth > limit
    if unstable[0]:
        result.append((0.0, float(speeds[0]), True))
    for i in range(len(speeds) - 1):
        a, b = float(speeds[i]), float(speeds[i + 1])
        if not np.isfinite(growth[i + 1]):
            break
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
    left = (sample(low + nudge).slow - growth[i]) / nudge
    right = (growth[i + 1] - sample(high - nudge).slow) / nudge
    if not (np.isfinite(left) and np.isfinite(right)):
        return None
    if sign * left >= 0.0 or sign * right <= 0.0:
        return None
    # the two tangents meet above the true extreme of a smooth dip: none reaches zero, none does
    reach = max(abs(left), abs(right)) * (high - low)
    if abs(growth[i]) > 2.0 * reach and abs(growth[i + 1]) > 2.0 * reach:
        return None
    found = minimize_scalar(
        lambda u: sign * sample(float(u)).slow,
        bounds=(float(speeds[i]), float(speeds[i + 1])),
        method="bounded",
        options={"xatol": 1e-3 * float(speeds[i + 1]), "maxiter": 20},
    )
    return float(found.x), sign * float(found.fun)


def bisect(
    low: float,
    high: float,
    starts: bool,
    limit: float,
    sample: Callable[[float], Lead],
) -> float:
    """Return the speed [m/s] at which growth begins, or ceases, within a bracket."""
    while high - low > SPEED_TOLERANCE * high:
        middle = 0.5 * (low + high)
        if (sample(middle).growth > limit) == starts:
            high = middle
        else:
            low = middle
    return 0.5 * (low + high)
