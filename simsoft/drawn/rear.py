"""Parts behind a trunk: cut off at its end, and told apart where two of them hang together."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from simsoft.case.shapes.slices import middles, moments, slices, span
from simsoft.core.arrays import Array
from simsoft.drawn.flat import ASTRAY, MeasuredPart, level_fork, measured
from simsoft.drawn.solid import centre_and_second
from simsoft.drawn.thin import PieceGroup, Thin

BEHIND = 0.6  # share of a part behind the trunk: it is cut off where the trunk ends
FILM = (0.01, 0.03, 0.1, 0.25)  # of the opening's radius: what a leaning end of a trunk leaves
HALF = 0.5  # of the smallest part's volume: less is no part
IMAGE = 0.15  # share of the volume that the mirror image of a pair leaves over
PARTED = np.linspace(0.6, 0.97, 8)  # of the length: the two of a pair stand apart there
LOOKS = 100  # sections along a pair
WHOLE = 0.9  # of a half's volume, in one piece
LEFT = np.array([1.0, -1.0, 1.0])  # turns a right side into a left one


@dataclass(frozen=True)
class Cut:
    """A part cut off and the middle of its root."""

    piece: Any
    root: Array


def is_behind(group: PieceGroup, thin: Thin) -> bool:
    """Tell whether a group stands behind its trunk rather than at its side."""
    rear = group.points[:, 0] > thin.core_end
    return bool(group.areas[rear].sum() > BEHIND * group.areas.sum()) or not group.touching.any()


def cut_behind(solid: Any, thin: Thin) -> tuple[Any, list[Cut]]:
    """Cut a solid where its trunk ends; what curls back past that plane stays with its tail.

    Parameters
    ----------
    solid : manifold3d.Manifold [mm]
    thin : Thin, of that solid
    """
    groups = [group for group in thin.groups if is_behind(group, thin)]
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
        if piece.volume() < least:
            continue
        parted = _without_film(piece, thin, _held(piece, groups))
        start = thin.core_end + 1e-4 if len(parted) == 1 else span(parted[0])[0] + 1e-4
        for part in parted:
            section = slices(part, [start])[0]
            if section.is_empty():
                continue
            # of a sickle that comes back, the root is the piece nearest to the long axis
            near = min(section.decompose(), key=lambda p: float(np.hypot(*moments(p)[1:3])))
            root = np.array([start - 1e-4, *moments(near)[1:3]])
            cuts.append(Cut(part, root))
    return trunk, cuts


def _held(piece: Any, groups: list[PieceGroup]) -> list[PieceGroup]:
    """Return the groups that leave the trunk and whose middles lie in a piece's box."""
    box = np.array(piece.bounding_box())
    found = []
    for group in groups:
        middle = group.areas @ group.points / group.areas.sum()
        if group.touching.any() and (middle > box[:3]).all() and (middle < box[3:]).all():
            found.append(group)
    return found


def _without_film(piece: Any, thin: Thin, held: list[PieceGroup]) -> list[Any]:
    """Return a piece, or the parts in it where only a film of the trunk's end joins them.

    A trunk's flat end that leans by a thousandth of its height against the cut leaves such a film.
    """
    if len(held) < 2:
        return [piece]
    least = HALF * min(group.volume for group in held)
    for share in FILM:
        level = thin.core_end + share * thin.radius
        parts = piece.trim_by_plane((1.0, 0.0, 0.0), level).decompose()
        parts = [part for part in parts if part.volume() > least]
        rooted = all(span(part)[0] < level + 1e-6 for part in parts)
        if len(parts) == len(held) and rooted:
            return parts
    return [piece]


def measured_apart(cut: Cut) -> list[tuple[MeasuredPart, Any]]:
    """Measure a part; a pair that shares its root and two curved lobes are measured apart.

    Parameters
    ----------
    cut : Cut, in a case's axes: y = 0 is the plane of symmetry
    """
    halves = _halves(cut.piece)
    if halves is not None:
        return _pair(cut, halves)
    part = measured(cut.piece, cut.root)
    if part.form != "twin":
        return [(part, cut.piece)]
    away = centre_and_second(cut.piece)[0] - cut.root
    normal = np.array([0.0, *_lobes_apart(cut.piece, float(cut.root[0] + away[0]))])
    twins = cut.piece.split_by_plane(tuple(normal), float(normal @ cut.root))
    return [_half(cut, max(twin.decompose(), key=lambda p: p.volume())) for twin in twins]


