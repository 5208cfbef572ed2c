"""What was seen of the bait in hand, in words: what was expected, and how far it narrowed what."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Any

from simsoft.core.quantities import words
from simsoft.design.asked import Seen
from simsoft.report.text.brief import folded
from simsoft.report.units import LengthUnit, show, speed_text, unit_of
from simsoft.results.record import Record
from simsoft.results.result import Look, RunResult

MOST = 4  # inputs told as narrowed


def seen_lines(result: RunResult) -> list[str]:
    """Return the lines about what was seen, none where nothing was."""
    told, narrowed = seen_sentences(result)
    return [
        *(line for sentence in told for line in folded(sentence)),
        *(folded(narrowed, "  ") if narrowed else []),
    ]


def seen_sentences(result: RunResult) -> tuple[list[str], str]:
    """Return a sentence for each look, and what all of them narrowed, empty where nothing."""
    told = [_told(look, result.case.length_unit) for look in result.looks]
    first = sorted(result.narrowed, key=lambda pair: pair[1])[:MOST]
    shares = ", ".join(f"{_input(name)} to {100 * left:.0f} %" for name, left in first)
    return told, f"Narrowed: {shares} of its doubt." if shares else ""


def _told(look: Look, unit: LengthUnit) -> str:
    seen = look.seen
    text = f"seen: {look_text(look, unit)}"
    if look.taken == "refused":
        behind = "" if look.before is None else f" (computed {show(look.before, unit)})"
        return f"{text}: LEFT OUT, {look.reason}{behind}."
    widened = ""
    if look.taken == "widened":
        widened = (
            f"; {look.reason or 'far from what was computed'}, so the band is widened to hold it"
        )
    before, after = look.before, look.after
    if before is None or after is None:
        return f"{text}{widened}."
    word = f"{words(before.quantity)} " if seen.value is None else ""
    spans = [_span(record) for record in (before, after)]
    narrowed = ""
    if spans[0] and spans[1]:
        narrowed = f": within a factor of {spans[1]:.2f}, before {spans[0]:.2f}"
    return (
        f"{text}; {word}computed there {show(before, unit)}, with it "
        f"{show(after, unit)}{narrowed}{widened}."
    )


def _span(record: Record) -> float | None:
    """Return the factor by which a band reaches to either side, None where it is open."""
    low, high = record.low, record.high
    if not isinstance(low, float) or not isinstance(high, float) or low <= 0.0:
        return None
    return math.sqrt(high / low)


def look_text(look: Look, unit: LengthUnit) -> str:
    """Return what was seen: part, number or verdict, how, and where."""
    part = f"{look.part} " if look.part else ""
    return part + seen_text(look.seen, unit, "" if look.before is None else look.before.unit)


def seen_text(seen: Seen, unit: LengthUnit, name: str = "") -> str:
    """Return the number or verdict of a look, how, and where; ``name`` is its SI unit."""
    share = f"{100 * seen.doubt:.2g} %"
    how = f"by eye, give or take {share}" if seen.by == "eye" else f"give or take {share}"
    place = ""
    if seen.speed is not None:
        place = f" at {speed_text(seen.speed, unit)}"
    if seen.temperature is not None:
        place += f" in water of {seen.temperature - 273.15:.3g} degC"
    if seen.value is None:
        return f"{seen.equals}{place} ({how} of the speed)"
    factor, shown = unit_of(seen.quantity, name or _unit(seen.quantity), unit, seen.value)
    size = seen.value * factor
    return f"{words(seen.quantity)} {size:.3g} {shown}{place} ({how})"


def _unit(quantity: str) -> str:
    return {"flap_frequency": "Hz", "stroke": "m", "cast_distance": "m"}.get(quantity, "m/s")


def _input(name: str) -> str:
    if name.startswith("own "):
        quantity = name.split(" ")[1]
        return f"the model's own error in {words(quantity)}"
    return name.replace("_", " ")


def looks_json(looks: Sequence[Look], narrowed: Sequence[tuple[str, float]]) -> dict[str, Any]:
    """Return what was seen as plain data, SI units."""
    return {"looks": list(_plain(looks)), "narrowed": dict(narrowed)}


def _plain(looks: Sequence[Look]) -> Iterator[dict[str, Any]]:
    for look in looks:
        seen = look.seen
        yield {
            "quantity": seen.quantity,
            "value": seen.value if seen.value is not None else seen.equals,
            "doubt": seen.doubt,
            "by": seen.by,
            "part": look.part,
            "speed": seen.speed,
            "temperature": seen.temperature,
            "taken": look.taken,
            "chance": look.chance,
            "reason": look.reason or None,
            "before": None if look.before is None else look.before.as_json(),
            "after": None if look.after is None else look.after.as_json(),
        }
