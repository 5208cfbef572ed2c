"""The trunk of a bait as a case's body: tables of height, width and fullness, ribs, hook slot."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from scipy.ndimage import grey_closing, grey_opening

from simsoft.case.model import BodyFamily, BodyInput, Taper
from simsoft.case.shapes.slices import closed, inscribed, middles, slices, span, without_holes
from simsoft.core.arrays import Array
from simsoft.drawn.shapes import Appendage, Trunk
from simsoft.geometry.body import GROOVE_SHARE, body_stations, volume

CUTS = 400
CLEFT = 0.35  # of the largest inner circle: half the width of a slot
RIB_WINDOW = 7.0  # mm, wider than a groove; trade pitches are 2 to 6 mm (common practice)
STUB_WINDOW = 8.0  # mm, longer than a leg's root along the trunk
LEAST_RIB = 0.3  # mm, groove depth below which a trunk is smooth
MOST_STATIONS = 17
CLOSE = 0.004  # of the largest size: tables follow the trunk as near as this
SMALLEST = 0.02  # mm, size of a pointed end in a table
LEANEST = 0.25  # fullness that a case allows
FLAT_SIDED, TALL = 0.45, 1.15  # width over height; height over width
SLENDER, THICK = 7.0, 8.5  # length over height of worms; mm, height of a stick worm


@dataclass(frozen=True)
class Ribs:
    """Ring grooves: depth and pitch [mm]; zeros where there are none."""

    depth: float = 0.0
    pitch: float = 0.0


def trunk_of(solid: Any, parts: list[Appendage]) -> Trunk:
    """Return what a case needs of a trunk.

    Parameters
    ----------
    solid : manifold3d.Manifold [mm], the trunk alone, nose at the origin
    parts : list of Appendage, what was cut off it
    """
    end = span(solid)[1]
    x = middles(0.0, end, CUTS)
    sections = slices(solid, x)
    boxes = np.array([_box(section) for section in sections])
    area = np.array([section.area() for section in sections])
    height, width = boxes[:, 3] - boxes[:, 1], 2.0 * np.abs(boxes[:, [0, 2]]).max(axis=1)
    if any(part.mirrored for part in parts):  # stubs of legs are no width of the trunk
        width = grey_opening(width, max(3, round(STUB_WINDOW / (x[1] - x[0]))))
    notes = [*_bow(boxes, area, height), *_hollow(sections, area)]
    ribs = _ribs(x, height, width)
    if ribs.depth:
        size = max(3, round(RIB_WINDOW / (x[1] - x[0])))
        count = ribs.pitch / (x[1] - x[0])
        height, width = (_averaged(grey_closing(v, size), count) for v in (height, width))
        area = _averaged(area, count)
    slot, gone = _slot(x, sections, area, height)
    fullness = _fullness(area + gone, height, width, ribs.depth)
    at, table = _table(x / end, np.array([height, width, fullness]), height.max(), width.max())
    height, width, fullness = table
    family = family_of(end, table, parts)
    made = Trunk(
        solid=solid, family=family, length=end, at=at, height=height, width=width,
        fullness=fullness, rib_depth=ribs.depth, rib_pitch=ribs.pitch, slot=slot,
        notes=tuple(notes),
    )  # fmt: skip
    return _as_heavy(made, solid.volume())


def _box(section: Any) -> tuple[float, float, float, float]:
    return (0.0,) * 4 if section.is_empty() else section.bounds()


def _bow(boxes: Array, area: Array, height: Array) -> list[str]:
    """Return a note where the middle of the height leaves the axis, which a case keeps straight."""
    middle = 0.5 * (boxes[:, 1] + boxes[:, 3])
    solid = area > 0.2 * area.max()
    bow = float(np.ptp(middle[solid]))
    if bow > 0.05 * height.max():
        return [f"the middle line rises and falls by {bow:.1f} mm; a case has it straight"]
    return []


def _hollow(sections: list[Any], area: Array) -> list[str]:
    """Return a note where a trunk is hollow: a case's body is full, its fullness counts that."""
    inside = sum(without_holes(section).area() for section in sections) - float(area.sum())
    if inside > 0.03 * float(area.sum()):
        return ["CHECK the trunk is hollow: fullness keeps its mass, stiffness is too low"]
    return []


