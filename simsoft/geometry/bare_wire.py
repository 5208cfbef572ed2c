"""The bare hook wire that an appendage can meet: pieces of it outside the body, named by spot."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from simsoft.case.model import BodyInput, HookInput
from simsoft.core.arrays import Array
from simsoft.geometry.stations import along

SPOTS = ("shank", "bend", "point")
PIECE = 1.0e-3  # [m], longest piece of wire that is bare or covered as a whole
SHANK_TURN = math.radians(30.0)  # the shank ends where the wire has turned so far from it,
POINT_TURN = math.radians(150.0)  # the point leg begins where it has turned so far


@dataclass(frozen=True)
class BareWire:
    """Pieces of hook wire that stand in the water, in the lure's axes.

    Attributes
    ----------
    start, end : array (m, 3) [m]
    spot : array (m,) of int, row of ``SPOTS``
    radius : float [m]
    body : BodyInput or None, the body it stands out of
    """

    start: Array
    end: Array
    spot: npt.NDArray[np.int64]
    radius: float
    body: BodyInput | None


def bare_wire(hook: HookInput, body: BodyInput | None) -> BareWire:
    """Return the wire of a hook that no body covers.

    Parameters
    ----------
    hook : HookInput
    body : BodyInput or None; its outer sections cover wire whose axis lies inside them
    """
    path = np.asarray(hook.path, dtype=float)
    starts, ends, spots = [], [], []
    for first, last, spot in zip(path[:-1], path[1:], wire_spots(path), strict=True):
        count = max(1, math.ceil(float(np.linalg.norm(last - first)) / PIECE))
        cuts = first + np.linspace(0.0, 1.0, count + 1)[:, None] * (last - first)
        starts.append(cuts[:-1])
        ends.append(cuts[1:])
        spots.append(np.full(count, spot))
    start, end, spot = np.concatenate(starts), np.concatenate(ends), np.concatenate(spots)
    bare = np.full(len(spot), True) if body is None else ~covered(body, 0.5 * (start + end))
    return BareWire(start[bare], end[bare], spot[bare], 0.5 * hook.wire_diameter, body)


def wire_spots(path: Array) -> npt.NDArray[np.int64]:
    """Return the row of ``SPOTS`` of each straight piece (n - 1,) of a wire's path (n, 3).

    The shank reaches back to the last piece that runs along the longest one before the bend;
    the point leg begins at the first piece after it that runs the other way.
    """
    pieces = np.diff(path, axis=0)
    length = np.linalg.norm(pieces, axis=1)
    tangent = pieces / length[:, None]
    turn = np.arccos(np.clip(tangent @ tangent[int(np.argmax(length))], -1.0, 1.0))
    spot = np.full(len(pieces), SPOTS.index("bend"))
    back = np.flatnonzero(turn > POINT_TURN)
    first_back = int(back[0]) if len(back) else len(pieces)
    ahead = np.flatnonzero(turn[:first_back] < SHANK_TURN)
    if len(ahead):
        spot[: int(ahead[-1]) + 1] = SPOTS.index("shank")
    spot[first_back:] = SPOTS.index("point")
    return spot


def covered(body: BodyInput, point: Array) -> npt.NDArray[np.bool_]:
    """Return which points (n, 3) [m] lie within the body's outer sections."""
    share = point[:, 0] / body.length
    height, width = along(body.height, share), along(body.width, share)
    up, aside = np.abs(point[:, 2]) / (0.5 * height), np.abs(point[:, 1]) / (0.5 * width)
    inside = np.maximum(up, aside) if body.section == "rectangle" else np.hypot(up, aside)
    return np.asarray((share >= 0.0) & (share <= 1.0) & (inside <= 1.0))
