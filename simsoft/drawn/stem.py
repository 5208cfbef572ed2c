"""A stem with a plate behind it: found by stiffness, measured on the plate's own planes."""

from __future__ import annotations

from typing import Any

import numpy as np

from simsoft.case.shapes.slices import loops, middles, moments, slices, span, turned_solid
from simsoft.core.arrays import Array
from simsoft.drawn.shapes import Appendage, EndPlate
from simsoft.drawn.solid import arrays, face_normals

DEEPER = 3.0  # times: a section this much softer than what is behind it is a stem
FLATTEST = 1.4  # thickness over width of a stem at most: it bends sideways
CRUMB = 0.02  # of what lies behind a cut: a rough shoulder leaves crumbs there
REAR = 0.4  # share of the length: a stem starts no nearer to the nose
THICKEST = 0.7  # of the smaller of its outline's sizes: a plate is flat
SQUARE = 0.55  # share of the plate's normal along the stem: 57 to 123 degrees
FACING = 0.96  # cosine: faces of the plate
JUMP = 1.2  # times in stiffness over JUMP_STEP: a shoulder
JUMP_STEP = 0.004  # of the length
ROUNDED = 4  # times that step, over which a rounded shoulder rises
LEDGE = 1.1  # the same in the taper before that, where it is also
CLEAR = 1.7  # times the growth beside it: a steep taper is no shoulder
GROWN = 2.0  # times in stiffness: a stem may begin from here on
FADED = 8.0  # times in stiffness, twice in thickness: what is stiffer hardly bends
FAR = 16.0  # times in stiffness, as far as a shoulder is sought
EVEN = 0.03  # of the size: a stem that varies less has one width and one thickness
DISC = 0.89  # area over width times height, between a disc's 0.785 and a rectangle's 1
ROOT = 0.05  # of the stem's length, where it runs into the plate
NO_SHOULDER = (
    f"CHECK no shoulder: the stem is taken from where it is {FADED:g} times as stiff as at its "
    f"thinnest; {{:.1f}} mm farther back it is {GROWN:g} times. A shorter stem beats faster"
)
ACROSS = np.array([0.0, 1.0, 0.0])


def second_moment(solid: Any, x: Array) -> Array:
    """Return int y^2 dA [mm^4] of sections, every piece about its own middle: against the kick."""
    return np.array([_own(section) for section in slices(solid, x)])


def _own(section: Any) -> float:
    pieces = section.decompose() if section.num_contour() > 1 else [section]
    return float(sum(moments(piece)[3] for piece in pieces))


def narrowest(x: Array, stiff: Array) -> int | None:
    """Return the softest section between stiffer ones, or None where there is none.

    Parameters
    ----------
    x : array (n,) [mm], sections from the nose on
    stiff : array (n,) [mm^4]
    """
    behind = np.maximum.accumulate(stiff[::-1])[::-1]
    ahead = np.maximum.accumulate(stiff)
    good = (behind > DEEPER * stiff) & (ahead > DEEPER * stiff) & (x > REAR * x[-1])
    if not good.any():
        return None
    # of an even stem the section next to the trunk, which bends most
    soft = good & (stiff < (1.0 + EVEN) * stiff[good].min())
    return int(np.flatnonzero(soft)[0])


