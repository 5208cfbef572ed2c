"""The page of two designs compared by their repeats."""

from __future__ import annotations

from collections.abc import Sequence

from simsoft.aquarium.two_designs import Contrast
from simsoft.aquarium.welch import Repeats
from simsoft.core.quantities import words
from simsoft.report.html.document import page_section, stacked
from simsoft.report.html.markup import tag
from simsoft.report.html.sheet import Cell, Sheet
from simsoft.report.html.spans import Span, spans
from simsoft.report.text.two_designs import (
    OF_ONE_BAIT,
    contrast_at,
    contrast_text,
    in_shares,
    only_in,
    side_text,
    verdict_text,
)
from simsoft.report.units import LengthUnit

CONDITIONS = ("speed", "temperature")


def two_designs_sheet(
    found: Sequence[Contrast],
    names: tuple[str, str],
    notes: Sequence[str],
    unit: LengthUnit = "mm",
) -> Sheet:
    """Return the differences with their bands as a chart and a table, and what was left out."""
    sections = []
    drawn = [_span(c) for c in found if c.apart is not None and in_shares(c)]
    if drawn:
        label = f"{names[1]} against {names[0]} [%]"
        sections.append(
            page_section("bands", "Differences", spans(drawn, "Difference", label, None, [0.0]))
        )
    rows = [
        [
            ", ".join(filter(None, (words(c.quantity), contrast_at(c)))),
            *(side_text(side, c, unit) for side in c.sides),
            contrast_text(c, unit) or "-",
            verdict_text(c, names, unit),
        ]
        for c in found
        if not c.alone
    ]
    head = ("what", *names, "difference", "verdict")
    sections.append(page_section("pairs", "One by one", stacked(head, rows)))
    left = [*only_in(found, names), *notes]
    if left:
        told = tag("ul", (tag("li", note) for note in left))
        sections.append(page_section("notes", "Not compared", told))
    judged = [c for c in found if c.apart is not None or c.beats is not None]
    apart = sum(c.resolved for c in judged)
    word = f"{apart} of {len(judged)} apart" if judged else "nothing compared"
    class_ = "open" if judged else "no-go"
    table = ("quantity", *CONDITIONS, "unit", "n_first", "mean_first", "scatter_first", "n_second",
             "mean_second", "scatter_second", "difference", "low_95", "high_95", "more_runs_each",
             "verdict")  # fmt: skip
    out = [_row(c, names) for c in found]
    return Sheet(word, class_, f"{names[1]} against {names[0]}", OF_ONE_BAIT, sections, table, out)


def _span(contrast: Contrast) -> Span:
    first, found = contrast.sides[0], contrast.apart
    if first is None or found is None:
        raise RuntimeError("a contrast that is not drawn has no span")
    low, value, high = (
        None if x is None else 100.0 * x / abs(first.mean)
        for x in (found.low, found.difference, found.high)
    )
    name = " ".join(filter(None, (words(contrast.quantity), contrast_at(contrast))))
    return Span(name, low, value, high, told=contrast_text(contrast))


def _row(contrast: Contrast, names: tuple[str, str]) -> list[Cell]:
    found = contrast.apart
    ends: list[Cell] = [None] * 4
    if found is not None:
        ends = [found.difference, found.low, found.high, found.more]
    sides = [cell for side in contrast.sides for cell in _side(side)]
    at = [contrast.at.get(key) for key in CONDITIONS]
    return [contrast.quantity, *at, contrast.unit, *sides, *ends, verdict_text(contrast, names)]


def _side(side: Repeats | None) -> list[Cell]:
    return [None] * 3 if side is None else [side.n, side.mean, side.scatter]
