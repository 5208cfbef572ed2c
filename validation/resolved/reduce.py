"""The history of a run as the row of ``results.csv`` that is kept of it."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from simsoft.core.signals import cycles
from simsoft.resolved.measure import WINDOW, MeasuredBeat, beat_of, word_of

Array = npt.NDArray[np.float64]

COLUMNS = (
    "run", "word", "beats", "strouhal", "strouhal_error", "stroke_d", "stroke_error_d", "sweep_d",
    "fold_back_deg", "drag", "side_force", "paddle_drag", "roll_deg", "roll_phase_deg",
    "in_phase", "out_of_phase", "moment_in_phase", "moment_out_of_phase", "mean_force_y",
    "mean_moment", "start_up", "start_down", "seconds", "cells_m", "steps", "sway_d", "heave_d",
)  # fmt: skip
STARTED = 0.1  # [size] stroke from which a tail on a ramp counts as started
OF_BAIT = 0.6  # share of a bait's run that is measured: its beat is slower
HARMONIC_SKIP = 1.5  # periods of a forced motion left out


def number(value: float) -> str:
    """Return a number with four digits for the table, empty where there is none."""
    return "" if not math.isfinite(value) else f"{value:.4g}"


def harmonic(moved: Array, signal: Array, frequency: float) -> complex:
    """Return the complex amplitude of a signal against a sine of a frequency [Hz] from time zero.

    The real part goes with the sine, the imaginary part with its cosine; least squares with a mean.
    """
    angle = 2.0 * math.pi * frequency * moved
    base = np.column_stack([np.sin(angle), np.cos(angle), np.ones_like(angle)])
    sine, cosine, _ = np.linalg.lstsq(base, signal, rcond=None)[0]
    return complex(sine, cosine)


def tail_row(
    time: Array, centre: Array, axes: Array, tangent: Array, force: Array, paddle: Array,
    *, size: float, speed: float, pressure: float, window: float = WINDOW,
) -> dict[str, str]:  # fmt: skip
    """Return the columns of a tail; ``pressure`` [N] is half rho U^2 times the paddle's area.

    The last ``window`` of the run is measured. Sway and heave are the root mean squares of the
    paddle's centre to the side and upward, times the root of eight: peak to peak of a sine.
    """
    moulded = np.array([1.0, 0.0, 0.0])
    beat: MeasuredBeat = beat_of(time, centre, axes, tangent, force, moulded, 0.5 * size, window)
    last = int((1.0 - window) * len(time))
    sway, heave = math.sqrt(8.0) * centre[last:, 1:].std(axis=0) / size
    rate = size / speed
    return {
        "word": word_of(beat, size),
        "beats": f"{beat.beats:.0f}",
        "strouhal": number(beat.frequency * rate),
        "strouhal_error": number(beat.frequency_error * rate),
        "stroke_d": number(beat.stroke / size),
        "stroke_error_d": number(beat.stroke_error / size),
        "sweep_d": number(beat.sweep / size),
        "fold_back_deg": number(beat.fold_back),
        "drag": number(beat.drag / pressure),
        "side_force": number(beat.side_force / pressure),
        "paddle_drag": number(float(paddle[last:, 0].mean()) / pressure),
        "roll_deg": number(beat.roll),
        "roll_phase_deg": number(beat.roll_phase),
        "sway_d": number(float(sway)),
        "heave_d": number(float(heave)),
    }


def ramp_row(time: Array, centre: Array, ratio: Array, *, size: float) -> dict[str, str]:
    """Return the speed ratios at which a tail on a ramp starts and stops beating."""
    sway = centre[:, 1] - centre[:, 1].mean()
    seen = cycles(time, sway)
    middle = 0.5 * (seen.start[1:] + seen.start[:-1])
    at = np.interp(middle, time, ratio)
    rising = middle < time[int(np.argmax(ratio))]
    big = seen.stroke > STARTED * size
    up, down = at[rising & big], at[~rising & big]
    return {
        "start_up": number(float(up[0])) if len(up) else "",
        "start_down": number(float(down[-1])) if len(down) else "",
    }


def solid_row(
    time: Array, load: Array, *, size: float, pressure: float, frequency: float, axis: int,
    hold: float, amplitude: float, turn: int = 5,
) -> dict[str, str]:  # fmt: skip
    """Return the columns of a stiff solid.

    Forces are over ``pressure`` [N], moments over it times ``size``. Of a forced motion the
    amplitudes of force (along ``axis``) and moment (``turn`` 5 yaws, 3 rolls) go with the motion's
    sine (in phase) and its rate (out of phase), for one unit of ``amplitude``: diameters, or
    radians.
    """
    late = time > time[0] + 0.5 * (time[-1] - time[0])
    row = {
        "drag": number(float(load[late, 0].mean()) / pressure),
        "mean_force_y": number(float(load[late, 1].mean()) / pressure),
        "mean_moment": number(float(load[late, 5].mean()) / (pressure * size)),
        "side_force": number(float(np.std(load[late, 1])) / pressure),
    }
    lift = cycles(time[late], load[late, 1])
    if frequency == 0.0 and len(lift.period) > 2:
        row["strouhal"] = number(1.0 / float(lift.period.mean()))
    if frequency > 0.0:
        begin = hold + HARMONIC_SKIP / frequency
        settled = time > begin
        moved = time[settled] - hold
        force = harmonic(moved, load[settled, axis], frequency)
        moment = harmonic(moved, load[settled, turn], frequency)
        row |= {
            "in_phase": number(force.real / pressure / amplitude),
            "out_of_phase": number(force.imag / pressure / amplitude),
            "moment_in_phase": number(moment.real / (pressure * size) / amplitude),
            "moment_out_of_phase": number(moment.imag / (pressure * size) / amplitude),
        }
    return row
