"""Page of a resolved run: what the flow says, the reduced model beside it, the pictures."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from simsoft.core.quantities import words
from simsoft.report.html.document import page_section, stacked
from simsoft.report.html.markup import Html, tag
from simsoft.report.html.sheet import Cell, Sheet
from simsoft.report.html.spans import Span, spans
from simsoft.report.html.tank import picture
from simsoft.report.resolved_text import same_number
from simsoft.report.units import LengthUnit, low_value_high, show, speed_text, user_unit
from simsoft.results.record import Record

BEATS = "beats"
SCROLLS = {"tabindex": 0, "role": "region", "aria_label": "the flow"}


def resolved_sheet(
    title: str,
    told: Sequence[str],
    does: Sequence[str],
    records: Sequence[Record],
    reduced: Sequence[Record],
    pictures: Sequence[Path],
    unit: LengthUnit,
) -> Sheet:
    """Return a resolved run.

    Parameters
    ----------
    title : str
    told : sequence of str, one sentence a speed
    does : sequence of str, one word a speed: 'beats', 'stirs' or 'still'
    records : sequence of Record, of the resolved flow
    reduced : sequence of Record, of the reduced model; empty where it was not asked
    pictures : sequence of Path, PNG files of the flow
    unit : 'mm' or 'inch'
    """
    sections = [page_section("answer", "Answer", [tag("p", line, class_="lead") for line in told])]
    if pictures:
        shown = [tag("figure", picture(path), class_="wide", **SCROLLS) for path in pictures]
        sections.append(page_section("flow", "The flow at four moments of a beat", shown))
    charts = _charts(records, reduced, unit)
    if charts:
        sections.append(page_section("numbers", "Resolved, and the reduced model below", charts))
    rows = []
    for r in records:
        other = same_number(reduced, r)
        cells = [speed_text(float(r.at["speed"]), unit), words(r.quantity), show(r, unit)]
        rows.append([*cells, "-" if other is None else show(other, unit)])
    table = stacked(("speed", "what", "resolved flow", "reduced model"), rows)
    basis = tag("ul", (tag("li", b) for b in dict.fromkeys(r.basis for r in records)))
    sections.append(page_section("table", "One by one", table, basis))
    head = ("part", "quantity", "speed", "value", "low", "high", "unit", "reduced", "reason")
    out = [_row(r, same_number(reduced, r)) for r in records]
    beats = sum(word == BEATS for word in does)
    word = does[0] if len(does) == 1 else f"beats at {beats} of {len(does)} speeds"
    standing = "Screening: a flow code is not water. Bands hold two standard errors and the grid."
    return Sheet(word, "open", title, standing, sections, head, out, bool(pictures))


def _charts(records: Sequence[Record], reduced: Sequence[Record], unit: LengthUnit) -> list[Html]:
    charts = []
    for quantity in dict.fromkeys(r.quantity for r in records):
        mine = [r for r in records if r.quantity == quantity and isinstance(r.value, float)]
        if not mine:
            continue
        largest = max(abs(float(r.value)) for r in mine)  # type: ignore[arg-type]
        factor, label = user_unit(mine[0].unit, unit, largest)
        rows = []
        for r in mine:
            low, value, high = low_value_high(r, factor)
            beside = same_number(reduced, r)
            other = None
            if beside is not None and isinstance(beside.value, float):
                ends = low_value_high(beside, factor)
                other = (ends[0], factor * beside.value, ends[2])
            rows.append(Span(speed_text(float(r.at["speed"]), unit), low, value, high, other=other))
        name = words(quantity)
        charts.append(spans(rows, f"{name[0].upper()}{name[1:]}", f"[{label}]"))
    return [tag("div", charts, class_="figures")] if charts else []


def _row(record: Record, other: Record | None) -> list[Cell]:
    numbers = [low_value_high(record, 1.0)[i] for i in (1, 0, 2)]
    beside = None if other is None else low_value_high(other, 1.0)[1]
    return [record.part, record.quantity, float(record.at["speed"]), *numbers, record.unit, beside,
            record.reason]  # fmt: skip
