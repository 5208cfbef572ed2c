"""Soft parts cut off a trunk and named: tails, claws and legs, pairs of them."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from simsoft.case.shapes.slices import loops, slices
from simsoft.core.arrays import Array
from simsoft.drawn.flat import ASTRAY, MeasuredPart, measured
from simsoft.drawn.rear import Cut, cut_behind, is_behind, measured_apart
from simsoft.drawn.shapes import Appendage
from simsoft.drawn.solid import centre_and_second
from simsoft.drawn.thin import PieceGroup, Thin, core_of

CURLED = 30.0  # deg: less is straight
NECK = 0.75  # of the widest: a narrower root is a neck
LONGEST_NECK = 0.55  # of the length
TRANSITION = 0.10  # of a claw's length between neck and pad, as a case has it
TWIN = 0.05  # of the bait's length and of the volume: a mirror image
NO_STRIP = (
    "CHECK its outline is no strip of one middle line: {:.0%} of it lies beside; the sizes below "
    "keep its area, draw it as `outline` of a claw or strip"
)
SHARED = (
    "CHECK two that share one root are said as a pair: they part at {:.0%} of the length, what "
    "lies in front of that is drawn on; measure it"
)
GROWN = (
    "CHECK two that hang together over {:.0%} of their length are said as a pair; sizes and "
    "turning are those of halves cut at the middle, draw the two apart"
)
FORKED = (
    "CHECK its lobes are no straight strips, {:.0%} of the outline lies off them; are they claws? "
    "Then read it again with --up square to their plane"
)
GROWN_FROM = 0.25  # of the length: cut halves are no longer the two that were drawn
CENTRED = 0.03  # of the bait's length from the plane of symmetry


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
    trunk, behind = (solid, []) if stemmed else cut_behind(solid, thin)
    found: list[tuple[MeasuredPart, Any]] = [m for cut in behind for m in measured_apart(cut)]
    if any(part.form == "round" and _is_middle(part, length) for part, _ in found):
        # a worm's own round tail is no part of its own
        trunk, found = solid, []
    notes = []
    for group in thin.groups:
        if is_behind(group, thin):
            continue
        cut = _cut_aside(trunk, group, thin)
        if cut is None:
            notes.append("a thin part could not be cut off the trunk and counts as trunk")
            continue
        trunk = trunk - cut.piece
        found.append((measured(cut.piece, cut.root), cut.piece))
    trunk = max(trunk.decompose(), key=lambda p: p.volume())
    return _named(found, length), trunk, notes


def _is_middle(part: MeasuredPart, length: float) -> bool:
    return abs(float(part.position[1])) < CENTRED * length


def _cut_aside(trunk: Any, group: PieceGroup, thin: Thin) -> Cut | None:
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


def _named(found: list[tuple[MeasuredPart, Any]], length: float) -> list[Appendage]:
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
    others: list[tuple[MeasuredPart, Any]], centre: Array, volume: float, length: float
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


def _kind(part: MeasuredPart, paired: bool) -> str:
    if part.form == "fork":
        return "fork-tail"
    if part.form == "round":
        return "leg"
    if abs(part.arc_angle) > CURLED:
        return "curl-tail"
    if paired and _neck(part) is not None:
        return "claw"
    return "strip" if paired else "ribbon"


def _neck(part: MeasuredPart) -> float | None:
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


def _appendage(part: MeasuredPart, piece: Any, kind: str, name: str, paired: bool) -> Appendage:
    share = _softest(part)
    narrow = float(np.interp(share, part.at, part.line[:, 0]))
    made = Appendage(
        kind=kind, name=name, solid=piece, position=part.position, direction=part.direction,
        width_axis=part.width_axis, length=part.length, at=part.at, width=part.width,
        thickness=part.thickness, line=part.line,
        section="ellipse" if part.form == "round" else "rectangle",
        arc_angle=part.arc_angle if kind == "curl-tail" else 0.0, curl=part.curl,
        fork_angle=part.fork_angle, mirrored=paired, narrowest=narrow,
        root_doubt=part.shared * part.length,
    )  # fmt: skip
    notes: tuple[str, ...] = ("a pair without necks: said as strips",) if kind == "strip" else ()
    if part.shared:
        notes += ((GROWN if part.shared > GROWN_FROM else SHARED).format(part.shared),)
    if part.astray > ASTRAY:
        notes += ((FORKED if kind == "fork-tail" else NO_STRIP).format(part.astray),)
    return replace(made, notes=notes)


def _softest(part: MeasuredPart) -> float:
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
