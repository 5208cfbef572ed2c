"""What a body ahead leaves of the stream at a paddle.

Twelve tails behind stiff bodies in a resolved flow (``validation/resolved``: body rows; slim, deep
and blunt, paddle centred 2 and 6 mm below the stem) lose a share of the paddle's force,

    d = (0.165 + 0.36 A_b / A_p) exp(-z / (0.9 D)),

A_b the section at the body's end, A_p the paddle's area, z how far its centre hangs below the stem
and D its width. The speed that reaches stem and paddle is sqrt(1 - d) of the stream's. What the
wake of the body shakes is left out, and so is a longer stem, whose paddle sits in a weaker wake.
"""

from __future__ import annotations

import math

from simsoft.case.model import BodyInput, Part
from simsoft.core.band import Band
from simsoft.geometry.body import body_stations
from simsoft.geometry.paddle import plate_area

FRICTION, BASE, REACH = 0.165, 0.36, 0.9
SPREAD = (0.6, 1.4)  # of the loss, from row to row
MOST = 0.6  # of the force: what was run lost at most 0.38
BEHIND = 0.9  # of the body's length: a part whose root sits farther forward is beside it
BASIS = "behind twelve bodies in a resolved flow, computed here, screening"


def shading(body: BodyInput | None, part: Part) -> Band | None:
    """Return the share of the stream's speed that reaches a paddle tail, None where all does."""
    paddle = part.paddle
    if body is None or paddle is None or part.direction[0] <= 0.0:
        return None
    if part.position[0] < BEHIND * body.length:
        return None
    base = float(body_stations(body).outline[-1])
    below = abs(paddle.offset) / (REACH * paddle.width)
    loss = min(MOST, (FRICTION + BASE * base / plate_area(paddle)) * math.exp(-below))
    ends = [math.sqrt(1.0 - min(MOST, share * loss)) for share in SPREAD]
    return Band(math.sqrt(1.0 - loss), ends[1], ends[0], BASIS)
