"""A paddle that will not kick, in words: why, and what would wake it."""

from __future__ import annotations

import math
from collections.abc import Sequence

from simsoft.design.wake import Asleep, Waking
from simsoft.report.text.brief import folded
from simsoft.report.units import LengthUnit, speed_text, user_unit


def wake_lines(found: Sequence[Asleep], unit: LengthUnit) -> list[str]:
    """Return the lines about paddles without a start, none where all start."""
    lines = []
    for one in found:
        why = "; ".join(one.reasons) or "nothing stands out of its shape; it is too stiff"
        lines += folded(f"{one.part} has no start: {why}.")
        told = [f"  {_change(item, unit)}" for item in one.waking]
        lines += [f"Each of these alone would wake {one.part} (screened):", *told] if told else [
            f"No single change that was tried wakes {one.part}."
        ]  # fmt: skip
    return lines


def _change(item: Waking, unit: LengthUnit) -> str:
    factor, name = user_unit(item.unit, unit)
    if item.unit == "rad":
        factor, name = math.degrees(1.0), "deg"
    value = f"{item.value * factor:.3g} {name or item.unit}"
    return f'--set {item.key}="{value}": from {speed_text(item.start, unit)}'
