"""Changes between two runs in words: the share of what it was, with its own band."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from simsoft.core.quantities import words
from simsoft.design.paired import Change
from simsoft.report.text.brief import folded
from simsoft.report.units import LengthUnit, speed_text
from simsoft.results.changes import RunChange

HEAD = "Changed, told by what moves both alike"
HOLDS = "each band holds eight times in ten"


def change_lines(found: Sequence[RunChange], unit: LengthUnit) -> list[str]:
    """Return the lines of what changed, none where nothing did."""
    lines = folded(f"{HEAD} ({HOLDS})") if found else []
    for change in found:
        name, told, narrower = change_words(change, unit)
        lines += folded(f"{name}: {', '.join(filter(None, (told, narrower)))}", "  ", "    ")
    return lines


def change_words(change: RunChange, unit: LengthUnit) -> tuple[str, str, str]:
    """Return what changed, by how much with its band, and how much narrower that band is told."""
    record = change.after
    place = f" at {speed_text(float(record.at['speed']), unit)}" if "speed" in record.at else ""
    name = " ".join(filter(None, (record.part, words(record.quantity)))) + place
    middle, low, high = (round(100.0 * (end - 1.0)) for end in change.ends)
    told = f"{middle:+d} % ({low:+d} to {high:+d})"
    told += ", not resolved" if abs(change.middle) < change.width else ""
    narrower = ""
    if change.alone > 1.5 * change.width > 0.0:
        narrower = f"{change.alone / change.width:.1f} times narrower than with each whole band"
    return name, told, narrower


def changes_json(found: Sequence[RunChange]) -> list[dict[str, Any]]:
    """Return changes as plain data: ratios of after over before."""
    return [
        {
            "scenario": c.after.scenario,
            "part": c.after.part,
            "quantity": c.after.quantity,
            "at": dict(c.after.at),
            "ratio": c.ends[0],
            "low": c.ends[1],
            "high": c.ends[2],
        }
        for c in found
    ]


def change_sentence(change: Change) -> str:
    """Return one change with its band, as a share of what it was."""
    clause = change.clause
    name = words(clause.quantity)
    if clause.temperature is not None:
        name += f" in water of {clause.temperature - 273.15:.3g} degC"
    if clause.speed is not None:
        name += f" at {clause.speed:.3g} m/s"
    ends = [100.0 * (x - 1.0) for x in (change.middle, change.low, change.high)]
    if max(map(abs, ends)) < 0.5:
        return f"{name}: as the file itself."
    if ends[1] >= -0.5 or ends[2] <= 0.5:
        word = "lower" if ends[0] < 0.0 else "higher"
        near, far = sorted(abs(end) for end in ends[1:])
        told = f"{abs(ends[0]):.0f} % {word} ({near:.0f} to {far:.0f}) than the file itself"
    else:
        told = f"{ends[0]:+.0f} % ({ends[1]:+.0f} to {ends[2]:+.0f}) against the file itself"
    side = "lower" if change.less >= 0.5 else "higher"
    share = max(change.less, 1.0 - change.less)
    pairs = f"{change.count} pairs of samples, with what the model leaves open"
    return f"{name}: {told}; {side} in {100 * share:.0f} % of {pairs}."


def change_json(change: Change) -> dict[str, Any]:
    """Return a change from the bait in hand as plain data: ratios after over before."""
    return {
        "quantity": change.clause.quantity,
        "speed": change.clause.speed,
        "temperature": change.clause.temperature,
        "ratio": change.middle,
        "low": change.low,
        "high": change.high,
        "lower_in": change.less,
        "pairs": change.count,
    }