def stem_and_plate(solid: Any, x: Array, stiff: Array) -> Appendage | None:
    """Return the stem and plate of a bait, or None where it has none.

    Parameters
    ----------
    solid : manifold3d.Manifold [mm], in a case's axes
    x, stiff : arrays (n,), sections and their stiffness
    """
    k = narrowest(x, stiff)
    if k is None:
        return None
    behind = solid.trim_by_plane((1.0, 0.0, 0.0), float(x[k]))
    pieces = sorted(behind.decompose(), key=lambda p: -p.volume())
    if sum(piece.volume() > CRUMB * behind.volume() for piece in pieces) > 1:
        return None
    behind = pieces[0]
    faces = _faces(behind)
    if faces is None:
        return None
    normal, front, rear = faces
    first, faded = _start(solid, x, stiff, k)
    middle = np.array([x[k], *moments(slices(solid, [x[k]])[0])[1:3]])
    stations, sections = _along(solid, middle, first, normal, front)
    found = np.array([moments(section) for section in sections])
    line = np.column_stack([stations, found[:, 1], found[:, 2]])
    axis, point = _fitted(line)
    upright = np.cross(normal, ACROSS)
    plate = _plate(behind, normal, upright, front, rear, axis, point)
    if plate.thickness > THICKEST * min(plate.width, plate.height):
        return None  # two ends of a curl that face fore and aft, no plate
    # the stem ends where its axis meets the plate's front face
    reach = (plate.centre - point) @ normal - 0.5 * plate.thickness
    end = point + axis * reach / (axis @ normal)
    root = point + axis * (first - point[0]) / axis[0]
    section, width, thickness = _sizes(sections, found)
    length = float(np.linalg.norm(end - root))
    if float(np.median(thickness)) > FLATTEST * float(np.median(width)) or length <= 0.0:
        return None  # a flat that lies level, no stem: it would bend up and down
    at = np.clip((stations - root[0]) / (end[0] - root[0]), 0.0, 1.0)
    at, width, thickness = _evened(at, width, thickness)
    return Appendage(
        kind="paddle-tail",
        name="tail",
        solid=solid.trim_by_plane((1.0, 0.0, 0.0), float(first)),
        position=root,
        direction=axis,
        width_axis=np.array([0.0, 0.0, 1.0]),
        length=length,
        at=at,
        width=width,
        thickness=thickness,
        line=np.array([root, end]),
        section=section,
        plate=plate,
        narrowest=float(x[k]),
        root_doubt=faded,
        notes=(NO_SHOULDER.format(faded),) if faded else (),
    )


def _faces(piece: Any) -> tuple[Array, float, float] | None:
    """Return the plate's normal and where its front and rear face lie along it."""
    normals, areas, centres = face_normals(piece)
    low, high = span(piece)
    kept = centres[:, 0] > low + 1e-6 * (high - low)
    normals, areas, centres = normals[kept], areas[kept], centres[kept]
    scatter = np.einsum("i,ij,ik->jk", areas, normals, normals)
    scatter[1, :] = scatter[:, 1] = 0.0  # the plate stands square to the plane of symmetry
    normal = np.linalg.eigh(scatter)[1][:, -1]
    normal = normal if normal[0] > 0.0 else -normal
    if normal[0] < SQUARE:
        return None
    for _ in range(4):
        along = normals @ normal
        rear, front = along > FACING, along < -FACING
        if not rear.any() or not front.any():
            return None
        mean = [np.average(normals[side], axis=0, weights=areas[side]) for side in (rear, front)]
        normal = mean[0] / np.linalg.norm(mean[0]) - mean[1] / np.linalg.norm(mean[1])
        normal[1] = 0.0
        normal /= np.linalg.norm(normal)
    height = centres @ normal
    levels = [_median(height[side], areas[side]) for side in (front, rear)]
    return normal, levels[0], levels[1]


def _median(values: Array, weights: Array) -> float:
    order = np.argsort(values)
    share = np.cumsum(weights[order]) / weights.sum()
    return float(values[order][np.searchsorted(share, 0.5)])


def _start(solid: Any, x: Array, stiff: Array, k: int) -> tuple[float, float]:
    """Return where the stem begins, and how far off [mm] that may be.

    It begins at a shoulder, sharp or rounded off, which leaves no doubt, or where it hardly bends.
    """
    places = [_as_stiff(x, stiff, k, times) for times in (GROWN, FAR)]
    for coarse in (1, ROUNDED):
        step = coarse * JUMP_STEP * float(x[-1])
        for far, least in zip(places, (JUMP**coarse, LEDGE**coarse), strict=True):
            grid = np.arange(float(x[k]), far - 1.5 * step, -step)
            values = second_moment(solid, grid)
            best = _shoulder(values[1:] / values[:-1], least)
            if best is not None:
                left, right = float(grid[best + 1]), float(grid[best])
                return _halved(solid, left, right, float(values[best])), 0.0
    place = _crossing(solid, places[1], float(x[k]), FADED * float(stiff[k]))
    return place, _crossing(solid, places[0], float(x[k]), GROWN * float(stiff[k])) - place


