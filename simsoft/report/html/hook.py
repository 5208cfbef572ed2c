"""Hook clearance on the page: the closest position drawn with its gap, and the table."""

from __future__ import annotations

from typing import Any

import numpy as np

from simsoft.report.html.markup import Html, tag
from simsoft.report.html.scene import FINE
from simsoft.report.html.views import Place, as_points, ribbon, two_views, view_outline
from simsoft.report.text.clearance import STATES, closest_calls, gap_text
from simsoft.report.units import speed_text
from simsoft.results.result import Closest, RunResult


def hook_figures(result: RunResult, scene: dict[str, Any]) -> list[Html]:
    """Return a figure for every closest call, of a mirrored pair the first only."""
    told: dict[str, Html] = {}
    for item in closest_calls(result):
        told.setdefault(_caption(item, result, pair=True), _figure(item, result, scene))
    return list(told.values())


def _caption(item: Closest, result: RunResult, *, pair: bool = False) -> str:
    state = STATES.get(item.state, item.state)
    speed = f" at {speed_text(item.speed, result.case.length_unit)}" if item.speed > 0.0 else ""
    part = item.part.partition("/")[0] if pair else item.part
    gap = gap_text(item, result.case.length_unit)
    return f"{part}, {item.scenario}, {state}{speed}: {gap}"


def _figure(item: Closest, result: RunResult, scene: dict[str, Any]) -> Html:
    edges, paddle = FINE * item.edges, FINE * item.paddle
    gap = FINE * np.stack([item.on_part, item.on_wire])
    wire = as_points(scene["hook"]["path"]) if scene["hook"] else gap
    body = [view_outline(scene["body"], up) for up in (1, 2)] if scene["body"] else []
    caption = _caption(item, result)

    def draw(up: int, place: Place) -> list[Html]:
        pieces = []
        if scene["body"]:
            pieces.append(
                tag("polygon", points=place(view_outline(scene["body"], up)), class_="body")
            )
        pieces += [
            tag("polygon", points=place(shape), class_="part")
            for shape in (ribbon(edges), paddle)
            if len(shape)
        ]
        pieces.append(tag("polyline", points=place(wire), class_="hook"))
        pieces.append(tag("polyline", points=place(gap), class_="gap"))
        for point in place(gap).split():
            x, y = point.split(",")
            pieces.append(tag("circle", cx=x, cy=y, r=3.5, class_="gap-end"))
        if item.contact == "clear":
            x, y = place(gap).split()[0].split(",")
            name = gap_text(item, result.case.length_unit).rpartition(" by ")[2]
            pieces.append(tag("text", name, x=x, y=y, dx=8, dy=-6, class_="gap-name"))
        return pieces

    cloud = np.concatenate([edges.reshape(-1, 3), paddle.reshape(-1, 3), gap, wire, *body])
    picture = two_views(cloud, draw, caption, inch=scene["inch"])
    return tag("figure", picture, tag("figcaption", caption))
