"""Hook clearance: the gap between an appendage's surface and the bare wire of the hook.

The part is its middle surface with half its thickness around it, the wire its axis with the
wire's radius around it; the margin is what is left between them, negative where they overlap.
The root, no longer than it is wide, hardly moves and is left out: where it sits is the rig's
choice.
Contact is not modelled: past a margin of zero the shape is that of a part that met no hook.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from simsoft.bodies.clearance.kernel import nearest
from simsoft.bodies.rod.shapes import frames_of, paddle_outline
from simsoft.case.model import PaddleInput, Part
from simsoft.core.arrays import Array
from simsoft.geometry.bare_wire import SPOTS, BareWire
from simsoft.geometry.beads import highest
from simsoft.geometry.stations import Stations, along, cut
from simsoft.lure.parts import Strip
from simsoft.mechanics.rod import Rod

# A centreline that passes a wire in a straight line sweeps up to 180 degrees around it, however
# close; what sweeps more bends around it.
WRAP_TURN = math.radians(200.0)


@dataclass(frozen=True)
class Placed:
    """A strip in F positions, in the lure's axes.

    Attributes
    ----------
    centre : array (F, N + 1, 3) [m], root and nodes
    width_axis : array (F, N + 1, 3), unit vectors along the width
    tangent : array (F, 3), unit tangent at the tip
    """

    centre: Array
    width_axis: Array
    tangent: Array


@dataclass(frozen=True)
class Clearance:
    """The smallest gap between a strip and the hook over its positions.

    Attributes
    ----------
    margin : float [m], surface to surface, negative where they overlap
    spot : str, where on the hook
    by_spot : dict of float [m], smallest gap to each spot of the hook that stands bare
    contact : 'clear', 'touches' or 'wraps'
    turn : float [rad], swept by the centreline around the wire, where they are closest
    frame : int, position in which they are closest
    on_part, on_wire : array (3,) [m], the closest points, on middle surface and axis
    """

    margin: float
    spot: str
    by_spot: dict[str, float]
    contact: str
    turn: float
    frame: int
    on_part: Array
    on_wire: Array


def placed_rod(rod: Rod, angle: Array) -> Placed:
    """Return a rod in the one position given by its hinge angles (N, 3) [rad]."""
    node, frame = frames_of(rod, angle)
    return in_motion(rod, node[None], frame[None, :, :, 1], frame[-1][None, :, 2])


def moulded_rod(rod: Rod) -> Placed:
    """Return a rod as moulded, in one position."""
    return placed_rod(rod, rod.natural)


def in_motion(rod: Rod, node: Array, width_axis: Array, tangent: Array) -> Placed:
    """Return a rod in many positions, its held root put before the nodes.

    Parameters
    ----------
    rod : Rod
    node, width_axis : array (F, N, 3), as a march stores them
    tangent : array (F, 3), at the tip
    """
    frames = len(node)
    root = np.broadcast_to(rod.root, (frames, 1, 3))
    axis = np.broadcast_to(rod.frame[:, 1], (frames, 1, 3))
    return Placed(
        np.concatenate([root, node], axis=1), np.concatenate([axis, width_axis], axis=1), tangent
    )


def surface(strip: Strip, rod: Rod | None, place: Placed, shift: float) -> tuple[Array, Array]:
    """Return the middle surface of a strip as triangles, and half the thickness of each.

    Parameters
    ----------
    strip : Strip
    rod : Rod of that strip, None for a plate
    place : Placed
    shift : float [m], added to the thickness (tolerance)

    Returns
    -------
    triangles : array (F, T, 3, 3) [m]
    half : array (T,) [m]

    Notes
    -----
    The edges are rounded: the surface ends half a thickness short of the width. The root is
    left out (``past_root``), and so is the soft body ahead of a stem.
    """
    one, other, thick = edges(strip, place, shift)
    first = np.stack([one[:, :-1], other[:, :-1], other[:, 1:]], axis=2)
    second = np.stack([one[:, :-1], other[:, 1:], one[:, 1:]], axis=2)
    half = 0.25 * (thick[:-1] + thick[1:])
    triangles, halves = [first, second], [half, half]
    if strip.part.paddle is not None and rod is not None:
        fan = _paddle_fan(strip.part.paddle, rod, place)
        triangles.append(fan)
        halves.append(np.full(fan.shape[1], 0.5 * strip.part.paddle.thickness))
    return np.concatenate(triangles, axis=1), np.concatenate(halves)


def edges(strip: Strip, place: Placed, shift: float) -> tuple[Array, Array, Array]:
    """Return both edges (F, M, 3) [m] of a strip's middle surface past its root, and its thickness.

    The thickness (M,) [m] holds ``shift``; the edges end half of it short of the width.
    """
    elements = place.centre.shape[1] - 1
    stations = cut(strip.part, elements, shift, 0.0)
    width = np.concatenate([[stations.root_width], stations.node_width])
    thickness = np.concatenate([[stations.root_thickness], stations.node_thickness])
    thickness += highest(strip.part.beads)
    half_width = 0.5 * np.maximum(width - thickness, 0.0)
    side = place.width_axis * half_width[:, None]
    root = _left_out(strip.part, stations)
    one, other = past_root(place.centre - side, root), past_root(place.centre + side, root)
    return one, other, past_root(thickness[:, None], root)[:, 0]


def _left_out(part: Part, stations: Stations) -> float:
    """Return how many elements at the clamp a surface leaves out."""
    ahead = part.soft_ahead
    share = np.array([ahead / part.length])
    wide = stations.root_width if ahead == 0.0 else float(along(part.width, share)[0])
    return (ahead + min(wide, 0.5 * (part.length - ahead))) / float(stations.length[0])


def past_root(values: Array, root: float) -> Array:
    """Return values at stations (..., N + 1, K) without the root, begun just where it ends.

    ``root`` is in elements. What is left begins between two stations, so that it does not hang on
    how many there are.
    """
    whole = int(root)
    rest = values[..., whole:, :].copy()
    rest[..., 0, :] += (root - whole) * (rest[..., 1, :] - rest[..., 0, :])
    return rest


def _paddle_fan(paddle: PaddleInput, rod: Rod, place: Placed) -> Array:
    """Return a paddle's plate as triangles (F, T, 3, 3) [m] around its centre."""
    axis, tip = place.width_axis[:, -1], place.centre[:, -1]
    frame = np.stack([np.cross(axis, place.tangent), axis, place.tangent], axis=2)
    outline = paddle_outline(paddle, rod, tip, frame)
    centre = tip + np.einsum("fij,j->fi", frame, rod.paddle.centre)
    middle = np.broadcast_to(centre[:, None], outline[:, 1:].shape)
    return np.stack([middle, outline[:, :-1], outline[:, 1:]], axis=2)


