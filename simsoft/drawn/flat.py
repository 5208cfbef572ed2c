"""A soft part cut off its trunk, measured: middle line, width and thickness along it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from simsoft.case.shapes.slices import loops, middles, moments, slices, softest, span, turned_solid
from simsoft.core.arrays import Array
from simsoft.drawn.axes import frame_about
from simsoft.drawn.medial import MiddleLine, drawn_on, middle_line
from simsoft.drawn.solid import arrays, centre_and_second, face_normals

ROUND = 1.4  # ratio of a section's sizes, below which a part is round
PLANE = 0.62  # share of the faces' normals in one direction, above which a part is flat
FORKED = 0.45  # share of a lobe's length that lies in the other, at most
CROOKED = 0.04  # of a lobe's length off a straight line: a curl
LEVEL = np.radians(1.0)  # a root within this of the bait's axis is meant to lie along it
LOBE = 0.5  # of the other: a smaller piece is the roughness of an edge
ASTRAY = 0.03  # share of an outline off its strip; 0.005 is the most of thirty scanned baits
LEANS = 0.3  # sine: a plane that leans less to a side is level
TWO = 0.04  # share of the outline that a mirror image may leave over in a fork


@dataclass(frozen=True)
class MeasuredPart:
    """A strip, leg or fork in a case's axes; lengths in mm, angles in degrees.

    Attributes are those of `shapes.Appendage`; ``form`` is 'flat', 'round', 'fork' or
    'twin', two curved lobes that want measuring apart. ``astray`` is the share of a flat part's
    outline that the measured strip does not cover, or by which a fork differs from its lobes.
    ``shared`` is the share of the length over which two of a pair hang together.
    """

    form: str
    position: Array
    direction: Array
    width_axis: Array
    length: float
    at: Array
    width: Array
    thickness: Array
    line: Array
    arc_angle: float = 0.0
    curl: str = "across"
    fork_angle: float = 0.0
    astray: float = 0.0
    shared: float = 0.0


def measured(piece: Any, root: Array) -> MeasuredPart:
    """Measure a part.

    Parameters
    ----------
    piece : manifold3d.Manifold [mm], the part, cut off at its root
    root : array (3,) [mm], middle of the cut
    """
    middle = centre_and_second(piece)[0]
    away = middle - root
    if _is_round(piece, root, away):
        return _leg(piece, root, away)
    weights, axes = _facing(piece)
    if weights[2] > PLANE or weights[1] < 0.5 * weights[2]:
        return _planar(piece, root, away, axes[:, 2], middle)
    return _bent(piece, root, away, axes[:, 0], middle)


def level_fork(piece: Any, root: Array) -> MeasuredPart | None:
    """Measure a fork whose lobes lie to the left and right in one plane; None for another part."""
    weights, axes = _facing(piece)
    if weights[2] < PLANE or abs(axes[1, 2]) > LEANS:
        return None
    middle = centre_and_second(piece)[0]
    part = _planar(piece, root, middle - root, axes[:, 2], middle)
    return part if part.form == "fork" else None


def _facing(piece: Any) -> tuple[Array, Array]:
    """Return how much of a surface faces along three axes (3,), rising, and those as columns."""
    normals, areas, _ = face_normals(piece)
    found = np.linalg.eigh(np.einsum("i,ij,ik->jk", areas / areas.sum(), normals, normals))
    return found[0], found[1]


def _plane(away: Array, normal: Array) -> Array:
    """Return the axes of a plane as rows: away from the root, across, normal."""
    along = away - (away @ normal) * normal
    along = along / np.linalg.norm(along)
    return np.array([along, np.cross(normal, along), normal])


def _upward(axis: Array) -> float:
    """Return the sign that turns an axis up, or to the left where it lies level."""
    return float(np.sign(axis[2])) if abs(axis[2]) > 0.3 else float(np.sign(axis[1]) or 1.0)


def _section(solid: Any, height: float) -> list[Array]:
    cut = solid.slice(height)
    if cut.area() <= 0.0:
        raise ValueError("a thin part has no middle: the mesh is torn there; mend it in CAD")
    pieces = cut.decompose() if cut.num_contour() > 1 else [cut]
    return loops(max(pieces, key=lambda p: p.area()))


def _planar(piece: Any, root: Array, away: Array, normal: Array, middle: Array) -> MeasuredPart:
    """Measure a flat part, straight, curved in its plane or forked."""
    frame = _plane(away, normal)
    flat = turned_solid(piece, frame, root)
    height = float((middle - root) @ normal)
    rings = _section(flat, height)
    if _is_fork(rings):
        return _fork(piece, root, frame, flat, height)
    line = middle_line(rings, np.zeros(2))
    return replace(_strip(flat, line, frame, root, height), astray=_astray(rings, line))


def _astray(rings: list[Array], line: MiddleLine) -> float:
    """Return the share of an outline that a strip along a middle line does not cover."""
    from manifold3d import CrossSection

    whole = CrossSection(rings)
    return float((whole - _covered(line)).area() / whole.area())


def _covered(line: MiddleLine) -> Any:
    """Return the area of a strip along a middle line."""
    from manifold3d import CrossSection, FillRule

    across = np.column_stack([-line.tangents[:, 1], line.tangents[:, 0]])
    half = 0.5 * line.width[:, None] * across
    ends = [line.points + half, line.points - half]
    quads = [np.array([ends[0][k], ends[1][k], ends[1][k + 1], ends[0][k + 1]])
             for k in range(len(half) - 1)]  # fmt: skip
    return CrossSection(quads, FillRule.NonZero)


def _unlike(whole: Any, lobe: MiddleLine) -> float:
    """Return the share of a fork's outline by which it differs from two lobes, seen from x on."""
    one = _covered(lobe)
    low, below, high, above = whole.bounds()
    both = (one + one.mirror((0.0, 1.0))) - type(whole).square(
        (high - low, 2.0 * (above - below))
    ).translate((2.0 * low - high, 2.0 * below))
    return float(((both - whole).area() + (whole - both).area()) / whole.area())


