"""Ring-downs at two or more temperatures -> how modulus and loss factor fall as it gets warmer."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Sequence

import numpy as np

from simsoft.aquarium.measured import At, Flag, Measured
from simsoft.core.arrays import Array
from simsoft.properties.material import DEFAULTS

LEAST_SPAN = 4.0  # [K], below it a slope says less than the default does
GOOD_SPAN = 8.0  # [K]
ALIKE = 0.5  # [K], tests this close need no carrying
READING = 0.5  # [K], temperature of a strip, one sigma (common practice, no source)
SAME_LENGTH = 0.02  # relative
OF_SLOPE = {"youngs_modulus": "temperature_slope", "loss_factor": "loss_slope"}


def slopes(found: Sequence[Measured]) -> list[Measured]:
    """Return ``temperature_slope`` and ``loss_slope`` [1/K] of ring-downs, where they tell.

    Parameters
    ----------
    found : sequence of Measured; ring-downs carry temperature [K], frequency [Hz], length [m]
        and the relative u ``swing_share`` of their swing alone

    Notes
    -----
    ln E = a_strip - s T, one slope for all strips of the pour, one a for every strip: what is
    wrong with the size of a strip that stays in its clamp (``# strip = name`` in both files)
    cancels. Moduli are first brought to one frequency by the rate law, because the case's
    temperature slope holds at one frequency. ln(tan delta) likewise, without the rate law.
    """
    result = []
    for quantity, name in OF_SLOPE.items():
        tests = [m for m in found if m.quantity == quantity and _usable(m)]
        warmth = np.array([float(m.at["temperature"]) for m in tests])
        if len(tests) >= 2 and np.ptp(warmth) >= LEAST_SPAN:
            slope = _slope(name, tests, warmth)
            if slope is not None:
                result.append(slope)
    return result


def _usable(measured: Measured) -> bool:
    at = measured.at
    moving = float(at.get("frequency", 0.0)) > 0.0
    return measured.clear and moving and "temperature" in at and "length" in at


def strip_name(measured: Measured) -> tuple[str, float]:
    """Return what tells strips apart: their name, or their free length."""
    name = str(measured.at.get("strip", ""))
    length = math.log(float(measured.at["length"]))
    return name, 0.0 if name else round(length / SAME_LENGTH)


def _share(measured: Measured) -> float:
    """Return the relative u of a test about its strip's own line."""
    value, u = float(measured.value or 1.0), float(measured.u or 0.0)
    clamped = bool(measured.at.get("strip")) and "swing_share" in measured.at
    own = float(measured.at["swing_share"]) if clamped else u / value
    return math.hypot(own, DEFAULTS.temperature_slope * READING)


def _slope(name: str, tests: Sequence[Measured], warmth: Array) -> Measured | None:
    strips = list(dict.fromkeys(strip_name(m) for m in tests))
    logs = np.log([float(m.value or 1.0) for m in tests])
    rate = 0.0
    if name == "temperature_slope":
        beat = np.log([float(m.at["frequency"]) for m in tests])
        logs = logs - DEFAULTS.rate_exponent * beat
        rate = DEFAULTS.rate_scatter
    share = np.array([_share(m) for m in tests])
    columns = np.zeros((len(tests), len(strips) + 1))
    columns[:, 0] = -(warmth - warmth.mean())
    for row, m in enumerate(tests):
        columns[row, 1 + strips.index(strip_name(m))] = 1.0
    inside = columns - columns[:, 1:] @ np.linalg.pinv(columns[:, 1:]) @ columns
    if np.ptp(inside[:, 0]) < LEAST_SPAN:
        return None  # every temperature with a strip of its own length
    weighted = columns / share[:, None]
    covariance = np.linalg.inv(weighted.T @ weighted)
    fitted = covariance @ weighted.T @ (logs / share)
    spare = len(tests) - columns.shape[1]
    misfit = float((((logs - columns @ fitted) / share) ** 2).sum())
    larger = math.sqrt(max(1.0, misfit / spare)) if spare > 0 else 1.0
    value = float(fitted[0])
    u = math.hypot(larger * math.sqrt(float(covariance[0, 0])), 0.5 * rate * value)
    at: At = {"temperature": float(warmth.mean())}
    span = float(np.ptp(warmth))
    flags: tuple[Flag, ...] = ()
    if span < GOOD_SPAN:
        text = f"the ring-downs lie only {span:.0f} K apart; refrigerator and room are better"
        flags = (Flag("narrow", text, severe=False),)
    method = f"line through the logarithms of ring-downs over {span:.0f} K, {len(strips)} strips"
    method = method.replace("1 strips", "one strip")
    runs = " ".join(dict.fromkeys(m.run for m in tests if m.run))
    return Measured(name, value, u, "1/K", method, len(tests), at, flags, runs)


def at_one_warmth(tests: Sequence[Measured], slope: Measured | None) -> list[Measured]:
    """Return tests of one quantity as they would be at their mean temperature.

    Parameters
    ----------
    tests : sequence of Measured, moduli or loss factors
    slope : Measured or None, of the quantity; None takes the default for a modulus and leaves a
        loss factor as it is

    Notes
    -----
    The doubt about the slope is added for the way each test is carried.
    """
    warm = [float(m.at["temperature"]) for m in tests if "temperature" in m.at]
    if len(warm) < 2 or max(warm) - min(warm) <= ALIKE:
        return list(tests)
    middle = sum(warm) / len(warm)
    if slope is not None and slope.value is not None:
        rate, doubt = slope.value, slope.u or 0.0
    elif tests[0].quantity == "youngs_modulus":
        rate, doubt = DEFAULTS.temperature_slope, DEFAULTS.slope_scatter
    else:
        return list(tests)
    carried = []
    for m in tests:
        if "temperature" not in m.at or m.value is None:
            carried.append(m)
            continue
        way = float(m.at["temperature"]) - middle
        factor = math.exp(rate * way)
        at = {**m.at, "temperature": middle}
        if m.quantity == "youngs_modulus":
            for key in ("frequency", "undamped"):
                if key in at:
                    at[key] = float(at[key]) * math.sqrt(factor)
        value = m.value * factor
        u = math.hypot((m.u or 0.0) * factor, value * doubt * way)
        carried.append(dataclasses.replace(m, value=value, u=u, at=at))
    return carried
