"""Which side of a bait is up: what its mesh tells of it, and the question where it tells nothing.

A plane of symmetry stands upright, for left and right are alike. Where two planes serve, the
trunk's own proportions tell nothing: a tall fish lying down is a flat bait. Only what stands off
the trunk, or what the trunk has on one side, tells which is which.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from simsoft.case.shapes.slices import (
    inscribed,
    middles,
    moments,
    opened,
    slices,
    span,
    turned_solid,
)
from simsoft.core.arrays import Array
from simsoft.drawn.shapes import Appendage
from simsoft.drawn.solid import face_normals
from simsoft.drawn.stem import second_moment, stem_and_plate
from simsoft.drawn.thin import PieceGroup, Thin, core_of, longest_run, thin_parts

CUTS = 80
CORE = 0.3  # of the largest circle within a section: what is thinner is no trunk
TRUNK = 0.3  # of the largest core's area: sections that carry the trunk's line
ROUND = 1.08  # height over width, below which a trunk is round
CENTRED = 0.03  # of its height: a plate hangs no lower than its stem
ONE_SIDED = 0.01  # of the trunk's size: back and belly differ
HANGS = 0.04  # of the trunk's size: what lies behind it leaves its line
ASIDE = 0.9  # cosine: a pair of parts lies in a plane
OFF = 1.0  # of the opening's radius, a third of the trunk's: a part beside its line
ALIKE = 0.25  # share of the volume, of two parts that are a pair
PEDUNCLE = 0.55  # of the trunk's height, at its end: a fish's
STOUT = 7.0  # length over height, below which a trunk may be a fish's
FORK_AT = 0.85  # of a tail's length: its lobes stand apart there
PADS = 1.4  # of its area at the cleft: a claw's pad is wider than its neck
STRAIGHT = 0.2  # of how far lobes go apart: claws lie within 0.12 of a straight line, sickles 0.46
TAPER = 0.75  # of its area at the cleft: a fish's lobe is thinner toward its tip


@dataclass(frozen=True)
class View:
    """A bait with one of its planes of symmetry taken as upright.

    Attributes
    ----------
    solid : manifold3d.Manifold [mm], foremost point at x = 0, x to the tail, y across the plane
    angle : float [rad], of the plane's normal from the y of the frame it came from
    """

    solid: Any
    angle: float

    @cached_property
    def stem(self) -> Appendage | None:
        """Stem and plate that bend sideways in this view."""
        x = middles(*span(self.solid), 2 * CUTS)
        return stem_and_plate(self.solid, x, second_moment(self.solid, x))

    @cached_property
    def thin(self) -> Thin:
        """What stands off the trunk."""
        return thin_parts(self.solid)

    @cached_property
    def trunk(self) -> tuple[list[Any], list[Any], float]:
        """Sections of the trunk alone, those behind it, and the root of the largest's area [mm]."""
        sections = slices(self.solid, middles(*span(self.solid), CUTS))
        radius = self.thin.radius
        cores = [core_of(section, radius) for section in sections]
        areas = np.array([core.area() for core in cores])
        run = longest_run(areas > TRUNK * areas.max())
        # of a tail that curls back beside the trunk, and of legs, these show nothing
        own = [opened(section, radius) for section in sections[run]]
        own = [max(s.decompose(), key=lambda p: p.area()) for s in own if not s.is_empty()]
        return own, sections[run.stop :], float(np.sqrt(areas.max()))

    @cached_property
    def hang(self) -> float:
        """Offset [mm] of a plate below its stem; 0 for a plate in the middle or none."""
        if self.stem is None or self.stem.plate is None:
            return 0.0
        plate = self.stem.plate
        return plate.offset if abs(plate.offset) > CENTRED * plate.height else 0.0

    @cached_property
    def slot(self) -> float:
        """How far [-] sections lie above their hulls, where most so: a slot opens to the belly."""
        sections, _, size = self.trunk
        off = np.array([moments(s)[2] - moments(s.hull())[2] for s in sections])
        most = off[np.argsort(-np.abs(off))[: max(len(off) // 4, 1)]].mean()
        return float(most) / size if abs(most) > ONE_SIDED * size else 0.0

    @cached_property
    def belly(self) -> float:
        """How far [-] sections lie above the middle of their height; 0 where not at all."""
        sections, _, size = self.trunk
        off = float(np.mean([moments(s)[2] - _middle(s) for s in sections]))
        return off / size if abs(off) > ONE_SIDED * size else 0.0

    @cached_property
    def curl(self) -> float:
        """How far [-] a single tail behind the trunk lies above its line; 0 for a pair or none."""
        _, behind, size = self.trunk
        rows = np.array([moments(s)[:3] for s in behind if not s.is_empty()])
        if not len(rows):
            return 0.0
        if any(abs(_middle_of(group)[0]) > OFF * self.thin.radius for group in self.thin.groups):
            return 0.0
        off = float(rows[:, 0] @ rows[:, 2] / rows[:, 0].sum())
        return off / size if abs(off) > HANGS * size else 0.0

    @property
    def is_one_sided(self) -> bool:
        """Tell whether up and down differ in this view."""
        return bool(self.hang or self.slot or self.belly or self.is_uneven)

    @cached_property
    def is_uneven(self) -> bool:
        """Tell whether a part stands above or below the line without its like on the other side."""
        groups = self.thin.groups
        for one in groups:
            middle = _middle_of(one)
            if abs(middle[1]) < 0.5 * OFF * self.thin.radius:
                continue
            image = middle * np.array([1.0, -1.0])
            near = [np.linalg.norm(_middle_of(g) - image) < ALIKE * abs(middle[1]) for g in groups]
            if not any(near):
                return True
        return False

    @cached_property
    def ratio(self) -> float:
        """Height over width of the trunk, by its second moments."""
        sections = [s for s in slices(self.solid, middles(*span(self.solid), 40)) if s.area() > 0.0]
        areas = np.array([section.area() for section in sections])
        bulk = [sections[k] for k in np.flatnonzero(areas > 0.6 * areas.max())]
        radius = CORE * inscribed(bulk[len(bulk) // 2])
        across, along = np.mean([moments(opened(s, radius))[3:5] for s in bulk], axis=0)
        return float(np.sqrt(along / across))

    def is_fish(self, end: float) -> bool:
        """Tell a fish: a stout trunk, taller than wide, that ends (x [mm]) in a peduncle."""
        if self.ratio < ROUND:
            return False
        heights = np.array([np.ptp(s.bounds()[1::2]) for s in self.trunk[0]])
        last = slices(self.solid, [0.97 * end])[0]
        narrow = not last.is_empty() and np.ptp(last.bounds()[1::2]) < PEDUNCLE * heights.max()
        return bool(narrow and end < STOUT * heights.max())


def view(solid: Any, angle: float) -> View:
    """Return a solid, x its long axis and nose first, with a plane's normal turned to y."""
    c, s = float(np.cos(angle)), float(np.sin(angle))
    axes = np.array([[1.0, 0.0, 0.0], [0.0, c, s], [0.0, -s, c]])
    return View(turned_solid(solid, axes).translate((-span(solid)[0], 0.0, 0.0)), angle)


def chosen(views: Sequence[View]) -> tuple[View | None, str]:
    """Return which of several planes of symmetry stands upright, and what was assumed.

    Parameters
    ----------
    views : of one bait, every plane that mirrors it

    Returns
    -------
    View or None, where nothing tells; str, a note or ''
    """
    one_sided = [v for v in views if v.is_one_sided]
    if len(one_sided) == 1:
        return one_sided[0], ""
    first = views[0]
    thin = first.thin
    pair = pair_apart(thin)
    if pair is not None:
        return _across(views, first.angle, pair), ""
    stems = [v for v in views if v.stem is not None]
    fork, claws = _lobes_apart(first.solid, thin)
    if 1.0 / ROUND < first.ratio < ROUND:
        if len(stems) == 1:
            return stems[0], ""
        if claws is not None:
            note = "CHECK up: the trunk is round; its two lobes are taken for claws to the sides"
            return _across(views, first.angle, claws), note
        best = max(views, key=_facing)
        return best, "CHECK up: the trunk is round; its flat tail is taken to stand upright"
    for seen in views:
        if not seen.is_fish(thin.core_end):
            continue
        if stems == [seen]:
            return seen, "CHECK up: a fish's trunk is taller than wide, its tail kicks sideways"
        if fork is not None and _across(views, first.angle, _turned_by(fork)) is seen:
            return seen, "CHECK up: a fish's trunk is taller than wide, its fork stands upright"
    return None, ""


def pair_apart(thin: Thin) -> Array | None:
    """Return the way (2,) in y, z from one to the other of alike parts beside the line, or None.

    Claws and legs stand to the left and right. Pairs that lie across each other tell nothing,
    nor do the lobes of a fork, which leave one root.
    """
    off = [group for group in thin.groups if np.linalg.norm(_middle_of(group)) > OFF * thin.radius]
    ways, weights = [], []
    for k, one in enumerate(off):
        for other in off[k + 1 :]:
            a, b = _middle_of(one), _middle_of(other)
            alike = abs(one.volume - other.volume) < ALIKE * max(one.volume, other.volume)
            way = a - b
            if alike and np.linalg.norm(a + b) < ALIKE * np.linalg.norm(way):
                ways.append(way / np.linalg.norm(way))
                weights.append(one.volume)
    if not ways:
        return None
    scatter = np.einsum("i,ij,ik->jk", np.array(weights), np.array(ways), np.array(ways))
    size, axes = np.linalg.eigh(scatter / sum(weights))
    return np.asarray(axes[:, 1]) if size[1] > ASIDE**2 else None


def _middle_of(group: PieceGroup) -> Array:
    return np.asarray(group.areas @ group.points[:, 1:] / group.areas.sum())


def _across(views: Sequence[View], base: float, way: Array) -> View | None:
    """Return the view whose sides lie along a way (2,) in the frame of an angle, or None."""
    angle = base + float(np.arctan2(way[1], way[0]))
    best = max(views, key=lambda v: abs(np.cos(v.angle - angle)))
    return best if abs(np.cos(best.angle - angle)) > ASIDE else None


def _turned_by(way: Array) -> Array:
    """Return a way a quarter turn on: the lobes of a fork lie one above the other."""
    return np.array([-way[1], way[0]])


def _lobes_apart(solid: Any, thin: Thin) -> tuple[Array | None, Array | None]:
    """Return the way (2,) between the lobes of a fish's fork, and between claws of one root.

    Each is None where there are none. Both lie flat in one plane; a fish's taper from their
    cleft on, claws have pads.
    """
    high = span(solid)[1]
    places = thin.core_end + np.linspace(0.1, FORK_AT, 16) * (high - thin.core_end)
    lobes = [_two_lobes(section) for section in slices(solid, places)]
    split = [pair for pair in lobes if pair is not None]
    if not split or lobes[-1] is None:
        return None, None
    one, other = lobes[-1]
    way = one[1:3] - other[1:3]
    way /= np.linalg.norm(way)
    if not all(_lies_along(lobe, way) for lobe in lobes[-1]):
        return None, None
    at_cleft = float(split[0][0][0])
    if one[0] < TAPER * at_cleft:
        return np.asarray(way), None
    padded = max(float(pair[0][0]) for pair in split) > PADS * at_cleft
    return None, np.asarray(way) if padded and _are_straight(split) else None


def _are_straight(split: list[tuple[Array, Array]]) -> bool:
    """Tell whether two lobes go apart evenly from section to section, as sickles do not."""
    apart = np.array([np.linalg.norm(one[1:3] - other[1:3]) for one, other in split])
    at = np.linspace(0.0, 1.0, len(apart))
    if len(apart) < 4:
        return False
    off = apart - np.polyval(np.polyfit(at, apart, 1), at)
    return bool(np.abs(off).max() < STRAIGHT * np.ptp(apart))


def _two_lobes(section: Any) -> tuple[Array, Array] | None:
    """Return the moments of the larger and the smaller of two alike pieces, or None."""
    pieces = section.decompose() if section.num_contour() > 1 else []
    if len(pieces) != 2:
        return None
    small, large = sorted((moments(piece) for piece in pieces), key=lambda m: float(m[0]))
    return (large, small) if large[0] - small[0] < ALIKE * large[0] else None


def _lies_along(lobe: Array, way: Array) -> bool:
    """Tell whether a section (its moments) is twice as long along a way (2,) as across it."""
    yy, zz, yz = lobe[3:]
    along = way[0] ** 2 * yy + 2.0 * way[0] * way[1] * yz + way[1] ** 2 * zz
    return bool(along > 4.0 * (yy + zz - along))


def _facing(seen: View) -> float:
    """Return the share of the surface that faces to the sides, by squares of cosines."""
    normals, areas, _ = face_normals(seen.solid)
    return float(areas @ normals[:, 1] ** 2 / areas.sum())


def _middle(section: Any) -> float:
    """Return the middle of a section's height."""
    box = section.bounds()
    return 0.5 * float(box[1] + box[3])
