"""Bench tests pooled into material values: ring-down, droop, weighing -> profile."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from simsoft.aquarium.bench.ringdown import FIRST_ROOT
from simsoft.aquarium.bench.temperature import OF_SLOPE, at_one_warmth, strip_name
from simsoft.aquarium.measured import Measured, joined_runs, pooled
from simsoft.case.limits import LIMITS, outside
from simsoft.case.measured import ProfileValue
from simsoft.case.profile import VALUES
from simsoft.case.units import convert
from simsoft.properties.material import DEFAULTS

OF_BENCH = ("youngs_modulus", "loss_factor", "density", *OF_SLOPE.values())
APART = 1.1  # ratio of free lengths from which the clamp's give can be told
WIDEST = 100.0  # u over value; such a band is outside every profile
GIVE_LIMIT = 0.2  # of the shortest length; a larger give is no clamp


def bench_values(found: Sequence[Measured]) -> tuple[dict[str, ProfileValue], list[str]]:
    """Return the profile values of bench tests, and notes about what they imply.

    A modulus in motion goes before one at rest, because tails move; where both were measured, the
    notes give the rate exponent they imply. Ring-downs at two free lengths give the clamp's own
    compliance, which is then taken out. Tests at several temperatures are brought to their mean
    by the slope they show, or the default one.
    """
    values: dict[str, ProfileValue] = {}
    notes: list[str] = []
    clear = [m for m in found if m.clear]
    slope = {m.quantity: m for m in clear if m.quantity in OF_SLOPE.values()}
    moduli = [m for m in clear if m.quantity == "youngs_modulus"]
    moduli = at_one_warmth(moduli, slope.get(OF_SLOPE["youngs_modulus"]))
    moving = [m for m in moduli if float(m.at.get("frequency", 0.0)) > 0.0]
    resting = [m for m in moduli if float(m.at.get("frequency", 0.0)) == 0.0]
    if moving or resting:
        chosen = clamp_corrected(moving, notes) or pooled(by_strip(moving) or resting)
        _take(values, notes, chosen)
    if moving and resting:
        notes.append(_rate(pooled(by_strip(moving)), pooled(resting)))
    for name in ("loss_factor", "density"):
        same = [m for m in clear if m.quantity == name]
        if name == "loss_factor":
            same = at_one_warmth(same, slope.get(OF_SLOPE[name]))
        if same:
            _take(values, notes, pooled(same))
    for name, one in slope.items():
        values[name] = _slope_value(one)
    if OF_SLOPE["youngs_modulus"] in slope:
        notes.append(_slope_note(slope[OF_SLOPE["youngs_modulus"]]))
    for name in [name for name, value in values.items() if not _fits(name, value)]:
        notes.append(f"{name}: not used, its band is outside what a profile may hold")
        del values[name]
    doubtful = [m for m in found if m.quantity in OF_BENCH and not m.clear]
    for m in doubtful:
        doubts = ", ".join(flag.word for flag in m.flags if flag.severe) or m.reason
        notes.append(f"{m.run} {m.quantity}: not used ({doubts})")
    return values, notes


def by_strip(tests: Sequence[Measured]) -> list[Measured]:
    """Return one modulus a strip: what is wrong with its size does not average out.

    The swings are pooled as repeats; the doubt about length, thickness and density stays whole.
    Ring-downs of one length that name no strip count as one strip.
    """
    strips: dict[object, list[Measured]] = {}
    for m in tests:
        key = strip_name(m) if "length" in m.at else id(m)
        strips.setdefault(key, []).append(m)
    result = []
    for group in strips.values():
        if len(group) == 1 or any("swing_share" not in m.at for m in group):
            result.append(pooled(group))
            continue
        swing = [float(m.at["swing_share"]) for m in group]
        total = [float(m.u or 0.0) / float(m.value or 1.0) for m in group]
        size = max(math.sqrt(max(0.0, t**2 - s**2)) for t, s in zip(total, swing, strict=True))
        swings = [
            replace(m, u=s * float(m.value or 1.0)) for m, s in zip(group, swing, strict=True)
        ]
        one = pooled(swings)
        result.append(replace(one, u=math.hypot(one.u or 0.0, size * float(one.value or 0.0))))
    return result


def _take(values: dict[str, ProfileValue], notes: list[str], found: Measured) -> None:
    """Put a pooled value among those of the profile, or a note where it must not be trusted."""
    if found.clear:
        values[found.quantity] = _value(found)
        return
    doubts = ", ".join(flag.text for flag in found.flags if flag.severe) or found.reason
    notes.append(f"{found.quantity}: not used ({doubts})")


def _value(measured: Measured) -> ProfileValue:
    """Return a measurement as a profile value; positive quantities by equal factors."""
    value, u = float(measured.value or 0.0), float(measured.u or 0.0)
    factor = math.exp(min(u / value, WIDEST))
    frequency, warmth = measured.at.get("frequency"), measured.at.get("temperature")
    moduli = measured.quantity == "youngs_modulus"
    tells = measured.quantity in OF_SLOPE
    return ProfileValue(
        value,
        value / factor,
        value * factor,
        f"{measured.method}; n = {measured.n}; {measured.run}".rstrip("; "),
        float(frequency) if moduli and frequency is not None else None,
        float(warmth) if tells and warmth is not None else None,
    )


def _fits(name: str, value: ProfileValue) -> bool:
    """Tell whether a profile with this value can be read again."""
    limit = LIMITS[VALUES[name]]
    ends = [convert(end, limit.si, limit.unit) if limit.unit else end
            for end in (value.low, value.value, value.high)]  # fmt: skip
    # as it is written, to six digits
    return all(outside(float(f"{end:.6g}"), limit) is None for end in ends)


def _slope_value(measured: Measured) -> ProfileValue:
    """Return a temperature slope as a profile value; it may have either sign."""
    value, u = float(measured.value or 0.0), float(measured.u or 0.0)
    basis = f"{measured.method}; n = {measured.n}; {measured.run}".rstrip("; ")
    return ProfileValue(value, value - u, value + u, basis)


def _slope_note(slope: Measured) -> str:
    return (
        f"modulus falls by {100 * float(slope.value or 0.0):.1f} +- "
        f"{100 * float(slope.u or 0.0):.1f} % a degree (default "
        f"{100 * DEFAULTS.temperature_slope:.1f} +- {100 * DEFAULTS.slope_scatter:.1f})"
    )


def _rate(moving: Measured, resting: Measured) -> str:
    ratio = float(moving.value or 1.0) / float(resting.value or 1.0)
    span = math.log(float(moving.at["frequency"]) / DEFAULTS.dwell_frequency)
    exponent = math.log(ratio) / span if span > 0.0 else 0.0
    u = math.hypot(
        float(moving.u or 0.0) / float(moving.value or 1.0),
        float(resting.u or 0.0) / float(resting.value or 1.0),
    )
    return (
        f"modulus in motion over modulus at rest {ratio:.2f}: rate exponent "
        f"{exponent:.3f} +- {u / span if span > 0.0 else 0.0:.3f} "
        f"(default {DEFAULTS.rate_exponent} +- {DEFAULTS.rate_scatter})"
    )


def clamp_corrected(moving: Sequence[Measured], notes: list[str]) -> Measured | None:
    """Return the modulus of ring-downs at two free lengths, without the clamp's give.

    Parameters
    ----------
    moving : sequence of Measured, whose conditions hold length, thickness [m], undamped
        frequency [Hz] and density [kg/m^3]
    notes : list, to which the give found is added

    Returns
    -------
    Measured, or None where the lengths are too much alike or the give makes no sense

    Notes
    -----
    f = (k1^2/(2 pi sqrt(12))) t sqrt(E/rho)/(L + d)^2, so sqrt(t/f) = (L + d)/c is a straight
    line in L with c^2 = k1^2 sqrt(E/rho)/(2 pi sqrt(12)).
    """
    rows = [m for m in moving if "length" in m.at]
    lengths = np.array([float(m.at["length"]) for m in rows])
    if len(rows) < 2 or lengths.max() < APART * lengths.min():
        return None
    root = np.array([math.sqrt(float(m.at["thickness"]) / float(m.at["undamped"])) for m in rows])
    slope, start = np.polyfit(lengths, root, 1)
    give = float(start / slope) if slope > 0.0 else math.inf
    if abs(give) > GIVE_LIMIT * lengths.min():
        notes.append("ring-downs at two lengths do not fit one clamp; they are pooled as they are")
        return None
    density = float(np.mean([float(m.at["density"]) for m in rows]))
    scale = FIRST_ROOT**2 / (2.0 * math.pi * math.sqrt(12.0))
    modulus = density / (scale**2 * float(slope) ** 4)
    # A length read to half a millimetre and a caliper's scatter, over the span of the lengths.
    reading = 0.3e-3 * math.sqrt(2.0) / float(np.ptp(lengths))
    of_thickness = 0.5 * 0.05e-3 / float(np.mean([float(m.at["thickness"]) for m in rows]))
    share = 4.0 * math.hypot(reading, 0.5 * of_thickness)
    notes.append(f"free length in effect {1e3 * give:+.2f} mm longer than measured (clamp give)")
    first = rows[0]
    return Measured(
        "youngs_modulus",
        modulus,
        share * modulus,
        "Pa",
        f"ring-down at {len(rows)} free lengths, clamp's give taken out",
        len(rows),
        first.at,
        (),
        joined_runs(rows),
    )
