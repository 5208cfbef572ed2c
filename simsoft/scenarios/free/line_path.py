"""How the line's end moves in time: lift and drop, twitch, shake, a table, a steady tow."""

from __future__ import annotations

import math

import numpy as np

from simsoft.case.model import HopInput
from simsoft.core.arrays import Array

# Shares of a period: pull, give back; the rest is a pause (common practice, no source).
SHARES = {"lift-drop": (0.3, 0.2), "twitch": (0.15, 0.15)}


def hop_path(hop: HopInput, time: Array) -> Array:
    """Return place, velocity and acceleration (T, 3) [m, m/s, m/s^2] along the line.

    Parameters
    ----------
    hop : HopInput
    time : array (T,) [s]

    Notes
    -----
    Lifts and twitches rise and fall as raised cosines; a shake is a sine from its lowest point; a
    table is joined by monotone cubics (Fritsch & Butland 1984, as in scipy) and rests at its end.
    """
    if hop.times:
        return _table_path(hop, time)
    if hop.motion == "shake":
        turn = 2.0 * math.pi * hop.cadence
        half = 0.5 * hop.amplitude
        return np.column_stack(
            [
                half * (1.0 - np.cos(turn * time)),
                half * turn * np.sin(turn * time),
                half * turn**2 * np.cos(turn * time),
            ]
        )
    pull, give = SHARES[hop.motion]
    period = 1.0 / hop.cadence
    phase = np.mod(time * hop.cadence, 1.0)
    rising = _raised(phase / pull, pull * period)
    falling = _raised((phase - pull) / give, give * period)
    return np.asarray(hop.amplitude * (rising - falling))


def _raised(share: Array, duration: float) -> Array:
    """Return a step of one by a raised cosine over a duration [s], and its two derivatives."""
    inside = (share > 0.0) & (share < 1.0)
    angle = math.pi * np.clip(share, 0.0, 1.0)
    rate = math.pi / duration
    return np.column_stack(
        [
            0.5 * (1.0 - np.cos(angle)),
            np.where(inside, 0.5 * rate * np.sin(angle), 0.0),
            np.where(inside, 0.5 * rate**2 * np.cos(angle), 0.0),
        ]
    )


def _table_path(hop: HopInput, time: Array) -> Array:
    from scipy.interpolate import PchipInterpolator

    curve = PchipInterpolator(hop.times, hop.positions)
    within = np.clip(time, hop.times[0], hop.times[-1])
    moving = (time > hop.times[0]) & (time < hop.times[-1])
    columns = [curve(within)]
    columns += [np.where(moving, curve.derivative(order)(within), 0.0) for order in (1, 2)]
    return np.column_stack(columns)


def leads_along(path: Array, direction: Array, offset: float = 0.0) -> Array:
    """Return leads (T, 3, 3) of a path (T, 3) along a unit vector, ``offset`` [m] further out."""
    leads = path[:, :, None] * direction
    leads[:, 0] += offset * direction
    return np.ascontiguousarray(leads)


def tow_leads(speed: float, time: Array) -> Array:
    """Return leads (T, 3, 3) of an eye towed upstream, along -x, at a speed [m/s]."""
    leads = np.zeros((len(time), 3, 3))
    leads[:, 0, 0] = -speed * time
    leads[:, 1, 0] = -speed
    return leads
