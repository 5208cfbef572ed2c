"""Numbers with their bands on one scale, bars about a middle, and points against each other."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from simsoft.report.html.markup import Html, tag
from simsoft.report.html.plot import LEFT, RIGHT, TOP, Plot, axes, drawing, px, ticks

WIDTH = 340.0
ROW = 34.0  # height of one number with its name
FOOT = 34.0
ROOM = 0.06  # of the scale beyond the outermost end


class Span(NamedTuple):
    """A number on a line with its band, and another beside it.

    Attributes
    ----------
    name : str
    low, value, high : float or None
    other : (low, value, high) or None, drawn below, such as what was measured
    told : str, said where the pointer rests
    chosen : bool, marked
    """

    name: str
    low: float | None
    value: float | None
    high: float | None
    other: tuple[float | None, float, float | None] | None = None
    told: str = ""
    chosen: bool = False


def spans(
    rows: Sequence[Span],
    name: str,
    label: str,
    ends: tuple[float, float] | None = None,
    limits: Sequence[float] = (),
) -> Html:
    """Return numbers with their bands below each other on one scale.

    Parameters
    ----------
    rows : sequence of Span
    name : str, what is drawn, for those who do not see it
    label : str, of the scale, with its unit
    ends : pair of float or None, of the scale; None takes what the rows hold
    limits : sequence of float, drawn as lines across all rows
    """
    height = TOP + ROW * len(rows) + FOOT
    plot = Plot(WIDTH, height, ends or _ends(rows, limits), (0.0, 1.0))
    left = LEFT - 34.0  # there is no scale upward, so that names may begin at the side
    parts = []
    bottom = TOP + ROW * len(rows)
    for value in ticks(*plot.x):
        x = px(_across(plot, value, left))
        parts.append(tag("line", x1=x, x2=x, y1=px(TOP), y2=px(bottom), class_="grid"))
        parts.append(tag("text", f"{value:g}", x=x, y=px(bottom + 15), class_="mid"))
    for limit in limits:
        x = px(_across(plot, limit, left))
        parts.append(tag("line", x1=x, x2=x, y1=px(TOP), y2=px(bottom), class_="start"))
    for place, row in enumerate(rows):
        parts += _row(plot, row, TOP + ROW * place, left)
    parts.append(tag("text", label, x=px(WIDTH - RIGHT), y=px(height - 4), class_="end"))
    parts.insert(0, tag("text", name, x=4, y=15, class_="name"))
    return tag("figure", drawing(WIDTH, height, f"{name}; the table holds it", parts))


def _across(plot: Plot, value: float, left: float) -> float:
    low, high = plot.x
    share = min(max((value - low) / (high - low), 0.0), 1.0)
    return left + share * (plot.width - left - RIGHT)


def _ends(rows: Sequence[Span], limits: Sequence[float]) -> tuple[float, float]:
    numbers = [x for row in rows for x in (row.low, row.value, row.high) if x is not None]
    numbers += [x for row in rows if row.other for x in row.other if x is not None]
    numbers += limits
    low, high = min(numbers, default=0.0), max(numbers, default=1.0)
    low = min(low, 0.0) if low < 0.5 * high else low
    room = ROOM * ((high - low) or abs(high) or 1.0)
    return low - (room if low else 0.0), high + room


def _row(plot: Plot, row: Span, top: float, left: float) -> list[Html]:
    """Return one number: its name above, its band and its point, the other one below."""
    name = f"{row.name}{' (picked)' if row.chosen else ''}"
    parts = [tag("text", name, x=px(left), y=px(top + 11), class_="told")]
    middle = top + 21.0
    if row.value is not None:
        parts += _band(plot, (row.low, row.value, row.high), middle, left, "line", row.told)
    if row.other is not None:
        parts += _band(plot, row.other, middle + 7.0, left, "start-line", "")
    return parts


def _band(
    plot: Plot,
    numbers: tuple[float | None, float, float | None],
    y: float,
    left: float,
    class_: str,
    told: str,
) -> list[Html]:
    low, value, high = numbers
    parts = []
    if low is not None and high is not None:
        ends = {"x1": px(_across(plot, low, left)), "x2": px(_across(plot, high, left))}
        parts.append(tag("line", **ends, y1=px(y), y2=px(y), class_=f"span {class_}"))
    title = [tag("title", told)] if told else []
    place = {"cx": px(_across(plot, value, left)), "cy": px(y)}
    parts.append(tag("circle", *title, **place, r=4, class_=f"spot {class_}"))
    return parts


def tornado(rows: Sequence[tuple[str, float]], name: str, words: tuple[str, str]) -> Html:
    """Return bars about a middle line, longest first as given.

    Parameters
    ----------
    rows : sequence of (name, size -1..1)
    name : str, what is drawn
    words : pair of str, what the left and the right side mean
    """
    height = TOP + ROW * len(rows) + 22.0
    largest = max((abs(size) for _, size in rows), default=1.0) or 1.0
    middle, reach = 0.5 * WIDTH, 0.5 * WIDTH - RIGHT
    parts = [tag("text", name, x=4, y=15, class_="name")]
    for place, (told, size) in enumerate(rows):
        top = TOP + ROW * place
        length = reach * abs(size) / largest
        start = middle if size > 0 else middle - length
        parts.append(tag("text", told, x=4, y=px(top + 11), class_="told"))
        parts.append(
            tag("rect", x=px(start), y=px(top + 16), width=px(length), height=11, class_="share")
        )
    bottom = TOP + ROW * len(rows)
    parts.append(
        tag("line", x1=px(middle), x2=px(middle), y1=px(TOP), y2=px(bottom), class_="axis")
    )
    parts.append(tag("text", words[0], x=4, y=px(bottom + 15)))
    parts.append(tag("text", words[1], x=px(WIDTH - 4), y=px(bottom + 15), class_="end"))
    return tag("figure", drawing(WIDTH, height, f"{name}; the table holds it", parts))


class DesignPoint(NamedTuple):
    """A design among others: two numbers, whether it meets the brief, what it is."""

    x: float
    y: float
    good: bool
    told: str


def against(points: Sequence[DesignPoint], name: str, x_label: str, y_label: str) -> Html:
    """Return points against each other: filled where the brief is met, hollow where not."""
    across = _reach([p.x for p in points])
    up = _reach([p.y for p in points])
    plot = Plot(WIDTH, 260.0, across, up)
    parts = [axes(plot, y_label, x_label)]
    for p in points:
        place = {"cx": px(plot.across(p.x)), "cy": px(plot.up(p.y))}
        class_ = "dot" if p.good else "dot still"
        parts.append(tag("circle", tag("title", p.told), **place, r=4, class_=class_))
    return tag("figure", drawing(WIDTH, 260.0, f"{name}; the table holds it", parts))


def _reach(numbers: Sequence[float]) -> tuple[float, float]:
    low, high = min(numbers), max(numbers)
    low = min(low, 0.0) if low < 0.5 * high else low
    room = ROOM * ((high - low) or abs(high) or 1.0)
    return low - (room if low else 0.0), high + room


def map_cells(
    across: Sequence[str],
    up: Sequence[str],
    share: Sequence[Sequence[float | None]],
    names: tuple[str, str, str],
    text: Sequence[Sequence[str]],
) -> Html:
    """Return a map as a table: rows from the top down, a cell the darker the better.

    Parameters
    ----------
    across, up : sequence of str, values of the axes
    share : rows of numbers 0..1 or None, by ``up`` and ``across``
    names : (what, across, up)
    text : rows of str, what the cells say
    """
    what, x_name, y_name = names
    head = tag(
        "tr", tag("th", f"{y_name} \\ {x_name}"), (tag("th", x, scope="col") for x in across)
    )
    rows = []
    for y, shades, words in reversed(list(zip(up, share, text, strict=True))):
        line = [
            tag("td", word, class_=f"shade s{_shade(shade)}")
            for shade, word in zip(shades, words, strict=True)
        ]
        rows.append(tag("tr", tag("th", y, scope="row"), line))
    table = tag("table", tag("caption", what), tag("thead", head), tag("tbody", rows))
    return tag("div", table, class_="wide map", tabindex=0, role="region", aria_label=what)


def _shade(share: float | None) -> str:
    return "none" if share is None else str(round(4.0 * min(max(share, 0.0), 1.0)))