def _as_stiff(x: Array, stiff: Array, k: int, times: float) -> float:
    """Return the place ahead of a section where the stiffness is a number of times as large."""
    ahead = np.flatnonzero(stiff[:k] >= times * stiff[k])
    return float(x[max(int(ahead[-1]), 0)] if len(ahead) else x[0])


def _shoulder(ratio: Array, least: float) -> int | None:
    """Return the largest growth of stiffness that stands out from those on both its sides."""
    padded = np.pad(ratio - 1.0, 2)
    beside = np.max([padded[:-4], padded[1:-3], padded[3:-1], padded[4:]], axis=0)
    clear = np.where((ratio > least) & (ratio - 1.0 > CLEAR * beside), ratio, 0.0)
    best = int(np.argmax(clear))
    return best if clear[best] > 0.0 else None


def _halved(solid: Any, left: float, right: float, right_value: float) -> float:
    """Return where a jump lies between a stiff left and a soft right place."""
    left_value = float(second_moment(solid, np.array([left]))[0])
    return _crossing(solid, left, right, float(np.sqrt(left_value * right_value)))


def _crossing(solid: Any, left: float, right: float, level: float) -> float:
    """Return where the stiffness, above a level on the left, falls below it."""
    for _ in range(16):
        middle = 0.5 * (left + right)
        if second_moment(solid, np.array([middle]))[0] > level:
            left = middle
        else:
            right = middle
    return 0.5 * (left + right)


def _along(
    solid: Any, middle: Array, first: float, normal: Array, front: float
) -> tuple[Array, list[Any]]:
    """Return stations and sections of the stem alone, between its shoulder and the plate.

    Parameters
    ----------
    solid : manifold3d.Manifold [mm]
    middle : array (3,) [mm], of the narrowest section
    first : float [mm], the shoulder
    normal, front : array (3,) and float [mm], the plate's front face
    """
    hit = middle[0] + (front - middle @ normal) / normal[0]
    box = slices(solid, [middle[0]])[0].bounds()
    lean = 0.5 * (box[3] - box[1]) * abs(normal[2]) / normal[0]
    last = hit - lean - ROOT * (hit - first)
    stations = middles(first, max(float(last), first + 1e-3), 24)
    kept = []
    for section in slices(solid, stations):
        pieces = section.decompose() if section.num_contour() > 1 else [section]
        kept.append(min(pieces, key=lambda p: float(np.linalg.norm(moments(p)[1:3] - middle[1:]))))
    return stations, kept


def _fitted(line: Array) -> tuple[Array, Array]:
    """Return direction and a point of the stem's axis; level where it is within a degree."""
    point = line.mean(axis=0)
    slope = np.polyfit(line[:, 0], line[:, 2], 1)[0] if len(line) > 2 else 0.0
    if abs(slope) < np.tan(np.radians(1.0)):
        slope = 0.0
    axis = np.array([1.0, 0.0, slope]) / np.hypot(1.0, slope)
    return axis, np.array([point[0], 0.0, point[2]])


def _sizes(sections: list[Any], found: Array) -> tuple[str, Array, Array]:
    """Return shape, width and thickness with each section's own area and stiffness."""
    boxes = np.array([section.bounds() for section in sections])
    box = (boxes[:, 2] - boxes[:, 0]) * (boxes[:, 3] - boxes[:, 1])
    oval = float(np.median(found[:, 0] / box)) < DISC
    area, second = found[:, 0], found[:, 3]
    if oval:
        thickness = 4.0 * np.sqrt(second / area)
        return "ellipse", 4.0 * area / (np.pi * thickness), thickness
    thickness = np.sqrt(12.0 * second / area)
    return "rectangle", area / thickness, thickness


