"""Two views of things in space as one drawing: from the side and, below it, from above."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from simsoft.core.arrays import Array
from simsoft.report.html.markup import Html, tag
from simsoft.report.html.plot import drawing, px
from simsoft.report.html.scene import FINE

Place = Callable[[Array], str]
Draw = Callable[[int, Place], list[Html]]

WIDTH = 480.0
TALLEST = 400.0
EDGE = 12.0
GAP = 34.0  # between the views, for the names
VIEWS = ((2, "From the side"), (1, "From above"))
THINNEST = 0.12  # of the length, height of a view of something flat


def two_views(cloud: Array, draw: Draw, name: str, *, inch: bool) -> Html:
    """Return a drawing of both views with a bar of a round length.

    Parameters
    ----------
    cloud : array (n, 3) [1e-5 m], every point that the drawing must hold
    draw : function of the axis that points up (2 or 1) and of what turns points (n, 3) into the
        ``points`` of a shape, returning the pieces of a view
    name : str, of the drawing
    inch : bool, the bar is told in inches
    """
    low, high = cloud.min(axis=0), cloud.max(axis=0)
    long = float((high - low).max()) or 1.0
    span = np.maximum(high - low, THINNEST * long)
    middle = 0.5 * (low + high)
    scale = min((WIDTH - 2.0 * EDGE) / span[0], (TALLEST - 3.0 * GAP) / (span[1] + span[2]))
    pieces: list[Html] = []
    top = GAP
    for up, view in VIEWS:

        def place(points: Array, up: int = up, top: float = top) -> str:
            x = EDGE + scale * (points[:, 0] - middle[0] + 0.5 * span[0])
            y = top + scale * (middle[up] + 0.5 * span[up] - points[:, up])
            return " ".join(f"{px(a)},{px(b)}" for a, b in zip(x, y, strict=True))

        pieces.append(tag("text", view, x=4, y=px(top - 12.0), class_="name"))
        pieces += draw(up, place)
        top += scale * span[up] + GAP
    pieces.append(_bar(inch, scale, top - 12.0))
    return drawing(2.0 * EDGE + scale * span[0] + 60.0, top, name, pieces)


def _bar(inch: bool, scale: float, y: float) -> Html:
    length, name = (0.5 * 0.0254, "0.5 inch") if inch else (0.01, "10 mm")
    long = scale * length * FINE
    line = tag("line", x1=px(EDGE), x2=px(EDGE + long), y1=px(y), y2=px(y), class_="bar")
    return tag("g", line, tag("text", name, x=px(EDGE + long + 6.0), y=px(y), dy="0.32em"))


def as_points(numbers: list[int]) -> Array:
    """Return flat whole numbers as points (n, 3)."""
    return np.array(numbers, dtype=float).reshape(-1, 3)


def view_outline(body: dict[str, list[int]], up: int) -> Array:
    """Return the outline (n, 3) of a body of the scene in a view."""
    x = np.array(body["x"], dtype=float)
    half = 0.5 * np.array(body["height" if up == 2 else "width"], dtype=float)
    points = np.zeros((2 * len(x), 3))
    points[:, 0] = np.concatenate([x, x[::-1]])
    points[:, up] = np.concatenate([half, -half[::-1]])
    return points


def ribbon(edges: Array) -> Array:
    """Return the outline (2 n, 3) of a strip between its edges (n, 2, 3)."""
    return np.concatenate([edges[:, 0], edges[::-1, 1]])
