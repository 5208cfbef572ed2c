"""Changes between two runs in words: the share of what it was, with its own band."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from simsoft.design.paired_runs import RunChange
from simsoft.report.text.answer import words
from simsoft.report.text.brief import folded
from simsoft.report.units import LengthUnit, speed_text

HEAD = "Changed, told by what moves both alike (each band holds eight times in ten)"


def change_lines(found: Sequence[RunChange], unit: LengthUnit) -> list[str]:
    """Return the lines of what changed, none where nothing did."""
    lines = [HEAD] if found else []
    for change in found:
        record = change.after
        place = f" at {speed_text(float(record.at['speed']), unit)}" if "speed" in record.at else ""
        name = " ".join(filter(None, (record.part, words(record.quantity)))) + place
        middle, low, high = (100.0 * (end - 1.0) for end in change.ends)
        told = f"{name}: {middle:+.0f} % ({low:+.0f} to {high:+.0f})"
        if change.alone > 1.5 * change.width > 0.0:
            told += f", {change.alone / change.width:.1f} times narrower than taken as strangers"
        lines += folded(told, "  ", "    ")
    return lines


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
