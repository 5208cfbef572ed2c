"""A folded part against the body it sits on: how deep its shape lies in it, and what that voids.

Contact is not modelled. A shape that runs into the body is none that the part can take: the body
holds it off, so that it folds less far and lies elsewhere than the model says.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from simsoft.bodies.clearance.gap import Placed, edges
from simsoft.case.model import BodyInput
from simsoft.core.arrays import Array
from simsoft.geometry.body_surface import depth_in_body
from simsoft.lure.parts import Strip
from simsoft.results.outcome import Outcome

YIELDS = 0.5e-3  # [m] by which soft plastic gives way where it lies on soft plastic (judgement)
ACROSS = np.linspace(0.0, 1.0, 5)  # from edge to edge, where the depth is looked at
BEYOND = "depth of its surface under the body's, past what it is moulded in; contact not modelled"
# What else hangs on a shape, by the state it is looked at in; still water tells fold-back at rest.
VOIDS = {
    "rest": ("curl_up", "tip_angle"),
    "cycle": ("fold_back", "flap_frequency", "stroke"),
}

Moulded = Callable[[], Placed]  # the part as moulded, made where it is needed


def add_body_depth(
    outcome: Outcome,
    strip: Strip,
    shift: float,
    place: Placed,
    moulded: Moulded,
    *,
    basis: str,
    **at: float | str,
) -> None:
    """Add how deep a part lies in the body, and distrust what an impossible shape tells.

    Nothing is added without a body, or for a paddle tail, whose stem goes on in it. Past `YIELDS`
    the hook clearance of these conditions, and what else hangs on the shape, are not trusted.
    The clearance has to be there already.

    Parameters
    ----------
    outcome : Outcome
    strip : Strip
    shift : float [m], added to its thickness
    place : Placed, positions of the strip
    moulded : function of nothing, the strip as moulded
    basis : str
    at : conditions of the record, ``state`` among them
    """
    if strip.body is None or strip.part.paddle is not None:
        return
    deep = body_depth(strip, strip.body, shift, place, moulded)
    outcome.add("body_depth", deep, "m", f"{basis}; {BEYOND}", **at)
    if deep <= YIELDS:
        return
    why = f"its shape runs {1e3 * deep:.2g} mm into the body, which would hold it off"
    told = {key: value for key, value in at.items() if key == "speed"}
    for quantity, conditions in list(outcome.answers):
        if quantity == "hook_clearance" and at.items() <= dict(conditions).items():
            outcome.distrust(quantity, why, **dict(conditions))
    outcome.closest[:] = [
        one
        for one in outcome.closest
        if (one.state, one.speed) != (at["state"], at.get("speed", 0.0))
    ]
    still = ("fold_back",) if at.get("speed") == 0.0 else ()
    for quantity in (*VOIDS.get(str(at["state"]), ()), *still):
        outcome.distrust(quantity, why, **told)


def body_depth(
    strip: Strip, body: BodyInput, shift: float, place: Placed, moulded: Moulded
) -> float:
    """Return how deep [m] the surface of a strip lies in the body, 0 where it keeps out of it.

    What lies in the body as moulded counts only by how much deeper it comes.
    """
    deep = _depths(strip, body, shift, place)
    if not np.any(deep > 0.0):
        return 0.0
    was = _depths(strip, body, shift, moulded())[0]
    if len(was) != deep.shape[1]:  # cut into other elements
        shares = np.linspace(0.0, 1.0, deep.shape[1])
        own = np.linspace(0.0, 1.0, len(was))
        was = np.stack([np.interp(shares, own, column) for column in was.T], axis=1)
    return max(0.0, float((deep - np.maximum(was, 0.0)).max()))


def _depths(strip: Strip, body: BodyInput, shift: float, place: Placed) -> Array:
    """Return the depth (F, M, 5) [m] of a strip's surface at its stations, from edge to edge."""
    one, other, thick = edges(strip, place, shift)
    point = one[:, :, None] + ACROSS[:, None] * (other - one)[:, :, None]
    depth = depth_in_body(body, point.reshape(-1, 3)).reshape(point.shape[:3])
    return np.asarray(depth + 0.5 * thick[:, None])