def _ribs(x: Array, height: Array, width: Array) -> Ribs:
    """Return depth and pitch of ring grooves: pits that a closing along the trunk fills."""
    step = x[1] - x[0]
    size = max(3, round(RIB_WINDOW / step))
    pits = np.minimum(*(grey_closing(v, size) - v for v in (height, width)))
    marks = pits > 2.0 * LEAST_RIB
    edges = np.flatnonzero(np.diff(np.concatenate([[0], marks.astype(int), [0]])))
    starts, ends = edges[::2], edges[1::2]
    if len(starts) < 4:
        return Ribs()
    middle = 0.5 * (x[starts] + x[ends - 1])
    gaps = np.diff(middle)
    pitch = float(np.median(gaps))
    if np.median(np.abs(gaps - pitch)) > 0.2 * pitch:
        return Ribs()
    pitch = float(np.mean(gaps[np.abs(gaps - pitch) < 0.3 * pitch]))
    depth = np.array([pits[a:b].max() for a, b in zip(starts, ends, strict=True)])
    return Ribs(0.5 * float(np.median(depth)), pitch)


def _averaged(values: Array, count: float) -> Array:
    """Return running means over a rib's pitch, which need not be a whole number of cuts."""
    total = np.concatenate([[0.0], np.cumsum(values)])
    place = np.arange(len(values)) + 0.5
    low, high = (
        np.clip(place - 0.5 * count, 0, len(values)),
        np.clip(place + 0.5 * count, 0, len(values)),
    )
    at = np.arange(len(total))
    return np.asarray((np.interp(high, at, total) - np.interp(low, at, total)) / (high - low))


def _slot(
    x: Array, sections: list[Any], area: Array, height: Array
) -> tuple[tuple[float, ...], Array]:
    """Return width, height, from and to of a hook slot open at the belly, and its area."""
    gone = np.zeros(len(x))
    radius = CLEFT * inscribed(sections[int(np.argmax(area))])
    found = []
    for k, section in enumerate(sections):
        if section.is_empty() or area[k] < 0.1 * area.max():
            continue
        cleft = closed(section, radius) - section
        for piece in cleft.decompose():
            if piece.area() < 0.02 * area[k]:
                continue
            box = piece.bounds()
            low = _box(section)[1]
            inside = abs(box[0] + box[2]) < 0.3 * (box[2] - box[0])
            deep = box[3] - max(box[1], low) > 0.12 * height[k]
            if inside and deep and box[1] < low + 0.15 * height[k]:
                found.append((k, box[2] - box[0], box[3] + 0.5 * height[k], piece.area()))
    if len(found) < 8:
        return (), gone
    rows = np.array(found)
    index = rows[:, 0].astype(int)
    wide, tall = float(np.median(rows[:, 1])), float(np.median(rows[:, 2]))
    step = x[1] - x[0]
    start, end = float(x[index[0]] - 0.5 * step), float(x[index[-1]] + 0.5 * step)
    # what a case takes off: the box from the lowest point up, whatever the belly's curve
    gone[index] = wide * np.minimum(tall, 0.9 * np.sqrt(0.5) * height[index])
    return (wide, tall, start, end), gone


def _fullness(area: Array, height: Array, width: Array, depth: float) -> Array:
    """Return area over the box that a case takes it from, grooves and all."""
    inner = np.maximum(height - 2.0 * depth, 0.0) * np.maximum(width - 2.0 * depth, 0.0)
    share = GROOVE_SHARE if depth else 0.0
    box = share * inner + (1.0 - share) * height * width
    return np.clip(area / np.maximum(box, 1e-9), LEANEST, 1.0)


