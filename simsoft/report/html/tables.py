"""Tables of the page: what happens at every speed, the modes, and every number as it is stored."""

from __future__ import annotations

import json
from collections.abc import Sequence

from simsoft.core.quantities import words
from simsoft.report.html.markup import Html, joined, tag
from simsoft.report.units import (
    INCH,
    TURN,
    LengthUnit,
    band_numbers,
    crank_turns,
    largest_of,
    rounded,
    show,
    speed_text,
    told_in,
    user_unit,
)
from simsoft.results.record import Record, select, why_untrusted
from simsoft.results.result import RunResult

COLUMNS = (
    *("flap_frequency", "stroke", "edge_to_edge", "fold_back", "tip_angle", "drag", "root_moment"),
)
MOST = 6  # columns of numbers beside the speed
CRANK = (
    f"Crank: a reel that takes up {TURN / INCH:.0f} inches a turn (common practice, no source); "
    "`simsoft card` reckons with yours."
)
LONG = 40  # characters, a cell that has more is broken


def response_table(
    records: Sequence[Record], unit: LengthUnit, quantities: Sequence[str] = COLUMNS
) -> Html | None:
    """Return what a part does at every speed, None where nothing was asked at a speed."""
    at_speed = [r for r in records if set(r.at) == {"speed"}]
    known = {r.quantity for r in at_speed if isinstance(r.value, float)}
    present = [quantity for quantity in quantities if quantity in known]
    present = present[:MOST]
    verdicts = {r.at["speed"]: r for r in select(at_speed, "verdict")}
    speeds = sorted({float(r.at["speed"]) for r in at_speed if r.quantity in present})
    if not any(speeds) or not present:
        return None
    columns = {q: select(at_speed, q) for q in present}
    feet = unit == "inch"
    head = [f"speed [{user_unit('m/s', unit)[1]}]"]
    head += [*(["crank turns in 10 s"] if feet else []), *(["what it does"] if verdicts else [])]
    head += [_name(column, unit) for column in columns.values()]
    rows = []
    for speed in speeds:
        cells = [speed_text(speed, unit).split()[0]]
        cells += [rounded(crank_turns(speed, TURN), 1)] if feet else []
        if verdicts:
            cells.append(_word(verdicts.get(speed), unit))
        cells += [_cell(column, speed, unit) for column in columns.values()]
        rows.append(
            tag(
                "tr",
                (tag("td", cell, class_="why" if len(cell) > LONG else None) for cell in cells),
            )
        )
    names = tag("tr", (tag("th", name, scope="col") for name in head))
    table = tag("table", tag("thead", names), tag("tbody", rows))
    region = tag("div", table, class_="wide", tabindex=0, role="region", aria_label="by speed")
    return joined(region, tag("p", CRANK, class_="legend")) if feet else region


def _word(record: Record | None, unit: LengthUnit) -> str:
    if record is None:
        return "-"
    return show(record, unit)


def _name(column: Sequence[Record], unit: LengthUnit) -> str:
    label = user_unit(column[0].unit, unit, largest_of(column))[1]
    return f"{words(column[0].quantity)} [{label}]"


def _cell(column: Sequence[Record], speed: float, unit: LengthUnit) -> str:
    found = [r for r in column if float(r.at["speed"]) == speed]
    if not found:
        return "-"
    if not isinstance(found[0].value, int | float):
        return show(found[0], unit)
    cell = band_numbers(found[0], unit, largest_of(column))[0]
    why = why_untrusted(found[0])
    return cell if why is None else f"none to trust: {told_in(why, unit)}; computed {cell}"


def number_table(result: RunResult) -> Html:
    """Return every record as it is stored, SI units and angles in degrees, all digits."""
    bases: dict[str, int] = {}
    rows = []
    for record in result.records:
        note = bases.setdefault(record.basis, len(bases) + 1)
        what = [record.scenario, record.part, record.quantity]
        at = ", ".join(f"{key} {value}" for key, value in record.at.items())
        ends = [_raw(record.value), _raw(record.low), _raw(record.high)]
        why = record.reason or ""
        cells = [*what, at, *ends, record.unit, f"{note}" + (f"; {why}" if why else "")]
        rows.append(tag("tr", (tag("td", cell) for cell in cells)))
    names = (
        *("scenario", "part", "quantity", "at", "value", "low", "high", "unit"),
        "basis, reason",
    )
    head = tag("tr", (tag("th", name, scope="col") for name in names))
    table = tag("table", tag("thead", head), tag("tbody", rows), id="numbers")
    notes = tag("ol", (tag("li", basis) for basis in bases), class_="bases")
    region = {"tabindex": 0, "role": "region", "aria_label": "all numbers"}
    return tag("div", tag("div", table, class_="wide", **region), tag("p", "Bases:"), notes)


def _raw(value: object) -> str:
    """Return a value as records.json holds it; words without quotes, nothing for none."""
    if value is None or isinstance(value, str):
        return value or ""
    return json.dumps(value)