def clearance(
    strip: Strip,
    rod: Rod | None,
    place: Placed,
    wire: BareWire,
    shift: float = 0.0,
    beyond: float = math.inf,
) -> Clearance | None:
    """Return the smallest gap between a strip and the hook, None where there is none.

    There is none where no wire stands bare, or where every gap is ``beyond`` [m].

    Parameters
    ----------
    strip : Strip
    rod : Rod of that strip, None for a plate
    place : Placed, in one or many positions
    wire : BareWire
    shift : float [m], added to the strip's thickness
    """
    if len(wire.spot) == 0:
        return None
    triangles, half = surface(strip, rod, place, shift)
    margin = np.full(len(SPOTS), beyond)
    where = np.zeros((len(SPOTS), 2, 3))
    frame = np.zeros(len(SPOTS), dtype=np.int64)
    nearest(
        np.ascontiguousarray(triangles), half + wire.radius, wire.start, wire.end, wire.spot,
        margin, where, frame,
    )  # fmt: skip
    if not np.any(margin < beyond):
        return None
    row = int(np.argmin(margin))
    best = int(frame[row])
    turn = swept_turn(place.centre[best], wire, where[row, 1])
    reach = 0.5 * max(strip.part.width.values)
    contact = "clear"
    if turn > WRAP_TURN and margin[row] <= reach:
        contact = "wraps"
    elif margin[row] <= 0.0:
        contact = "touches"
    return Clearance(
        margin=float(margin[row]),
        spot=SPOTS[row],
        by_spot={name: float(margin[i]) for i, name in enumerate(SPOTS) if margin[i] < beyond},
        contact=contact,
        turn=turn,
        frame=best,
        on_part=where[row, 0],
        on_wire=where[row, 1],
    )


def swept_turn(centre: Array, wire: BareWire, at: Array) -> float:
    """Return the angle [rad] a centreline (N, 3) sweeps around the wire near a point of it.

    The centreline is seen along the wire: the angle around its axis is followed from root to
    tip, and the range it covers is the turn. A straight line covers less than pi.
    """
    middle = 0.5 * (wire.start + wire.end)
    piece = int(np.argmin(np.linalg.norm(middle - at, axis=1)))
    axis = wire.end[piece] - wire.start[piece]
    axis = axis / np.linalg.norm(axis)
    arm = centre - at
    flat = arm - np.outer(arm @ axis, axis)
    one = np.cross(axis, np.eye(3)[int(np.argmin(np.abs(axis)))])
    one /= np.linalg.norm(one)
    angle = np.unwrap(np.arctan2(flat @ np.cross(axis, one), flat @ one))
    return float(np.ptp(angle))


def unit_vectors(vectors: Array) -> Array:
    """Return vectors (..., 3) over their lengths."""
    return np.asarray(vectors / np.linalg.norm(vectors, axis=-1, keepdims=True))
