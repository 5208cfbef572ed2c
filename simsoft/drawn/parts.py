"""Soft parts cut off a trunk and named: tails, claws and legs, pairs of them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from simsoft.case.shapes.slices import loops, moments, slices
from simsoft.core.arrays import Array
from simsoft.drawn.flat import ASTRAY, Measured, measured
from simsoft.drawn.shapes import Appendage
from simsoft.drawn.solid import centre_and_second
from simsoft.drawn.thin import Group, Thin, core_of

BEHIND = 0.6  # share of a part behind the trunk: it is cut off where the trunk ends
CURLED = 30.0  # deg: less is straight
NECK = 0.75  # of the widest: a narrower root is a neck
LONGEST_NECK = 0.55  # of the length
TRANSITION = 0.10  # of a claw's length between neck and pad, as a case has it
TWIN = 0.05  # of the bait's length and of the volume: a mirror image
NO_STRIP = (
    "CHECK its outline is no strip of one middle line: {:.0%} of it lies beside; the sizes below "
    "keep its area, draw it as `outline` of a claw or strip"
)
CENTRED = 0.03  # of the bait's length from the plane of symmetry


@dataclass(frozen=True)
class Cut:
    """A part cut off and what is left of the solid."""

    piece: Any
    root: Array


def parts_of(
    solid: Any, thin: Thin, length: float, stemmed: bool
) -> tuple[list[Appendage], Any, list[str]]:
    """Return the parts, the trunk without them, and notes.

    Parameters
    ----------
    solid : manifold3d.Manifold [mm], without a paddle's stem
    thin : Thin, of that solid
    length : float [mm], of the bait
    stemmed : bool, a stem was cut off: what is thin in front of it is the trunk's own taper
    """
    trunk, behind = (solid, []) if stemmed else _cut_behind(solid, thin)
    found: list[tuple[Measured, Any]] = [m for cut in behind for m in _measured(cut)]
    if any(part.form == "round" and _is_middle(part, length) for part, _ in found):
        # a worm's own round tail is no part of its own
        trunk, found = solid, []
    notes = []
    for group in thin.groups:
        if _is_behind(group, thin):
            continue
        cut = _cut_aside(trunk, group, thin)
        if cut is None:
            notes.append("a thin part could not be cut off the trunk and counts as trunk")
            continue
        trunk = trunk - cut.piece
        found.append((measured(cut.piece, cut.root), cut.piece))
    trunk = max(trunk.decompose(), key=lambda p: p.volume())
    return _named(found, length), trunk, notes


def _measured(cut: Cut) -> list[tuple[Measured, Any]]:
    """Measure a part; two curved lobes, side by side or not, are measured apart."""
    part = measured(cut.piece, cut.root)
    if part.form != "twin":
        return [(part, cut.piece)]
    away = centre_and_second(cut.piece)[0] - cut.root
    normal = np.array([0.0, *_lobes_apart(cut.piece, float(cut.root[0] + away[0]))])
    halves = cut.piece.split_by_plane(tuple(normal), float(normal @ cut.root))
    found = []
    for half in halves:
        piece = max(half.decompose(), key=lambda p: p.volume())
        section = slices(piece, [cut.root[0] + 1e-3])[0]
        root = np.array([cut.root[0], *moments(section)[1:3]])
        found.append((measured(piece, root), piece))
    return found


def _lobes_apart(piece: Any, x: float) -> Array:
    """Return the way (2,) in y, z between the pieces of a section, up where there is one alone."""
    pieces = sorted(slices(piece, [x])[0].decompose(), key=lambda p: -p.area())[:2]
    if len(pieces) < 2:
        return np.array([0.0, 1.0])
    way = moments(pieces[0])[1:3] - moments(pieces[1])[1:3]
    return np.asarray(np.eye(2)[int(np.argmax(np.abs(way)))])


def _is_middle(part: Measured, length: float) -> bool:
    return abs(float(part.position[1])) < CENTRED * length


def _is_behind(group: Group, thin: Thin) -> bool:
    rear = group.points[:, 0] > thin.core_end
    return bool(group.areas[rear].sum() > BEHIND * group.areas.sum()) or not group.touching.any()


def _cut_behind(solid: Any, thin: Thin) -> tuple[Any, list[Cut]]:
    """Cut a solid where its trunk ends; what curls back past that plane stays with its tail."""
    groups = [group for group in thin.groups if _is_behind(group, thin)]
    if not groups:
        return solid, []
    front = solid.trim_by_plane((-1.0, 0.0, 0.0), -thin.core_end).decompose()
    trunk = max(front, key=lambda p: p.volume())
    rear = solid.trim_by_plane((1.0, 0.0, 0.0), thin.core_end)
    for piece in front:
        if piece is not trunk:
            rear = rear + piece
    cuts = []
    least = 0.2 * min(group.volume for group in groups)
    for piece in rear.decompose():
        section = slices(piece, [thin.core_end + 1e-4])[0]
        if piece.volume() < least or section.is_empty():
            continue
        # of a sickle that comes back, the root is the piece nearest to the long axis
        near = min(section.decompose(), key=lambda p: float(np.hypot(*moments(p)[1:3])))
        centre = moments(near)[1:3]
        cuts.append(Cut(piece, np.array([thin.core_end, *centre])))
    return trunk, cuts


def _cut_aside(trunk: Any, group: Group, thin: Thin) -> Cut | None:
    """Cut a part off a trunk's side with a plane across it, as near to the trunk as one serves."""
    weights = group.areas
    middle = weights @ group.points / weights.sum()
    root = group.points[group.touching].mean(axis=0)
    if np.linalg.norm(middle - root) < 0.5:
        root = np.array([root[0], 0.0, root[2]])
    for _ in range(2):
        away = (middle - root) / np.linalg.norm(middle - root)
        start = _leaves(trunk, middle, away, thin.radius)
        for shift in np.arange(0.0, 8.0, 0.25):
            level = float(start @ away) + float(shift)
            pieces = trunk.trim_by_plane(tuple(away), level).decompose()
            near = [p for p in pieces if p.volume() < 2.0 * group.volume + 1.0]
            near = [p for p in near if _distance(p, middle) < 0.35 * _reach(p)]
            if near:
                piece = max(near, key=lambda p: p.volume())
                break
        else:
            return None
        middle = centre_and_second(piece)[0]
        root = start
    return Cut(piece, start + away * shift)


