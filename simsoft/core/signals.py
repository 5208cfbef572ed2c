"""Histories -> frequency, stroke, fold-back, forces: plain functions of arrays."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

import numpy as np

from simsoft.core.arrays import Array

DEAD_BAND = 0.1  # share of the half range a crossing must clear before the next one counts


@dataclass(frozen=True)
class Cycles:
    """Cycles of a signal.

    Attributes
    ----------
    start : array (C + 1,) [s], upward mean crossings
    stroke : array (C,), peak to peak of each cycle, units of the signal
    """

    start: Array
    stroke: Array

    @property
    def period(self) -> Array:
        """Periods of the cycles, array (C,) [s]."""
        return np.diff(self.start)


def main_direction(path: Array) -> Array:
    """Return the unit vector (3,) along which a path (samples, 3) spreads most.

    The sign is fixed by the largest component being positive.
    """
    centred = path - path.mean(axis=0)
    axis = np.linalg.eigh(centred.T @ centred)[1][:, -1]
    return np.asarray(axis * np.sign(axis[np.argmax(np.abs(axis))]))


def cycles(time: Array, signal: Array) -> Cycles:
    """Return the cycles of a signal (samples,) by its upward mean crossings.

    A crossing counts once the signal has been clearly below the mean (a tenth of the half
    range), so that ripple on a flat top makes no cycles. Crossing times are interpolated.
    """
    values: list[float] = signal.tolist()  # three times as fast to go through as the array
    highest, lowest = max(values), min(values)
    centre = 0.5 * (highest + lowest)
    low = centre - DEAD_BAND * 0.5 * (highest - lowest)
    start: list[float] = []
    rows: list[int] = []
    armed = False
    for i, value in enumerate(values[1:], 1):
        if value < low:
            armed = True
        elif armed and value >= centre:
            before, after = values[i - 1] - centre, value - centre
            share = 0.0 if after == before else -before / (after - before)
            start.append(float(time[i - 1] + share * (time[i] - time[i - 1])))
            rows.append(i)
            armed = False
    stroke = [max(values[a : b + 1]) - min(values[a : b + 1]) for a, b in itertools.pairwise(rows)]
    return Cycles(np.asarray(start), np.asarray(stroke))


def angle_between(first: Array, second: Array) -> float:
    """Return the angle [rad] between two vectors (3,)."""
    cross = np.linalg.norm(np.cross(first, second))
    return math.atan2(float(cross), float(np.dot(first, second)))


def total_turning(angle: Array) -> float:
    """Return the turning [rad] of the centreline from clamp to tip, hinge angles (N, 3).

    Bending only; a twist does not turn the centreline.
    """
    return float(np.hypot(angle[:, 0], angle[:, 1]).sum())


def fluctuation(force: Array, direction: Array) -> float:
    """Return the RMS [N] about its mean of a force (samples, 3) across a unit vector."""
    across = force - np.outer(force @ direction, direction)
    spread = across - across.mean(axis=0)
    return float(np.sqrt((spread**2).sum(axis=1).mean()))
