"""Recipes in the text report: what to change, and how much, for the wanted fall."""

from __future__ import annotations

from collections.abc import Sequence

from simsoft.core.quantities import nose
from simsoft.report.units import LengthUnit, decimals, rounded, show, told_in
from simsoft.results.record import Record, select

WEIGHED = ("weigh_at_least", "weigh_at_most")
QUANTITIES = ("recipe", "recipe_position", "recipe_sink_rate", "recipe_attitude", *WEIGHED)
# Settings of these levers are shares, told in per cent; the others are masses.
SHARES = ("salt", "microballoons")


def recipe_lines(records: Sequence[Record], length_unit: LengthUnit = "mm") -> list[str]:
    """Return the recipes for a wanted fall, one line a lever, nothing where none was asked for.

    Parameters
    ----------
    records : sequence of Record of one scenario and the whole lure
    length_unit : 'mm' or 'inch'
    """
    found = select(records, "recipe")
    if not found:
        return weigh_lines(records, length_unit)
    wanted = told_in(f"{float(found[0].at['wanted']):.3g} m/s", length_unit, falls=True)
    some = any(record.value is not None for record in found)
    asked = "Change one of these" if some else "No one of these changes gives it"
    lines = [f"  Wanted: a fall at {wanted}. {asked}:"]
    for record in found:
        lever = str(record.at["lever"])
        if record.value is None:
            lines.append(f"    {lever}: none, {told_in(record.reason, length_unit, falls=True)}.")
            continue
        (rate,) = select(records, "recipe_sink_rate", lever=lever)
        (tilt,) = select(records, "recipe_attitude", lever=lever)
        gives = f"{show(rate, length_unit)}, {_tilt(tilt)}"
        place = select(records, "recipe_position", lever=lever)
        where = f", {show(place[0], length_unit)} behind the nose" if place else ""
        lines.append(f"    {lever}: {_setting(record)}{where}; falls at {gives}.")
    return [*lines, *weigh_lines(records, length_unit)]


def weigh_lines(records: Sequence[Record], length_unit: LengthUnit = "mm") -> list[str]:
    """Return what the bare bait may weigh for the wished fall, nothing where none is wished."""
    found = [r for name in WEIGHED for r in select(records, name)]
    if not found:
        return []
    at = found[0].at
    rates = [f"{float(at[key]):.3g} m/s" for key in ("slowest", "fastest") if key in at]
    word = "" if len(rates) == 2 else "at least " if "slowest" in at else "at most "
    wish = told_in(f"{word}{' to '.join(rates)}", length_unit, falls=True)
    told = [
        f"{name.removeprefix('weigh_').replace('_', ' ')} {show(record, length_unit)}"
        for name, record in ((r.quantity, r) for r in found)
        if record.value is not None
    ]
    told += [f"{record.reason}" for record in found if record.value is None]
    if "attitude" in at and any(record.value is not None for record in found):
        told.append(nose(float(at["attitude"])))
    now = f"as drawn {1e3 * float(at['now']):.3g} g"
    return [
        f"  Weigh the bare bait, no hook and no weights, for a fall at {wish}: "
        f"{', '.join(told)}; {now}."
    ]


def _tilt(record: Record) -> str:
    return nose(float(record.value))  # type: ignore[arg-type]


def _setting(record: Record) -> str:
    """Return a setting with its band and what it is now."""
    share = record.at["lever"] in SHARES
    factor, unit = (100.0, "%") if share else (1e3, "g")
    value, low, high = (
        None if x is None else factor * float(x)  # type: ignore[arg-type]
        for x in (record.value, record.low, record.high)
    )
    assert value is not None
    places = decimals(value, low, high)
    told = f"{rounded(value, places)} {unit}"
    inside = []
    if low is not None and high is not None:
        inside.append(f"{rounded(low, places)} to {rounded(high, places)}")
    now = factor * float(record.at["now"])
    inside.append(f"now {rounded(now, max(places, 1))}" if now else "now none")
    return f"{told} ({'; '.join(inside)})"
