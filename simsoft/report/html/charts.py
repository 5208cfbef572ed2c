"""Charts against speed: rate, stroke, its width, fold-back with bands, start and brief's box."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from simsoft.core.quantities import CHARTED, words
from simsoft.design.brief import Finding
from simsoft.report.html.markup import Html, joined, tag
from simsoft.report.html.plot import Plot, area, axes, box, drawing, px, svg_points
from simsoft.report.text.answer import SHIVERS, STILL
from simsoft.report.units import LengthUnit, show, speed_text, user_unit
from simsoft.results.record import Record, select, why_untrusted

WIDTH, HEIGHT = 340.0, 220.0
EVEN = 4  # charts that stand two by two
ROOM = 1.08  # of an axis beyond the largest number
WILD = 3.0  # a band's end past so many largest values is cut off with an arrow
LATE = 0.85  # of the speed axis
HALF_BOX = 0.025  # of the speed axis, half the width of a brief's box at one speed


def charts(
    records: Sequence[Record], findings: Sequence[Finding], part: str, unit: LengthUnit
) -> Html | None:
    """Return the charts of one part in one scenario, None where there is nothing to draw.

    Parameters
    ----------
    records : sequence of Record of one scenario and part
    findings : sequence of Finding, of the whole brief
    part : str, name of the part
    unit : 'mm' or 'inch'
    """
    columns = {q: numbers(records, q) for q in CHARTED}
    speeds = [float(r.at["speed"]) for column in columns.values() for r in column]
    if len(set(speeds)) < 2:
        return None
    starts = [
        r
        for r in select(records, "start_speed")
        if isinstance(r.value, float) and why_untrusted(r) is None
    ]
    reach = (0.0, ROOM * max(speeds))
    mine = [f for f in findings if f.record is None or f.record in records]
    verdicts = {float(r.at["speed"]): str(r.value) for r in select(records, "verdict")}
    drawn = [
        tag("figure", _chart(q, column, starts, mine, verdicts, reach, part, unit))
        for q, column in columns.items()
        if any(r.value for r in column)
    ]
    return tag("div", drawn, class_="charts even" if len(drawn) == EVEN else "charts")


def numbers(records: Sequence[Record], quantity: str) -> list[Record]:
    """Return the numbers of a quantity at a speed alone that are to be trusted, slowest first."""
    found = [
        r
        for r in select(records, quantity)
        if set(r.at) == {"speed"} and isinstance(r.value, int | float) and why_untrusted(r) is None
    ]
    return sorted(found, key=lambda r: float(r.at["speed"]))


def _end(record: Record, high: bool) -> float:
    end = record.high if high else record.low
    return float(record.value if end is None else end)  # type: ignore[arg-type]


def _chart(
    quantity: str,
    column: Sequence[Record],
    starts: Sequence[Record],
    findings: Sequence[Finding],
    verdicts: dict[float, str],
    reach: tuple[float, float],
    part: str,
    unit: LengthUnit,
) -> Html:
    factor, name = user_unit(column[0].unit, unit)
    fast = user_unit("m/s", unit)
    speed = [float(r.at["speed"]) for r in column]
    value = [factor * float(r.value) for r in column]  # type: ignore[arg-type]
    low = [factor * _end(r, False) for r in column]
    high = [factor * _end(r, True) for r in column]
    limits = list(_limits(findings, quantity, factor))
    tallest = max([*value, *limits, 1e-9])
    top = ROOM * max(min(max([*high, *limits]), WILD * tallest), tallest)
    plot = Plot(WIDTH, HEIGHT, reach, (min(0.0, *low), top))
    label = words(quantity)
    parts = [
        *(_start(plot, r, unit) for r in starts[:1]),
        *_wishes(plot, findings, quantity, factor),
        area(plot, speed, low, high) if len(column) > 1 else _bar(plot, speed[0], low[0], high[0]),
        axes(plot, f"{label[0].upper()}{label[1:]} [{name}]", f"speed [{fast[1]}]", fast[0]),
        tag("polyline", points=svg_points(plot, speed, value), class_="line"),
        *(_cut(plot, s, h) for s, h in zip(speed, high, strict=True) if h > top),
        *(
            _dot(plot, r, s, v, verdicts, unit)
            for r, s, v in zip(column, speed, value, strict=True)
        ),
    ]
    return drawing(WIDTH, HEIGHT, f"{label} of {part} against speed; the table holds it", parts)


def _bar(plot: Plot, speed: float, low: float, high: float) -> Html:
    """Return the band of the only number as an upright bar."""
    x = px(plot.across(speed))
    ends = {"y1": px(plot.up(low)), "y2": px(plot.up(min(high, plot.y[1])))}
    return tag("line", x1=x, x2=x, **ends, class_="span line")


def _dot(
    plot: Plot,
    record: Record,
    speed: float,
    value: float,
    verdicts: dict[float, str],
    unit: LengthUnit,
) -> Html:
    verdict = verdicts.get(speed, "")
    class_ = {STILL: "dot still", SHIVERS: "dot shivers"}.get(verdict, "dot")
    more = f", {verdict}" if verdict else ""
    told = tag("title", f"{speed_text(speed, unit)}: {show(record, unit)}{more}")
    place = {"cx": px(plot.across(speed)), "cy": px(plot.up(value))}
    return tag("circle", told, **place, r=4, class_=class_)


def _cut(plot: Plot, speed: float, high: float) -> Html:
    """Return the arrow that says that a band goes on beyond the chart."""
    x, y = plot.across(speed), plot.up(plot.y[1])
    arrow = f"M{px(x)} {px(y - 7)}l4 6h-8z"
    return tag("path", tag("title", f"the band goes on up to {high:.3g}"), d=arrow, class_="cut")


def _start(plot: Plot, start: Record, unit: LengthUnit) -> Html:
    """Return the start with its band, or an arrow where it lies beyond the asked speeds."""
    speed = float(start.value)  # type: ignore[arg-type]
    if speed > plot.x[1]:
        told = f"start {speed_text(float(f'{speed:.2g}'), unit)} \u2192"
        right, top = px(plot.across(plot.x[1])), px(plot.up(plot.y[1]))
        text = tag("text", told, x=right, y=top, dx=-4, dy="0.9em", class_="start-name end")
        low = _end(start, False)
        band = box(plot, (low, plot.x[1]), plot.y, "start-band") if low < plot.x[1] else Html()
        return joined(band, text)
    high = plot.x[1] if start.high is None and start.low is not None else _end(start, True)
    x = px(plot.across(speed))
    late = speed > LATE * plot.x[1]  # its name would run off the chart
    name = "start-name end" if late else "start-name"
    top, bottom = px(plot.up(plot.y[1])), px(plot.up(plot.y[0]))
    return joined(
        box(plot, (_end(start, False), high), plot.y, "start-band"),
        tag("line", x1=x, x2=x, y1=top, y2=bottom, class_="start"),
        tag("text", "start", x=x, y=top, dx=-4 if late else 4, dy="0.9em", class_=name),
    )


def _limits(findings: Sequence[Finding], quantity: str, factor: float) -> Iterator[float]:
    for finding in findings:
        if finding.clause.quantity == quantity:
            for limit in (finding.clause.at_least, finding.clause.at_most):
                if limit is not None:
                    yield factor * limit


def _wishes(
    plot: Plot, findings: Sequence[Finding], quantity: str, factor: float
) -> Iterator[Html]:
    """Yield the box of every clause about a quantity, and of the start along the axis."""
    for finding in findings:
        clause = finding.clause
        if clause.temperature is not None and finding.record is None:
            continue
        least = None if clause.at_least is None else clause.at_least
        most = None if clause.at_most is None else clause.at_most
        if clause.quantity == quantity:
            span = plot.x
            if clause.speed is not None:
                half = HALF_BOX * plot.x[1]
                span = (clause.speed - half, clause.speed + half)
            ends = (
                plot.y[0] if least is None else factor * least,
                plot.y[1] if most is None else factor * most,
            )
            yield box(plot, span, ends, "wish")
        elif clause.quantity == "start_speed":
            span = (plot.x[0] if least is None else least, plot.x[1] if most is None else most)
            thick = 0.025 * (plot.y[1] - plot.y[0])
            yield box(plot, span, (plot.y[0], plot.y[0] + thick), "wish")


def legend() -> Html:
    """Return what the marks of the charts mean."""
    marks = (
        ("mark dot", "moves"),
        ("mark shivers", "shivers"),
        ("mark still", "still"),
        ("mark band", "band, holds about two times in three"),
        ("mark start-band", "start speed and its band"),
        ("mark wish", "asked for by the brief"),
    )
    return tag(
        "p", (tag("span", tag("span", class_=mark), name) for mark, name in marks), class_="legend"
    )