def _leaves(trunk: Any, point: Array, away: Array, radius: float) -> Array:
    """Return where the line from a part's middle back to its root enters the trunk's core."""
    steps = np.arange(0.0, 60.0, 0.5)
    places = point - steps[:, None] * away
    places = places[(places[:, 0] > 0.0) & (places[:, 0] < trunk.bounding_box()[3])]
    for place, section in zip(places, slices(trunk, places[:, 0]), strict=True):
        if not section.is_empty() and _within(core_of(section, radius), place[1:]):
            finer = place + np.arange(0.0, 0.5, 0.05)[:, None] * away
            found = zip(finer, slices(trunk, finer[:, 0]), strict=True)
            kept = [p for p, s in found if _within(core_of(s, radius), p[1:])]
            return np.asarray(kept[-1] if kept else place)
    return point - 0.5 * radius * away


def _within(section: Any, point: Array) -> bool:
    """Tell whether a point lies in a section, by the turns of its rings about it."""
    total = 0.0
    for ring in loops(section):
        rel = ring - point
        angle = np.arctan2(rel[:, 1], rel[:, 0])
        step = np.diff(np.append(angle, angle[0]))
        total += float(np.sum((step + np.pi) % (2.0 * np.pi) - np.pi))
    return total > np.pi


def _distance(piece: Any, point: Array) -> float:
    return float(np.linalg.norm(centre_and_second(piece)[0] - point))


def _reach(piece: Any) -> float:
    box = np.array(piece.bounding_box())
    return float(np.linalg.norm(box[3:] - box[:3]))