def _strip(flat: Any, line: MiddleLine, frame: Array, root: Array, height: float) -> MeasuredPart:
    """Return a strip measured in its plane, in a case's axes."""
    first = line.tangents[0] if line.turning == 0.0 else _root_tangent(line)
    direction = first[0] * frame[0] + first[1] * frame[1]
    curved = abs(line.turning) > 0.0
    off = float(np.arctan2(frame[1, 0], frame[0, 0]) - np.arctan2(first[1], first[0]))
    square = abs(frame[2, 0]) < np.sin(LEVEL)
    if curved and square and abs(off) < LEVEL:  # it leaves along the bait, and turns from there
        direction = frame[0] * frame[0, 0] + frame[1] * frame[1, 0]
        direction = direction / np.linalg.norm(direction)
    else:
        off = 0.0
    width_axis = np.cross(frame[2], direction)
    sign = _upward(width_axis)
    at, width = line.at, line.width
    thickness = _by_rays(flat, line, height)
    points = np.column_stack([line.points, np.full(len(at), height)])
    return MeasuredPart(
        form="flat", position=root + points[0] @ frame, direction=direction,
        width_axis=sign * width_axis, length=line.length, at=at, width=width,
        thickness=thickness, line=root + points @ frame,
        arc_angle=float(np.degrees(line.turning - off)) * sign if curved else 0.0,
        curl="in-plane" if curved else "across",
    )  # fmt: skip


def _root_tangent(line: MiddleLine) -> Array:
    """Return the tangent at the root of an even arc between the ends of a curved line."""
    k = len(line.at) // 2
    angle = -line.turning * (line.at[k] - 0.0)
    c, s = np.cos(angle), np.sin(angle)
    return np.asarray(np.array([[c, -s], [s, c]]) @ line.tangents[k])


