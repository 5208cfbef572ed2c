"""Thin parts of a bait: what an opening of its sections leaves over, joined from cut to cut."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.ndimage import grey_closing
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components

from simsoft.case.shapes.slices import (
    closed,
    inscribed,
    middles,
    moments,
    opened,
    slices,
    span,
    without_holes,
)
from simsoft.core.arrays import Array

CUTS = 240
CORE = 0.3  # of the largest circle in the trunk: half the thickness of what stands off
CLEFT = 0.35  # the same: half the width of a slot
SLIVER = 0.15  # mm, half the thickness of the thinnest part; below it leftovers are corners
SMALL = 0.002  # of the bait's volume: less is no part
LONG = 1.2  # reach from the trunk over the length of the root: less is a ridge


@dataclass(frozen=True)
class PieceGroup:
    """Pieces of sections that hang together.

    Attributes
    ----------
    points : array (n, 3) [mm], middles of the pieces
    areas : array (n,) [mm^2]
    touching : array (n,) of bool, pieces beside the trunk
    volume : float [mm^3]
    """

    points: Array
    areas: Array
    touching: Any
    volume: float


@dataclass(frozen=True)
class Thin:
    """What stands off a trunk.

    Attributes
    ----------
    groups : tuple of Group
    radius : float [mm], the opening's
    core_end : float [mm], where the trunk ends along x
    """

    groups: tuple[PieceGroup, ...]
    radius: float
    core_end: float


def thin_parts(solid: Any) -> Thin:
    """Return what is thinner than a share of the trunk, as groups that hang together."""
    low, high = span(solid)
    x = middles(low, high, CUTS)
    sections = slices(solid, x)
    bulk = sorted(sections, key=lambda s: -s.area())[: CUTS // 8]
    circle = float(np.median([inscribed(without_holes(s)) for s in bulk[::5]]))
    radius = CORE * circle
    cores = [core_of(section, radius) for section in sections]
    areas = np.array([core.area() for core in cores])
    # a flat that turns across the cuts shows a core of its own, apart from the trunk's
    run = longest_run(grey_closing((areas > 0.05 * areas.max()).astype(int), 3) > 0)
    nose, tail = run.start, run.stop - 1
    nothing = type(cores[nose])()
    cores = [core if nose <= k <= tail else nothing for k, core in enumerate(cores)]
    core_end = _end(solid, radius, float(x[tail]), float(x[min(tail + 1, len(x) - 1)]), high)
    pieces = _pieces(x, sections, cores, radius, min(SLIVER, 0.1 * circle), nose)
    groups = _grouped(pieces, (high - low) / CUTS)
    least = SMALL * solid.volume()
    kept = [g for g in groups if g.volume > least and _stands_off(g, core_end)]
    return Thin(tuple(kept), radius, core_end)


def longest_run(marks: Any) -> Any:
    """Return the slice of the longest run of true values."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], np.asarray(marks, int), [0]])))
    starts, ends = edges[::2], edges[1::2]
    best = int(np.argmax(ends - starts))
    return slice(int(starts[best]), int(ends[best]))


def core_of(section: Any, radius: float) -> Any:
    """Return a section with slots filled and thin parts left out."""
    if section.is_empty():
        return section
    whole = without_holes(section)
    return opened(closed(whole, CLEFT / CORE * radius), radius) ^ whole


def _end(solid: Any, radius: float, inside: float, outside: float, high: float) -> float:
    """Return where the trunk ends."""
    if outside <= inside:
        return high
    for _ in range(12):
        middle = 0.5 * (inside + outside)
        if core_of(slices(solid, [middle])[0], radius).is_empty():
            outside = middle
        else:
            inside = middle
    return outside  # no film of the trunk is left behind it


Piece = tuple[int, float, Any, Any, bool]


def _pieces(
    x: Array, sections: list[Any], cores: list[Any], radius: float, sliver: float, nose: int
) -> list[Piece]:
    """Return cut, place, section, moments and whether it touches the core, of every piece."""
    found: list[Piece] = []
    for k in range(nose, len(x)):
        if sections[k].is_empty():
            continue
        core = cores[k]
        # a little more than the core, so that its rounded corners leave nothing
        whole = without_holes(sections[k])
        rest = whole if core.is_empty() else whole - core.offset(0.15 * radius)
        for piece in rest.decompose() if rest.num_contour() > 1 else [rest]:
            if piece.is_empty() or piece.offset(-sliver).is_empty():
                continue
            beside = not core.is_empty() and not (piece.offset(0.4 * radius) ^ core).is_empty()
            found.append((k, float(x[k]), piece, moments(piece), beside))
    return found


def _grouped(pieces: list[Piece], step: float) -> list[PieceGroup]:
    """Join pieces of neighbouring cuts that lie over each other."""
    by_cut: dict[int, list[int]] = {}
    for number, piece in enumerate(pieces):
        by_cut.setdefault(piece[0], []).append(number)
    pairs = []
    for cut, numbers in by_cut.items():
        for one in numbers:
            for other in by_cut.get(cut + 1, []):
                if not (pieces[one][2].offset(0.5 * step) ^ pieces[other][2]).is_empty():
                    pairs.append((one, other))
    count = len(pieces)
    rows = np.array(pairs, dtype=int).reshape(-1, 2)
    graph = coo_matrix((np.ones(len(rows)), rows.T), shape=(count, count))
    number, label = connected_components(graph, directed=False)
    groups = []
    for k in range(number):
        members = [pieces[i] for i in np.flatnonzero(label == k)]
        areas = np.array([m[3][0] for m in members])
        points = np.array([[m[1], m[3][1], m[3][2]] for m in members])
        touching = np.array([m[4] for m in members])
        groups.append(PieceGroup(points, areas, touching, float(areas.sum() * step)))
    return groups


def _stands_off(group: PieceGroup, core_end: float) -> bool:
    """Tell a part from a ridge along the trunk."""
    if not group.touching.any():
        return True
    root = group.points[group.touching]
    middle = root.mean(axis=0)
    reach = float(np.linalg.norm(group.points - middle, axis=1).max())
    along = float(np.ptp(root[:, 0]))
    # legs lie within the cuts of their root: their reach shows in the pieces' own size
    own = float(np.sqrt(group.areas.max()))
    return max(reach, 2.0 * own) > LONG * along or group.points[:, 0].max() > core_end + along
