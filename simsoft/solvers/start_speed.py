"""Start speed of one strip: by instability, or by marches where no small motion tells it."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from simsoft.core.arrays import Array
from simsoft.solvers.stability import Onset

START_FRACTION = 0.15  # of the paddle's width: stroke that counts as a kick (judgement)
SPEED_SAMPLES = 40
SEARCH_SPAN = 60.0  # highest over lowest speed of a full search
NARROW_SPAN = 2.2  # half width, as a factor, of a search around a known start speed
NARROW_SAMPLES = 14
BELOW_RATIO = 1.25  # of speeds sampled around and below a known start speed, behind bands
SCAN_FACTOR = 1.3
REFINEMENTS = 4
STILL_WATER = 0.01  # of the lowest speed searched: what is left below it is left in still water
LOWEST_TRIED = "moves at the lowest speed tried already"
DEFAULT_TOP_SPEED = 2.5  # [m/s], burning retrieve (common practice, no source)


@dataclass(frozen=True)
class Start:
    """A start speed [m/s] with its frequency [Hz], or why there is none.

    A speed with a reason is an upper bound: the part moves at the lowest speed tried already.
    """

    speed: float | None
    frequency: float | None
    reason: str = ""


def top_speed(stated: float | None, speeds: tuple[float, ...]) -> float:
    """Return the end [m/s] of the start-speed search."""
    return stated if stated is not None else max(DEFAULT_TOP_SPEED, *speeds, 0.0)


def search_speeds(top: float, near: float | None, below: bool = False) -> Array:
    """Return the speeds [m/s] to sample: up to ``top``, or around a start speed ``near``.

    ``below`` samples more widely, and from where a full search begins.
    """
    if near is None:
        return np.geomspace(top / SEARCH_SPAN, top, SPEED_SAMPLES)
    low, lowest = near / NARROW_SPAN, top / SEARCH_SPAN
    if not below:
        return np.geomspace(low, near * NARROW_SPAN, NARROW_SAMPLES)
    close = _wide(low, min(near * NARROW_SPAN, top))
    return np.concatenate([_wide(lowest, low)[:-1], close])


def _wide(low: float, high: float) -> Array:
    """Return speeds [m/s] from a low to a high one, no farther apart than ``BELOW_RATIO``."""
    count = max(0, math.ceil(math.log(high / low) / math.log(BELOW_RATIO)))
    return np.geomspace(low, high, count + 1)


def start_of(onset: Onset) -> Start:
    """Return the lowest speed of a search at which small motions grow.

    What grows in still water already is no beat of a stream's: the start is then an upper bound,
    the lowest speed searched.
    """
    rising = [c for c in onset.crossings if c.starts and c.frequency > 0.0]
    lowest = float(onset.speed[0])
    if rising and rising[0].speed <= STILL_WATER * lowest:
        return Start(lowest, rising[0].frequency, LOWEST_TRIED)
    if rising:
        return Start(rising[0].speed, rising[0].frequency)
    reason = f"small motions die out at every speed up to {onset.speed[-1]:.3g} m/s"
    if onset.lost:
        reason += f"; {onset.lost}"
    return Start(None, None, reason)


def start_by_stroke(
    stroke_at: Callable[[float], tuple[float, float]],
    wanted: float,
    lowest: float,
    top: float,
    likely: float | None = None,
) -> Start:
    """Return the lowest speed at which the stroke passes ``wanted``.

    Speeds rise by ``SCAN_FACTOR`` until it does; the last rise is halved a few times. Where the
    start is known roughly, the same speeds are tried from there on, outward and then between.

    Parameters
    ----------
    stroke_at : function of speed [m/s] returning stroke [m] and frequency [Hz]
    wanted : float [m]
    lowest : float [m/s], where the scan begins
    top : float [m/s], end of the search
    likely : float or None [m/s], about where it passes
    """
    speeds = _speeds_tried(min(lowest, 0.5 * top), top)
    last, parts = len(speeds) - 1, 2**REFINEMENTS
    rates: dict[int, float] = {}

    def passes(i: int) -> bool:
        stroke, rates[i] = stroke_at(float(speeds[i]))
        return stroke >= wanted

    low, high = -1, last + 1
    i = 0 if likely is None else int(np.searchsorted(speeds, likely, side="right")) - 1
    i, step = min(max(i, 0), last), parts if likely is None else 1
    while low < i < high and (low < 0 or high > last):
        if passes(i):
            high, i = i, max(i - step, 0)
        else:
            low, i = i, min(i + step, last)
        step = parts if likely is None else 2 * step
    while low >= 0 and high - low > 1 and high <= last:
        i = (low + high) // 2
        if passes(i):
            high = i
        else:
            low = i
    if high > last:
        why = f"stroke stays below {1e3 * wanted:.2g} mm at every speed up to {top:.3g} m/s"
        return Start(None, None, why)
    if low < 0:
        return Start(float(speeds[0]), rates[high], LOWEST_TRIED)
    return Start(float(np.sqrt(speeds[low] * speeds[high])), rates[high])


def _speeds_tried(lowest: float, top: float) -> Array:
    """Return the speeds [m/s] of a search by marches, the steps of its scan and all between."""
    scan = [lowest]
    while scan[-1] < top:
        scan.append(min(scan[-1] * SCAN_FACTOR, top))
    between = np.linspace(0.0, 1.0, 2**REFINEMENTS, endpoint=False)
    whole = [low * (high / low) ** between for low, high in itertools.pairwise(scan)]
    return np.concatenate([*whole, scan[-1:]])
