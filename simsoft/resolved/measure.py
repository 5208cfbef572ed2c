"""The history of a resolved run as the numbers that a march of the reduced model gives."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from simsoft.core.arrays import Array
from simsoft.core.signals import angle_between, cycles, fluctuation, main_direction

STILL_STROKE = 0.02  # of the size: what moves less does not beat to the eye
STEADY_SPREAD = 0.25  # relative, of the strokes of a beat that counts as regular
WINDOW = 0.45  # share of the run's end that is measured


class MeasuredBeat(NamedTuple):
    """What a tail does over the measured end of a run; errors are standard errors of the mean.

    Attributes
    ----------
    beats : float, number of whole beats
    frequency, frequency_error : float [Hz]
    stroke, stroke_error : float [m], of the measured point, peak to peak
    sweep : float [m], width of the path of the paddle's edges
    fold_back : float [deg], between moulded and mean tip direction
    drag : float [N], mean along the stream, of what bends
    side_force : float [N], RMS across the stream
    roll : float [deg], amplitude of the turning about the stream at the beat
    roll_phase : float [deg], by which roll leads sway
    """

    beats: float
    frequency: float
    frequency_error: float
    stroke: float
    stroke_error: float
    sweep: float
    fold_back: float
    drag: float
    side_force: float
    roll: float
    roll_phase: float


def standard_error(values: Array) -> float:
    """Return the standard error of the mean; zero of fewer than two values."""
    if len(values) < 2:
        return 0.0
    return float(np.std(values, ddof=1) / math.sqrt(len(values)))


def beat_of(
    time: Array, point: Array, axes: Array, tangent: Array, force: Array, moulded: Array,
    half_width: float, window: float = WINDOW,
) -> MeasuredBeat:  # fmt: skip
    """Return the beat over the last ``window`` of a run.

    Parameters
    ----------
    time : array (R,) [s]
    point : array (R, 3) [m], of the paddle's centre or the tip
    axes : array (R, 3, 3), of the paddle: kick, upright, normal as columns
    tangent : array (R, 3), of the stem's tip
    force : array (R, 3) [N], of the water on what bends
    moulded : array (3,), direction of the tip as moulded
    half_width : float [m], of the paddle across the kick
    window : float, share of the run
    """
    first = int(len(time) * (1.0 - window))
    t, p, a, load = time[first:], point[first:], axes[first:], force[first:]
    sway = p @ main_direction(p * np.array([0.0, 1.0, 1.0]))
    seen = cycles(t, sway)
    period = seen.period
    frequency = 0.0 if len(period) == 0 else 1.0 / float(period.mean())
    edges = np.concatenate([p[:, 1] + s * half_width * a[:, 1, 0] for s in (-1.0, 1.0)])
    roll = np.unwrap(np.arctan2(a[:, 2, 0], a[:, 1, 0]))
    swing, phase = 0.0, 0.0
    if len(period):
        whole = (t >= seen.start[0]) & (t < seen.start[-1])
        turn = np.exp(-2j * math.pi * frequency * t[whole])
        of_roll = 2.0 * np.mean((roll[whole] - roll[whole].mean()) * turn)
        of_sway = np.mean((sway[whole] - sway[whole].mean()) * turn)
        swing = math.degrees(abs(of_roll))
        phase = math.degrees(float(np.angle(of_roll / of_sway)))
    return MeasuredBeat(
        beats=float(len(period)),
        frequency=frequency,
        frequency_error=frequency**2 * standard_error(period),
        stroke=float(seen.stroke.mean()) if len(period) else float(np.ptp(sway)),
        stroke_error=standard_error(seen.stroke),
        sweep=float(np.ptp(edges)),
        fold_back=math.degrees(angle_between(tangent[first:].mean(axis=0), moulded)),
        drag=float(load[:, 0].mean()),
        side_force=fluctuation(load, np.array([1.0, 0.0, 0.0])),
        roll=swing,
        roll_phase=phase,
    )


def word_of(beat: MeasuredBeat, size: float) -> str:
    """Return what a tail does: ``beats``, ``stirs`` (too small or irregular) or ``still``."""
    if beat.stroke < STILL_STROKE * size:
        return "still"
    if beat.beats < 3 or beat.stroke < 2.0 * STILL_STROKE * size:
        return "stirs"
    spread = beat.stroke_error * math.sqrt(beat.beats) / beat.stroke
    return "beats" if spread < STEADY_SPREAD else "stirs"