def _evened(at: Array, width: Array, thickness: Array) -> tuple[Array, Array, Array]:
    """Return root and tip of an even or straight taper, else seven stations."""
    sizes = [width, thickness]
    if all(np.ptp(size) < EVEN * size.mean() for size in sizes):
        even = [np.full(2, np.median(size)) for size in sizes]
        return np.array([0.0, 1.0]), even[0], even[1]
    lines = [np.polyfit(at, size, 1) for size in sizes]
    straight = all(
        np.abs(np.polyval(line, at) - size).max() < EVEN * size.mean()
        for line, size in zip(lines, sizes, strict=True)
    )
    stations = np.array([0.0, 1.0]) if straight else np.linspace(0.0, 1.0, 7)
    if straight:
        return stations, np.polyval(lines[0], stations), np.polyval(lines[1], stations)
    return stations, np.interp(stations, at, width), np.interp(stations, at, thickness)


def _plate(
    piece: Any, normal: Array, upright: Array, front: float, rear: float, axis: Array, point: Array
) -> EndPlate:
    """Measure a plate between its two faces."""
    frame = np.array([ACROSS, upright, np.cross(ACROSS, upright)])
    sign = 1.0 if frame[2] @ normal > 0.0 else -1.0
    flat = turned_solid(piece, frame)
    cut = flat.slice(sign * 0.5 * (front + rear))
    pieces = cut.decompose() if cut.num_contour() > 1 else [cut]
    cut = max(pieces, key=lambda p: p.area())
    found = moments(cut)
    box = cut.bounds()
    width, height, area = box[2] - box[0], box[3] - box[1], found[0]
    behind = piece.trim_by_plane(tuple(normal), front + 1e-3 * (rear - front))
    thickness = behind.volume() / area if area > 0.0 else rear - front
    thickness = float(np.clip(thickness, 0.5 * (rear - front), 1.5 * (rear - front)))
    if abs(thickness - (rear - front)) < 0.02 * thickness:
        thickness = rear - front
    centre = found[1] * ACROSS + found[2] * upright + 0.5 * (front + rear) * normal
    angle = float(np.degrees(np.arctan2(normal @ axis, normal @ np.array([0.0, 0.0, 1.0]))))
    angle -= float(np.degrees(np.arctan2(-axis[2], axis[0])))
    rim = max(loops(cut), key=len) - found[1:3]
    # where the axis meets the front face, as a case counts it
    hit = point + axis * (front - point @ normal) / (axis @ normal)
    fullness = float(area / (width * height))
    return EndPlate(
        shape="disc" if fullness < DISC else "boot",
        width=float(width), height=float(height), area=float(area), thickness=thickness,
        angle=angle, offset=float((hit - centre) @ upright), outline=rim,
        map=_thickness_map(flat, sign * front, sign * rear, cut, found[1:3]),
        centre=centre, normal=normal, upright=upright, fullness=fullness,
    )  # fmt: skip


def _thickness_map(flat: Any, front: float, rear: float, cut: Any, centre: Array) -> Array:
    """Return places on a plate and its thickness there, by rays along its normal."""
    box = cut.bounds()
    low, high = min(front, rear), max(front, rear)
    points = arrays(flat)[0]
    reach = 0.5 * (high - low)
    found = []
    for a in np.linspace(box[0], box[2], 13)[1:-1:2]:
        for b in np.linspace(box[1], box[3], 13)[1:-1:2]:
            lowest = max(float(points[:, 2].min()) - 1.0, low - reach)
            hits = flat.ray_cast((a, b, lowest), (a, b, high + reach))
            heights = sorted(float(hit.position[2]) for hit in hits)
            if len(heights) >= 2:
                found.append([a - centre[0], b - centre[1], heights[-1] - heights[-2]])
    return np.array(found).reshape(-1, 3)
