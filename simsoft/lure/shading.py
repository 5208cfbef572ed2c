"""What a body ahead leaves of the stream at a paddle.

Twelve tails behind stiff bodies in a resolved flow (``validation/resolved``: body rows; slim, deep
and blunt, paddle centred 2 and 6 mm below the stem) lose a share of the paddle's force,

    d = (0.165 + 0.36 A_b / A_p) exp(-z / (0.9 D)),

A_b the section at the body's end, A_p the paddle's area, z how far its centre hangs below the stem
and D its width. The speed that reaches stem and paddle is sqrt(1 - d) of the stream's. What the
wake of the body shakes is left out, and so is a longer stem, whose paddle sits in a weaker wake.

Where the body is soft behind its hook, the paddle swings out of that wake, and less of d is lost.
Open baits of the resolved set ask for ``SOFT_SHARE`` of it (``validation/resolved/fit.py``).
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from simsoft.case.model import BodyInput, Part
from simsoft.core.band import Band
from simsoft.geometry.body import body_stations
from simsoft.geometry.paddle import plate_area

FRICTION, BASE, REACH = 0.165, 0.36, 0.9
SPREAD = (0.6, 1.4)  # of the loss, from row to row
SOFT_SHARE = Band(0.45, 0.0, 0.9, "open baits in a resolved flow, computed here, screening")
MOST = 0.6  # of the force: what was run lost at most 0.38
BEHIND = 0.9  # of the body's length: a part whose root sits farther forward is beside it
# Loads that go with the dynamic pressure of the stream.
WITH_PRESSURE = ("normal_drag", "skin_friction", "paddle_normal_force", "munk", "rim_force")
BASIS = "behind twelve bodies in a resolved flow, computed here, screening"


def shading(body: BodyInput | None, part: Part) -> Band | None:
    """Return the share of the stream's speed that reaches a paddle tail, None where all does.

    ``body`` is the case's, None for a tail given alone, which may state what stands ahead of it.
    """
    paddle = part.paddle
    base = _section_ahead(body, part)
    if paddle is None or base is None or part.direction[0] <= 0.0:
        return None
    below = abs(paddle.offset) / (REACH * paddle.width)
    loss = min(MOST, (FRICTION + BASE * base / plate_area(paddle)) * math.exp(-below))
    soft = part.soft_ahead > 0.0
    share, *spread = (SOFT_SHARE.value, SOFT_SHARE.low, SOFT_SHARE.high) if soft else (1.0, *SPREAD)
    ends = [math.sqrt(1.0 - min(MOST, end * loss)) for end in spread]
    return Band(math.sqrt(1.0 - share * loss), ends[1], ends[0], BASIS)


def in_shade(values: Mapping[str, Mapping[str, float]]) -> dict[str, dict[str, float]]:
    """Return the inputs of a lure's pieces with the loads of shaded ones taken down.

    A lure that is towed moves through water at rest, so that no slower stream can be given to its
    tail alone. Loads go with the square of the speed, the rate of a wake with the speed.
    """
    return {name: _taken_down(own) for name, own in values.items()}


def _taken_down(own: Mapping[str, float]) -> dict[str, float]:
    share = own.get("shading", 1.0)
    factors = dict.fromkeys(WITH_PRESSURE, share**2) | {"rim_rate": share}
    return {key: value * factors.get(key, 1.0) for key, value in own.items()}


def _section_ahead(body: BodyInput | None, part: Part) -> float | None:
    """Return the area [m^2] of the body's section where a part begins, None where none is."""
    if body is not None:
        behind = part.position[0] + part.soft_ahead >= BEHIND * body.length
        return float(body_stations(body).outline[-1]) if behind else None
    if part.body_ahead is None:
        return None
    height, width = part.body_ahead
    return 0.25 * math.pi * height * width