def _half(cut: Cut, piece: Any) -> tuple[MeasuredPart, Any]:
    """Measure one of two halves of a part from its own root."""
    section = slices(piece, [cut.root[0] + 1e-3])[0]
    root = np.array([cut.root[0], *moments(section)[1:3]])
    return measured(piece, root), piece


def _halves(piece: Any) -> tuple[Any, Any] | None:
    """Return the left and right half of a pair that shares its root; None for another part.

    They mirror each other, and toward the tips nothing of them lies in the plane of symmetry.
    """
    if (piece - piece.mirror((0.0, 1.0, 0.0))).volume() > IMAGE * piece.volume():
        return None
    low, high = span(piece)
    for section in slices(piece, low + PARTED * (high - low)):
        bounds = [part.bounds() for part in section.decompose()]
        if len(bounds) < 2 or any(map(_crosses, bounds)):
            return None
    halves = []
    for half in piece.split_by_plane((0.0, 1.0, 0.0), 0.0):
        largest = max(half.decompose(), key=lambda p: p.volume())
        if largest.volume() < WHOLE * half.volume():
            return None
        halves.append(largest)
    return halves[0], halves[1]


def _pair(cut: Cut, halves: tuple[Any, Any]) -> list[tuple[MeasuredPart, Any]]:
    """Measure both of a pair that shares its root: as a level fork's lobes where they are strips.

    A lobe is straight, and its root under the other is drawn on; a half is cut short by the plane.
    """
    fork = level_fork(cut.piece, cut.root)
    if fork is not None and fork.astray < ASTRAY:
        left = _lobe(fork, float(cut.root[0]))
        found = [(left, halves[0]), (_mirrored(left), halves[1])]
    else:
        found = [_half(cut, half) for half in halves]
    share = _together(cut.piece)
    return [(replace(part, shared=share), piece) for part, piece in found]


def _together(piece: Any) -> float:
    """Return the share of a pair's length up to the last place where the two hang together."""
    low, high = span(piece)
    places = middles(low, high, LOOKS)
    whole = [any(_crosses(part.bounds()) for part in section.decompose())
             for section in slices(piece, places)]  # fmt: skip
    last = max(np.flatnonzero(whole), default=0)
    return float((last + 1) / LOOKS)


def _crosses(box: tuple[float, ...]) -> bool:
    """Tell whether the box of a section's piece reaches across the plane of symmetry."""
    return box[0] < 0.0 < box[2]


def _lobe(fork: MeasuredPart, start: float) -> MeasuredPart:
    """Return the left lobe of a level fork as a strip that begins behind x = start [mm]."""
    line = fork.line if fork.line[-1, 1] > 0.0 else fork.line * LEFT
    direction = (line[-1] - line[0]) / np.linalg.norm(line[-1] - line[0])
    normal = np.cross(fork.direction, fork.width_axis)
    hidden = max(0.0, (start - float(line[0, 0])) / float(direction[0])) / fork.length
    at = np.linspace(0.0, 1.0, len(fork.at))
    share = hidden + (1.0 - hidden) * at
    position = line[0] + hidden * fork.length * direction
    length = (1.0 - hidden) * fork.length
    return MeasuredPart(
        form="flat", position=position, direction=direction,
        width_axis=np.cross(normal, direction), length=length, at=at,
        width=np.interp(share, fork.at, fork.width),
        thickness=np.interp(share, fork.at, fork.thickness),
        line=position + np.outer(at * length, direction), astray=fork.astray,
    )  # fmt: skip


def _mirrored(part: MeasuredPart) -> MeasuredPart:
    """Return the mirror image of a straight strip."""
    return replace(
        part, position=part.position * LEFT, direction=part.direction * LEFT,
        width_axis=-part.width_axis * LEFT, line=part.line * LEFT,
    )  # fmt: skip


def _lobes_apart(piece: Any, x: float) -> Array:
    """Return the way (2,) in y, z between the pieces of a section, up where there is one alone."""
    pieces = sorted(slices(piece, [x])[0].decompose(), key=lambda p: -p.area())[:2]
    if len(pieces) < 2:
        return np.array([0.0, 1.0])
    way = moments(pieces[0])[1:3] - moments(pieces[1])[1:3]
    return np.asarray(np.eye(2)[int(np.argmax(np.abs(way)))])