def _by_rays(flat: Any, line: MiddleLine, height: float) -> Array:
    """Return the thickness along a line: of a flat section as stiff, from rays through it."""
    box = flat.bounding_box()
    low, high = float(box[2]) - 1.0, float(box[5]) + 1.0
    found = []
    for point, tangent, width in zip(line.points, line.tangents, line.width, strict=True):
        across = np.array([-tangent[1], tangent[0]])
        sizes = []
        for share in (-0.36, -0.24, -0.12, 0.0, 0.12, 0.24, 0.36):
            a, b = point + share * width * across
            hits = flat.ray_cast((a, b, low), (a, b, high))
            heights = np.sort([float(hit.position[2]) for hit in hits])
            pairs = heights[: len(heights) // 2 * 2].reshape(-1, 2)
            if len(pairs):
                nearest = np.argmin(np.abs(pairs.mean(axis=1) - height))
                sizes.append(float(np.ptp(pairs[nearest])))
        found.append(np.mean(np.array(sizes) ** 3) ** (1.0 / 3.0) if sizes else np.nan)
    values = np.array(found)
    good = np.isfinite(values)
    return drawn_on(line.at, np.interp(line.at, line.at[good], values[good]))


def _bent(piece: Any, root: Array, away: Array, wide: Array, middle: Array) -> MeasuredPart:
    """Measure a part that is moulded bent across its flat, about its width."""
    frame = _plane(away, wide * _upward(wide))
    flat = turned_solid(piece, frame, root)
    height = float((middle - root) @ frame[2])
    line = middle_line(_section(flat, height), np.zeros(2))
    width = _by_rays(flat, MiddleLine(line.at, line.points, line.tangents, 0.5 * line.width,
                                      line.length, line.turning), height)  # fmt: skip
    first = line.tangents[0] if line.turning == 0.0 else _root_tangent(line)
    points = np.column_stack([line.points, np.full(len(line.at), height)])
    # an arc turns toward the axis width x tangent, which is to the left of the tangent
    return MeasuredPart(
        form="flat", position=root + points[0] @ frame,
        direction=first[0] * frame[0] + first[1] * frame[1], width_axis=frame[2],
        length=line.length, at=line.at, width=width, thickness=line.width,
        line=root + points @ frame, arc_angle=float(np.degrees(line.turning)), curl="across",
    )  # fmt: skip


def _is_fork(rings: list[Array]) -> bool:
    """Tell a fork, two alike lobes side by side, from a strip."""
    from manifold3d import CrossSection

    whole = CrossSection(rings)
    over = (whole - whole.mirror((0.0, 1.0))).area() / whole.area()
    if over > TWO:
        return False
    box = whole.bounds()
    a = float(box[0] + 0.8 * (box[2] - box[0]))
    strip = CrossSection.square((1e-3 * (box[2] - box[0]), 2.0 * (box[3] - box[1])), True)
    lobes = sorted(piece.area() for piece in (whole ^ strip.translate((a, 0.0))).decompose())
    return len(lobes) == 2 and lobes[0] > LOBE * lobes[1]


def _fork(piece: Any, root: Array, frame: Array, flat: Any, height: float) -> MeasuredPart:
    """Measure the upper lobe of a fork; both leave the point where their middle lines meet."""
    from manifold3d import CrossSection

    rings = _section(flat, height)
    whole = CrossSection(rings)
    box = whole.bounds()
    # behind the cleft each lobe stands alone
    low, high = float(box[0]), float(box[2])
    for _ in range(14):
        a = 0.5 * (low + high)
        strip = CrossSection.square((1e-4, 2.0 * (box[3] - box[1])), True).translate((a, 0.0))
        if len((whole ^ strip).decompose()) >= 2:
            high = a
        else:
            low = a
    cleft = high
    behind = whole ^ CrossSection.square((box[2] - cleft, box[3])).translate((cleft, 0.0))
    lobe = max(behind.decompose(), key=lambda p: p.area())
    ring = max(loops(lobe), key=len)
    direction, start, off = _lobe_line(ring, cleft)
    if off > CROOKED:
        return replace(
            _strip(flat, middle_line(rings, np.zeros(2)), frame, root, height), form="twin"
        )
    # where the lobe's middle line meets the fork's own, and the root in front of the cleft
    angle = float(np.arctan2(direction[1], direction[0]))
    meet = start - direction * start[1] / direction[1]
    length = float(((ring - meet) @ direction).max())
    at, width = _lobe_width(ring, direction, meet, length)
    points = meet + np.outer(at * length, direction)
    lying = MiddleLine(at, points, np.tile(direction, (len(at), 1)), width, length, 0.0)
    # nearer to the root the lobes lie over each other, and the thicker one shows
    free = at > FORKED
    thickness = _by_rays(flat, lying, height)
    slope = np.polyfit(at[free], thickness[free], 1)
    thickness = np.where(free, thickness, np.polyval(slope, at))
    place = np.array([meet[0], 0.0, height])
    sign = _upward(frame[1])
    line3 = np.column_stack([points, np.full(len(at), height)])
    return MeasuredPart(
        form="fork", position=root + place @ frame, direction=frame[0],
        width_axis=sign * frame[1], length=length, at=at, width=width, thickness=thickness,
        line=root + line3 @ frame, fork_angle=abs(float(np.degrees(angle))),
        astray=_unlike(whole, replace(lying, width=width)),
    )  # fmt: skip


def _lobe_line(ring: Array, cleft: float) -> tuple[Array, Array, float]:
    """Return direction and a point of a lobe's middle line, and how far it is from straight [-]."""
    near = ring[np.abs(ring[:, 0] - cleft) < 1e-4]
    start = near.mean(axis=0)
    direction = moments_direction(ring)
    for _ in range(6):
        across = np.array([-direction[1], direction[0]])
        along, side = (ring - start) @ direction, (ring - start) @ across
        # the slanted cut reaches as far along the lobe as its corners do
        corners = (near - start) @ direction
        low, high = float(corners.max()) + 0.02 * np.ptp(along), 0.97 * float(along.max())
        levels = np.linspace(low, high, 25)
        middle = np.array([_between(along, side, level) for level in levels])
        if not np.isfinite(middle).all():
            return direction, start, np.inf
        slope, shift = np.polyfit(levels, middle, 1)
        point = start + shift * across
        direction = direction + slope * across
        direction = direction / np.linalg.norm(direction)
        start = point
        left = np.abs(middle - slope * levels - shift).max() / max(float(np.ptp(along)), 1e-9)
    return direction, start, float(left)


def moments_direction(ring: Array) -> Array:
    """Return the long axis of a ring's corners, away from the root."""
    shift = ring - ring.mean(axis=0)
    axis = np.linalg.svd(shift)[2][0]
    return np.asarray(axis if axis[0] > 0.0 else -axis)


def _between(along: Array, side: Array, level: float) -> float:
    """Return the middle of a ring's chord at a level, NaN where the ring does not reach it."""
    ahead, next_side = np.roll(along, -1), np.roll(side, -1)
    cross = (along > level) != (ahead > level)
    if not cross.any():
        return float("nan")
    share = (level - along[cross]) / (ahead[cross] - along[cross])
    hits = side[cross] + share * (next_side[cross] - side[cross])
    return 0.5 * float(hits.min() + hits.max())


def _lobe_width(ring: Array, direction: Array, meet: Array, length: float) -> tuple[Array, Array]:
    """Return stations and width of a lobe; its root, hidden in the other, is drawn on."""
    across = np.array([-direction[1], direction[0]])
    rel = ring - meet
    along, side = rel @ direction, rel @ across
    at = np.linspace(0.0, 1.0, 21)
    width = np.full(len(at), np.nan)
    for k, share in enumerate(np.clip(at, 0.0, 0.996)):
        level = share * length
        ahead, next_side = np.roll(along, -1), np.roll(side, -1)
        cross = (along > level) != (ahead > level)
        if cross.sum() == 2:
            part = (level - along[cross]) / (ahead[cross] - along[cross])
            width[k] = float(np.ptp(side[cross] + part * (next_side[cross] - side[cross])))
    # chords near the cleft are cut short by it
    full = np.isfinite(width) & (at > FORKED)
    slope = np.polyfit(at[full], width[full], 1)
    width = np.where(full, width, np.polyval(slope, at))
    return at, width


def _is_round(piece: Any, root: Array, away: Array) -> bool:
    frame = frame_about(away / np.linalg.norm(away))
    here = turned_solid(piece, frame, root)
    high = span(here)[1]
    found = np.array([moments(s) for s in slices(here, high * np.array([0.35, 0.5, 0.65]))])
    if (found[:, 0] <= 0.0).any():
        return False
    soft = softest(found[:, 3:])
    stiff = found[:, 3] + found[:, 4] - soft
    return bool(np.sqrt(np.median(stiff / soft)) < ROUND)


def _leg(piece: Any, root: Array, away: Array) -> MeasuredPart:
    """Measure a round part along its own axis."""
    for _ in range(2):
        frame = frame_about(away / np.linalg.norm(away))
        here = turned_solid(piece, frame, root)
        x = middles(0.0, span(here)[1], 24)
        found = np.array([moments(section) for section in slices(here, x)])
        inner = (found[:, 0] > 0.0) & (x > 0.1 * x[-1]) & (x < 0.95 * x[-1])
        fit = np.polyfit(x[inner], found[inner, 1:3], 1)
        away = np.array([1.0, *fit[0]]) @ frame
    direction = away / np.linalg.norm(away)
    start = root + np.array([0.0, *fit[1]]) @ frame
    length = float(((arrays(piece)[0] - start) @ direction).max())
    size = np.sqrt(4.0 * np.maximum(found[:, 0], 0.0) / np.pi) / np.sqrt(
        np.hypot(1.0, np.hypot(*fit[0]))
    )
    at = np.linspace(0.0, 1.0, 9)
    size = np.interp(at, x[inner] / x[-1], size[inner])
    line = start + np.outer(at * length, direction)
    wide = np.array([0.0, 0.0, 1.0]) if abs(direction[2]) < 0.9 else np.array([0.0, 1.0, 0.0])
    return MeasuredPart("round", start, direction, wide, length, at, size, size, line)
