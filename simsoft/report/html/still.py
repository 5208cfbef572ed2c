"""The picture that needs no script: the lure from the side and from above, phases of its beat."""

from __future__ import annotations

from typing import Any

import numpy as np

from simsoft.core.arrays import Array
from simsoft.report.html.markup import Html, tag
from simsoft.report.html.scene import busiest
from simsoft.report.html.views import Place, as_points, ribbon, two_views, view_outline

PHASES = 6  # of a beat as drawn


def still(scene: dict[str, Any]) -> Html:
    """Return both views of a scene, of its first set that beats, as one drawing."""
    sets = scene["sets"]
    shown = sets[busiest(sets)] if sets else {"label": "as moulded", "parts": []}

    def draw(up: int, place: Place) -> list[Html]:
        return _view(scene, shown, up, place)

    told = f"{shown['label']}: the lure from the side and from above, phases of one beat"
    return two_views(_cloud(scene, shown), draw, told, inch=scene["inch"])


def _cloud(scene: dict[str, Any], shown: dict[str, Any]) -> Array:
    clouds = [as_points(f) for part in shown["parts"] for f in (*part["frames"], *part["paddles"])]
    clouds += [view_outline(scene["body"], up) for up in (1, 2) if scene["body"]]
    if scene["hook"]:
        clouds.append(as_points(scene["hook"]["path"]))
    return np.concatenate(clouds)


def _view(scene: dict[str, Any], shown: dict[str, Any], up: int, place: Place) -> list[Html]:
    pieces = []
    if scene["body"]:
        pieces.append(tag("polygon", points=place(view_outline(scene["body"], up)), class_="body"))
    for part in shown["parts"]:
        count = len(part["frames"])
        for k in sorted(set(np.linspace(0, count - 1, min(PHASES, count)).astype(int).tolist())):
            strip = ribbon(as_points(part["frames"][k]).reshape(-1, 2, 3))
            shapes = [strip, as_points(part["paddles"][k])]
            pieces += [
                tag("polygon", points=place(shape), class_="part") for shape in shapes if len(shape)
            ]
    if scene["hook"]:
        wire = place(as_points(scene["hook"]["path"]))
        pieces.append(tag("polyline", points=wire, class_="hook"))
    return pieces
