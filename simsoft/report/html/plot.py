"""A small chart in SVG: axes with round ticks, bands, lines, boxes; colours come from classes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

from simsoft.report.html.markup import Html, joined, tag

LEFT, RIGHT, TOP, BOTTOM = 46.0, 12.0, 26.0, 36.0  # margins about the axes
TICKS = 5


class Plot(NamedTuple):
    """The axes of a chart.

    Attributes
    ----------
    width, height : float, of the whole chart
    x, y : pair of float, ends of the axes in their units
    """

    width: float
    height: float
    x: tuple[float, float]
    y: tuple[float, float]

    def across(self, value: float) -> float:
        """Return the place of a number along x, held within the axes."""
        low, high = self.x
        share = min(max((value - low) / (high - low), 0.0), 1.0)
        return LEFT + share * (self.width - LEFT - RIGHT)

    def up(self, value: float) -> float:
        """Return the place of a number along y, held within the axes."""
        low, high = self.y
        share = min(max((value - low) / (high - low), 0.0), 1.0)
        return self.height - BOTTOM - share * (self.height - TOP - BOTTOM)


def ticks(low: float, high: float) -> list[float]:
    """Return round numbers between two ends."""
    raw = (high - low) / TICKS
    power = 10.0 ** math.floor(math.log10(raw))
    step = next(f * power for f in (1.0, 2.0, 5.0, 10.0) if f * power >= raw * (1.0 - 1e-9))
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    return [round(i * step, 12) for i in range(first, last + 1)]


def axes(plot: Plot, title: str, label: str, shown: float = 1.0) -> Html:
    """Return frame, grid, ticks, the chart's title and the name of its x axis.

    ``shown`` is what the numbers beside the x axis are over those of the plot.
    """
    bottom, right = plot.height - BOTTOM, plot.width - RIGHT
    parts = [tag("text", title, x=4, y=15, class_="name")]
    for value in ticks(*plot.y):
        y = px(plot.up(value))
        parts.append(tag("line", x1=px(LEFT), x2=px(right), y1=y, y2=y, class_="grid"))
        parts.append(tag("text", f"{value:g}", x=px(LEFT - 6), y=y, dy="0.32em", class_="end"))
    for value in ticks(*(shown * end for end in plot.x)):
        x = px(plot.across(value / shown))
        parts.append(tag("line", x1=x, x2=x, y1=px(bottom), y2=px(bottom + 4), class_="axis"))
        parts.append(tag("text", f"{value:g}", x=x, y=px(bottom + 16), class_="mid"))
    parts.append(
        tag("line", x1=px(LEFT), x2=px(right), y1=px(bottom), y2=px(bottom), class_="axis")
    )
    parts.append(tag("text", label, x=px(right), y=px(plot.height - 4), class_="end"))
    return joined(parts)


def px(number: float) -> str:
    """Return a place in a drawing as short text."""
    return f"{number:.1f}".removesuffix(".0")


def svg_points(plot: Plot, x: Sequence[float], y: Sequence[float]) -> str:
    """Return places as the ``svg_points`` of a line or a polygon."""
    pairs = zip(x, y, strict=True)
    return " ".join(f"{px(plot.across(a))},{px(plot.up(b))}" for a, b in pairs)


def area(plot: Plot, x: Sequence[float], low: Sequence[float], high: Sequence[float]) -> Html:
    """Return the area between two lines."""
    return tag(
        "polygon", points=svg_points(plot, [*x, *x[::-1]], [*low, *high[::-1]]), class_="band"
    )


def box(plot: Plot, x: tuple[float, float], y: tuple[float, float], class_: str) -> Html:
    """Return a rectangle between numbers."""
    left, right = plot.across(x[0]), plot.across(x[1])
    top, bottom = plot.up(y[1]), plot.up(y[0])
    size = {"width": px(max(right - left, 0.0)), "height": px(max(bottom - top, 0.0))}
    return tag("rect", x=px(left), y=px(top), **size, class_=class_)


def drawing(width: float, height: float, name: str, *children: Html | list[Html]) -> Html:
    """Return a whole drawing with its name for those who do not see it."""
    return tag(
        "svg",
        tag("title", name),
        *children,
        viewbox=f"0 0 {px(width)} {px(height)}",
        width=px(width),
        height=px(height),
        role="img",
        aria_label=name,
        xmlns="http://www.w3.org/2000/svg",
    )