def _table(at: Array, values: Array, tallest: float, widest: float) -> tuple[Array, Array]:
    """Return the fewest stations between which straight lines follow rows of values.

    The station with the largest miss is added until none is left; then the values there are
    fitted by least squares, so that noise averages out.
    """
    scale = np.array([tallest, widest, 1.0 / 3.0])[:, None]
    ends = np.array([_drawn_to_end(at, row) for row in values])
    at = np.concatenate([[0.0], at, [1.0]])
    values = np.column_stack([ends[:, 0], values, ends[:, 1]])
    chosen = [0, len(at) - 1]
    while len(chosen) < MOST_STATIONS:
        lines = np.array([np.interp(at, at[chosen], row[chosen]) for row in values])
        miss = (np.abs(lines - values) / scale).max(axis=0)
        worst = int(np.argmax(miss))
        if miss[worst] < CLOSE:
            break
        chosen = sorted([*chosen, worst])
    stations = np.round(at[chosen], 4)
    fitted = _fit(at, values, stations)
    least = np.array([SMALLEST, SMALLEST, LEANEST])[:, None]
    most = np.array([np.inf, np.inf, 1.0])[:, None]
    return stations, np.clip(fitted, least, most)


def _drawn_to_end(at: Array, row: Array) -> tuple[float, float]:
    """Return values at both ends, half a cut beyond the first and the last."""
    first = 1.5 * row[0] - 0.5 * row[1]
    last = 1.5 * row[-1] - 0.5 * row[-2]
    return max(first, 0.0), max(last, 0.0)


def _fit(at: Array, values: Array, stations: Array) -> Array:
    """Return values at stations whose straight lines come nearest to rows of values."""
    hats = np.array([np.interp(at, stations, row) for row in np.eye(len(stations))]).T
    fitted = np.linalg.lstsq(hats, values.T, rcond=None)[0].T
    near = np.array([np.interp(stations, at, row) for row in values])
    # where a station has few cuts beside it the fit may swing; the value itself is as good
    off = np.abs(fitted - near) > 0.05 * np.abs(near)
    return np.where(off, near, fitted)


def family_of(length: float, table: Array, parts: list[Appendage]) -> str:
    """Return the family of a trunk by its proportions and by what stands off it."""
    tallest, widest = float(table[0].max()), float(table[1].max())
    kinds = {part.kind for part in parts}
    if any(part.mirrored for part in parts):
        return "creature"
    if widest < FLAT_SIDED * tallest:
        return "flat-sided"
    if tallest > TALL * widest:
        return "swim-bait"
    if length > SLENDER * tallest and "paddle-tail" not in kinds:
        return "stick-worm" if tallest > THICK else "worm"
    return "grub"


def body_input(trunk: Trunk) -> BodyInput:
    """Return a trunk as the body that a case makes of it, SI."""
    at = tuple(map(float, trunk.at))
    family: BodyFamily = trunk.family  # type: ignore[assignment]
    wide, tall, start, end = (1e-3 * size for size in trunk.slot or (0.0,) * 4)
    return BodyInput(
        family=family,
        length=1e-3 * trunk.length,
        height=Taper(at, tuple(1e-3 * trunk.height)),
        width=Taper(at, tuple(1e-3 * trunk.width)),
        fullness=Taper(at, tuple(trunk.fullness)),
        rib_depth=1e-3 * trunk.rib_depth,
        rib_pitch=1e-3 * trunk.rib_pitch,
        slot_width=wide,
        slot_height=tall,
        slot_from=start,
        slot_to=end,
    )


def _as_heavy(trunk: Trunk, wanted: float) -> Trunk:
    """Return a trunk whose fullness gives the mesh's volume [mm^3]."""
    for _ in range(4):
        found = 1e9 * volume(body_stations(body_input(trunk)))
        fullness = np.clip(trunk.fullness * wanted / found, LEANEST, 1.0)
        trunk = replace(trunk, fullness=fullness)
    return trunk