def _named(found: list[tuple[Measured, Any]], length: float) -> list[Appendage]:
    """Join mirror images to pairs and name every part by its form."""
    left = list(found)
    parts: list[Appendage] = []
    counts: dict[str, int] = {}
    while left:
        one, piece = left.pop(0)
        centre = centre_and_second(piece)[0]
        twin = _twin(left, centre, piece.volume(), length)
        if twin is not None:
            other = left.pop(twin)
            if centre[1] < 0.0:
                one, piece = other
        kind = _kind(one, twin is not None)
        label = {"curl-tail": "curl", "fork-tail": "fork", "strip": "flap"}.get(kind, kind)
        counts[label] = counts.get(label, 0) + 1
        name = label if counts[label] == 1 else f"{label}{counts[label]}"
        parts.append(_appendage(one, piece, kind, name, twin is not None))
    return parts


def _twin(
    others: list[tuple[Measured, Any]], centre: Array, volume: float, length: float
) -> int | None:
    """Return which of the others is a part's mirror image, None for a part in the middle."""
    if abs(centre[1]) < CENTRED * length * 0.5:
        return None
    image = centre * np.array([1.0, -1.0, 1.0])
    for number, (_, piece) in enumerate(others):
        near = np.linalg.norm(centre_and_second(piece)[0] - image) < TWIN * length
        if near and abs(piece.volume() - volume) < 2.0 * TWIN * volume + 1.0:
            return number
    return None


def _kind(part: Measured, paired: bool) -> str:
    if part.form == "fork":
        return "fork-tail"
    if part.form == "round":
        return "leg"
    if abs(part.arc_angle) > CURLED:
        return "curl-tail"
    if paired and _neck(part) is not None:
        return "claw"
    return "strip" if paired else "ribbon"


def _neck(part: Measured) -> float | None:
    """Return the share of the length at which a narrow root has become half a pad, or None."""
    width = part.width
    widest = float(width.max())
    root = float(np.median(width[part.at < 0.12]))
    if root > NECK * widest:
        return None
    half = 0.5 * (root + widest)
    k = int(np.argmax(width > half))
    if k == 0 or part.at[k] > LONGEST_NECK:
        return None
    return float(np.interp(half, width[k - 1 : k + 1], part.at[k - 1 : k + 1]))


def _appendage(part: Measured, piece: Any, kind: str, name: str, paired: bool) -> Appendage:
    share = _softest(part)
    narrow = float(np.interp(share, part.at, part.line[:, 0]))
    made = Appendage(
        kind=kind, name=name, solid=piece, position=part.position, direction=part.direction,
        width_axis=part.width_axis, length=part.length, at=part.at, width=part.width,
        thickness=part.thickness, line=part.line,
        section="ellipse" if part.form == "round" else "rectangle",
        arc_angle=part.arc_angle if kind == "curl-tail" else 0.0, curl=part.curl,
        fork_angle=part.fork_angle, mirrored=paired, narrowest=narrow,
    )  # fmt: skip
    notes: tuple[str, ...] = ("a pair without necks: said as strips",) if kind == "strip" else ()
    if part.astray > ASTRAY:
        notes += (NO_STRIP.format(part.astray),)
    return replace(made, notes=notes)


def _softest(part: Measured) -> float:
    """Return the share of the length at which a part bends most easily for its load.

    Stiffness b t^3 over the square of the length that hangs on it: the root of a strip of one
    section, a neck, or where a tail was thinned.
    """
    inner = part.at < 0.8
    stiff = part.width[inner] * part.thickness[inner] ** 3 / (1.0 - part.at[inner]) ** 2
    return float(part.at[inner][np.argmin(stiff)])


def neck_of(part: Appendage) -> tuple[float, float, float]:
    """Return length, width and thickness [mm] of a claw's neck, as a case says it."""
    width = part.width
    root = part.at < 0.12
    widest, narrow = float(width.max()), float(np.median(width[root]))
    half = 0.5 * (widest + narrow)
    k = int(np.argmax(width > half))
    share = float(np.interp(half, width[k - 1 : k + 1], part.at[k - 1 : k + 1]))
    share = float(np.clip(share - 0.5 * TRANSITION, 0.02, 0.65))
    return share * part.length, narrow, float(np.median(part.thickness[part.at < share]))
