"""Start speed from a speed ramp: where the beat's power begins to grow."""

from __future__ import annotations

import math

import numpy as np

from simsoft.aquarium.files.track import Track
from simsoft.aquarium.measured import Flag, Measured, lacking
from simsoft.core.arrays import Array
from simsoft.core.signals import main_direction

METHOD = "power of the tip over windows of a ramp: flat, then rising (broken line)"
WINDOWS = 40
FEWEST_WINDOWS = 8
CLEAR_RISE = 6.0  # F value the rise must reach against a flat line
LEAST_RISE = 4.0  # times the power below the start
LIKELY = 1.0  # drop of the log likelihood x 2 that bounds one standard uncertainty


def measure_start(track: Track) -> Measured:
    """Return the ``start_speed`` [m/s] of a track whose rows carry the speed.

    Notes
    -----
    Beyond a soft start the squared stroke grows in proportion to the excess speed, below it the
    power is noise. The break is the least-squares one; its uncertainty combines the likelihood's
    width, the speed gained within a window, and the speed gained while a growing beat needs about
    a window to show. A falling ramp gives the speed where the beat stops.
    """
    if track.speed is None:
        return lacking("start_speed", "m/s", METHOD, "no column speed_mps: not a ramp")
    good = np.isfinite(track.speed)
    time, speed, tip = track.time[good], track.speed[good], track.tip[good]
    if good.sum() < 2 * FEWEST_WINDOWS or np.ptp(speed) <= 0.0:
        return lacking("start_speed", "m/s", METHOD, "the speed does not change", int(good.sum()))
    signal = (tip - np.median(tip, axis=0)) @ main_direction(tip)
    at, power = _windows(time, speed, signal)
    if len(at) < FEWEST_WINDOWS:
        return lacking("start_speed", "m/s", METHOD, "the ramp is too short", len(at))
    order = np.argsort(at)
    return _break(at[order], power[order], track, _window_speed(at), bool(speed[-1] < speed[0]))


def _windows(time: Array, speed: Array, signal: Array) -> tuple[Array, Array]:
    """Return mean speed and detrended power of consecutive windows."""
    count = min(WINDOWS, max(FEWEST_WINDOWS, len(time) // 12))
    at, power = [], []
    for rows in np.array_split(np.arange(len(time)), count):
        if len(rows) < 6:
            continue
        slope = np.polyfit(time[rows] - time[rows[0]], signal[rows], 1)
        rest = signal[rows] - np.polyval(slope, time[rows] - time[rows[0]])
        at.append(float(speed[rows].mean()))
        power.append(float((rest**2).mean()))
    return np.array(at), np.array(power)


def _window_speed(at: Array) -> float:
    return float(np.median(np.abs(np.diff(at))))


def _break(at: Array, power: Array, track: Track, step: float, falling: bool) -> Measured:
    """Fit flat-then-rising lines and return the break."""
    candidates = np.linspace(at[1], at[-3], 400)
    squares = np.array([_broken(at, power, c)[0] for c in candidates])
    best = int(np.argmin(squares))
    residual, level, rise = _broken(at, power, candidates[best])
    flat = float(((power - power.mean()) ** 2).sum())
    free = max(1, len(at) - 3)
    f_value = (flat - residual) / 2.0 / max(residual / free, 1e-300)
    top = level + rise * (at[-1] - candidates[best])
    noise = max(level, 1e-12 * max(top, 1e-300))
    if rise <= 0.0 or f_value < CLEAR_RISE or top < LEAST_RISE * noise:
        reason = f"no start between {at[0]:.3g} and {at[-1]:.3g} m/s: the motion does not grow"
        return lacking("start_speed", "m/s", METHOD, reason, len(at))
    flags = []
    if candidates[best] <= at[1] + step:
        flags.append(
            Flag("starts-below", f"beats from the slowest speed on, {at[0]:.3g} m/s; start slower")
        )
    likelihood = free * np.log(np.maximum(squares, 1e-300) / max(residual, 1e-300))
    inside = candidates[likelihood <= LIKELY]
    width = 0.5 * float(inside.max() - inside.min())
    u = math.sqrt(width**2 + 2.0 * step**2 / 3.0)
    method = METHOD + (", speed falling: where it stops" if falling else "")
    return Measured(
        "start_speed",
        float(candidates[best]),
        u,
        "m/s",
        method,
        len(at),
        at={key: value for key, value in track.at.items() if key != "speed"},
        flags=tuple(flags),
        run=str(track.at.get("run_id", track.name)),
    )


def _broken(at: Array, power: Array, where: float) -> tuple[float, float, float]:
    """Return residual squares, level and slope of a line that is flat up to ``where``."""
    columns = np.column_stack([np.ones_like(at), np.maximum(at - where, 0.0)])
    solution = np.linalg.lstsq(columns, power, rcond=None)[0]
    rest = power - columns @ solution
    return float(rest @ rest), float(solution[0]), float(solution[1])
