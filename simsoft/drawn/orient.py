"""Which way a bait lies in its file: long axis, plane of symmetry, nose and belly."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from simsoft.case.shapes.slices import (
    closed,
    inscribed,
    middles,
    moments,
    opened,
    slices,
    softest,
    span,
    turned,
)
from simsoft.core.arrays import Array
from simsoft.drawn.solid import centre_and_second, longest_axis
from simsoft.drawn.stem import stem_and_plate, stiffness
from simsoft.drawn.thin import longest_run

CUTS = 80
CORE = 0.3  # of the largest circle within a section: what is thinner is no trunk
CLEFT = 0.35  # the same: what is narrower is a slot
TRUNK = 0.3  # of the largest core's area: sections that carry the trunk's line
SNAP = np.radians(1.5)  # nearer to the file's own axes than this, those are meant
ROUND = 1.08  # height over width, below which a trunk is round
SAME = 0.02  # share of the area: planes that mirror as well as the best
LOPSIDED = 0.15  # share of the area: no plane mirrors the bait
CENTRED = 0.03  # of its height: a plate hangs no lower than its stem
NOSE_TELLS = 2.0  # times that one half is softer than the other
AXES = {"x": 0, "y": 1, "z": 2}


@dataclass(frozen=True)
class Placed:
    """A solid in a case's axes and how it was found.

    Attributes
    ----------
    solid : manifold3d.Manifold [mm], nose at the origin, x to the tail, y to the left, z up
    axes : array (3, 3), the case's axes as rows in the file's
    origin : array (3,) [mm], the nose in the file's axes
    lopsided : float [-], share of the area that the mirror image leaves over
    notes : tuple of str, what was assumed
    """

    solid: Any
    axes: Array
    origin: Array
    lopsided: float
    notes: tuple[str, ...]


class Unclear(ValueError):
    """What a mesh cannot tell; the message is the question."""


def direction(word: str) -> Array:
    """Return a signed axis of the file: '+x', '-z', 'y'.

    Raises
    ------
    ValueError
        The word names no axis.
    """
    sign, name = (word[0], word[1:]) if word[:1] in "+-" and len(word) == 2 else ("+", word)
    if name not in AXES:
        raise ValueError(f"`{word}` is no axis of the file; allowed are +x, -x, +y, -y, +z, -z")
    result = np.zeros(3)
    result[AXES[name]] = -1.0 if sign == "-" else 1.0
    return result


def placed(solid: Any, nose: str | None = None, up: str | None = None) -> Placed:
    """Return a solid turned into a case's axes.

    Parameters
    ----------
    solid : manifold3d.Manifold [mm], in the file's axes
    nose, up : str or None, axis of the file that points to the nose, and to the back

    Raises
    ------
    Unclear
        What cannot be known from the mesh; the message asks for it.
    ValueError
        ``nose`` or ``up`` names no axis, or the two are one.
    """
    notes: list[str] = []
    asked_nose = None if nose is None else direction(nose)
    asked_up = None if up is None else direction(up)
    if asked_nose is not None and asked_up is not None and abs(asked_nose @ asked_up) > 0.5:
        raise ValueError("`--nose` and `--up` name the same axis; two different ones are needed")
    centre, second = centre_and_second(solid)
    start = longest_axis(second) if asked_nose is None else asked_nose
    axis, origin = _trunk_line(solid, start, centre)
    side, lopsided, free = _mirror(solid, axis, origin, asked_up)
    axes = np.array([axis, side, np.cross(axis, side)])
    axes = _snapped(axes)
    axes = _nose_first(solid, axes, origin, asked_nose, nose)
    axes = _belly_down(solid, axes, origin, asked_up, free, notes)
    if lopsided > LOPSIDED:
        notes.append(f"no plane of symmetry: {lopsided:.0%} of the section is on one side only")
    found = turned(solid, axes, origin)
    low = span(found)[0]
    shift = np.array([low, 0.0, 0.0])
    if lopsided < SAME:
        shift[1] = centre_and_second(found)[0][1]
    if not _is_file_axes(axes):
        notes.append("turned from the file's axes")
    return Placed(found.translate(-shift), axes, origin + axes.T @ shift, lopsided, tuple(notes))


def _trunk_line(solid: Any, start: Array, origin: Array) -> tuple[Array, Array]:
    """Return direction and a point of the line through the middles of the trunk's sections."""
    axis = start / np.linalg.norm(start)
    for _ in range(10):
        axes = _frame(axis)
        here = turned(solid, axes, origin)
        x = middles(*span(here), CUTS)
        areas, centres = _core(slices(here, x))
        run = longest_run(areas > TRUNK * areas.max())
        weight = np.sqrt(areas[run])
        fit = np.polyfit(x[run], centres[run], 1, w=weight)
        tilt = np.array([1.0, *fit[0]])
        origin = origin + axes.T @ np.array([0.0, *fit[1]])
        new = axes.T @ tilt / np.linalg.norm(tilt)
        change = float(np.linalg.norm(new - axis))
        axis = new
        if change < 1e-5:
            break
    return axis, origin


def _core(sections: list[Any]) -> tuple[Array, Array]:
    """Return area and centre of the hull of every section without its thin parts."""
    bulk = sorted(sections, key=lambda s: -s.area())[: max(len(sections) // 8, 1)]
    radius = CORE * float(np.median([inscribed(s) for s in bulk]))
    cleft = CLEFT / CORE * radius
    found = np.array([moments(opened(closed(s, cleft), radius).hull()) for s in sections])
    return found[:, 0], found[:, 1:3]


def _frame(axis: Array) -> Array:
    """Return any right-handed frame whose first row is an axis, near to the file's."""
    helper = np.eye(3)[int(np.argmin(np.abs(axis)))]
    side = np.cross(helper, axis)
    side /= np.linalg.norm(side)
    return np.array([axis, side, np.cross(axis, side)])


def _mirror(solid: Any, axis: Array, origin: Array, up: Array | None) -> tuple[Array, float, bool]:
    """Return the normal of the plane of symmetry, what it leaves over, and whether two serve."""
    axes = _frame(axis)
    here = turned(solid, axes, origin)
    sections = [s.simplify(1e-3) for s in slices(here, middles(*span(here), 40))]
    sections = [s for s in sections if not s.is_empty()]
    whole = sum(s.area() for s in sections)

    def left_over(angle: float) -> float:
        normal = (float(np.cos(angle)), float(np.sin(angle)))
        return float(sum((s - s.mirror(normal)).area() for s in sections) / whole)

    def side(angle: float) -> Array:
        return np.asarray(np.cos(angle) * axes[1] + np.sin(angle) * axes[2])

    if up is not None:
        across = np.cross(up, axis)
        if np.linalg.norm(across) < 0.1:
            raise ValueError("`--up` runs along the bait; an axis across it is needed")
        angle = float(np.arctan2(across @ axes[2], across @ axes[1]))
        angle = _narrowed(left_over, angle, np.radians(6.0))
        return side(angle), left_over(angle), False
    step = np.radians(5.0)
    angles = np.arange(36) * step
    found = np.array([left_over(angle) for angle in angles])
    if found.max() - found.min() < SAME and found.max() < 2.0 * SAME:
        return _nearest_file_axis(axis), float(found.min()), True
    low = (found <= np.roll(found, 1)) & (found <= np.roll(found, -1))
    best = [_narrowed(left_over, float(angle), step) for angle in angles[low]]
    values = np.array([left_over(angle) for angle in best])
    good = [a for a, v in zip(best, values, strict=True) if v < values.min() + SAME]
    chosen = max(good, key=lambda angle: _uprightness(here, sections, angle))
    return side(chosen), left_over(chosen), len(good) > 1


def _narrowed(function: Any, middle: float, width: float) -> float:
    """Return where a function with one dip is lowest, by golden section."""
    ratio = 0.5 * (np.sqrt(5.0) - 1.0)
    low, high = middle - width, middle + width
    a, b = high - ratio * (high - low), low + ratio * (high - low)
    at_a, at_b = function(a), function(b)
    for _ in range(16):
        if at_a < at_b:
            high, b, at_b = b, a, at_a
            a = high - ratio * (high - low)
            at_a = function(a)
        else:
            low, a, at_a = a, b, at_b
            b = low + ratio * (high - low)
            at_b = function(b)
    return float(0.5 * (low + high))


def _nearest_file_axis(axis: Array) -> Array:
    """Return the file's y, or its z where the bait lies along y, made square to an axis."""
    for helper in (np.array([0.0, 0.0, 1.0]), np.array([0.0, 1.0, 0.0])):
        side = np.cross(helper, axis)
        if np.linalg.norm(side) > 0.5:
            return np.asarray(side / np.linalg.norm(side))
    return np.array([1.0, 0.0, 0.0])


def _uprightness(solid: Any, sections: list[Any], angle: float) -> float:
    """Return how well a normal serves as the side: a trunk taller than wide, else thin tails."""
    c, s = np.cos(angle), np.sin(angle)
    areas = np.array([section.area() for section in sections])
    bulk = [sections[k] for k in np.flatnonzero(areas > 0.6 * areas.max())]
    radius = CORE * inscribed(bulk[len(bulk) // 2])
    second = np.mean([moments(opened(section, radius))[3:] for section in bulk], axis=0)
    across = c * c * second[0] + 2 * c * s * second[2] + s * s * second[1]
    along = s * s * second[0] - 2 * c * s * second[2] + c * c * second[1]
    ratio = float(np.sqrt(along / across))
    if ratio > ROUND or ratio < 1.0 / ROUND:
        return 10.0 * ratio
    apart = _pair_apart(sections, radius)
    if apart is not None:
        return 5.0 * float(abs(c * apart[0] + s * apart[1]))
    mesh = solid.to_mesh64()
    points, faces = np.asarray(mesh.vert_properties)[:, :3], np.asarray(mesh.tri_verts, int)
    a, b, d = (points[faces[:, k]] for k in range(3))
    normal = np.cross(b - a, d - a)  # twice the area long
    size = np.linalg.norm(normal, axis=1)
    size[size == 0.0] = 1.0
    facing = (c * normal[:, 1] + s * normal[:, 2]) ** 2 / size
    return float(facing.sum() / size.sum())


def _pair_apart(sections: list[Any], radius: float) -> Array | None:
    """Return the way from one to the other of two alike parts where a round trunk ends, or None.

    They are claws, to the left and right; the lobes of a fork leave one root.
    """
    cores = np.array([opened(section, radius).area() for section in sections])
    filled = np.flatnonzero(cores > 0.05 * cores.max())
    for k in (filled[0] - 2, filled[-1] + 2):
        if not 0 <= k < len(sections):
            continue
        pieces = sections[k].decompose()
        if len(pieces) == 2:
            one, other = (moments(piece) for piece in pieces)
            if abs(one[0] - other[0]) < 0.1 * one[0]:
                way = one[1:3] - other[1:3]
                return np.asarray(way / np.linalg.norm(way))
    return None


def _snapped(axes: Array) -> Array:
    """Return the file's own axes where a frame is as good as these."""
    nearest = np.zeros((3, 3))
    for row in (0, 1):
        column = int(np.argmax(np.abs(axes[row])))
        nearest[row, column] = np.sign(axes[row, column])
    nearest[2] = np.cross(nearest[0], nearest[1])
    angle = np.arccos(np.clip(0.5 * (np.trace(nearest @ axes.T) - 1.0), -1.0, 1.0))
    return nearest if angle < SNAP and np.abs(nearest).sum() == 3.0 else axes


def _is_file_axes(axes: Array) -> bool:
    return bool(np.allclose(np.abs(axes).max(axis=1), 1.0))


def _nose_first(
    solid: Any, axes: Array, origin: Array, asked: Array | None, word: str | None
) -> Array:
    """Turn a frame about its upright axis so that x runs from the nose to the tail."""
    back = np.diag([-1.0, -1.0, 1.0]) @ axes
    if asked is not None:
        along = float(asked @ axes[0])
        if abs(along) < 0.5:
            raise ValueError(f"`--nose {word}` does not run along the bait; another is needed")
        return back if along > 0.0 else axes
    here = turned(solid, axes, origin)
    low, high = span(here)
    x = middles(low, high, 2 * CUTS)
    soft = np.array([stiffness_of(section) for section in slices(here, x)])
    inner = (x > low + 0.05 * (high - low)) & (x < high - 0.05 * (high - low))
    middle = 0.5 * (low + high)
    front, rear = (soft[inner & half].min() for half in (x < middle, x >= middle))
    if max(front, rear) < NOSE_TELLS * min(front, rear):
        column = int(np.argmax(np.abs(axes[0])))
        raise Unclear(
            f"which end is the nose? Both ends are alike; say --nose +{'xyz'[column]} "
            f"or --nose -{'xyz'[column]}, an axis of the file"
        )
    return axes if rear < front else back


def stiffness_of(section: Any) -> float:
    """Return the smaller second moment of a section, of every piece about its own middle."""
    if section.is_empty():
        return 0.0
    pieces = section.decompose() if section.num_contour() > 1 else [section]
    return float(sum(softest(moments(piece)[3:]) for piece in pieces))


def _belly_down(
    solid: Any, axes: Array, origin: Array, asked: Array | None, free: bool, notes: list[str]
) -> Array:
    """Turn a frame about its long axis so that z points to the back."""
    over = np.diag([1.0, -1.0, -1.0]) @ axes
    if asked is not None:
        return axes if float(asked @ axes[2]) > 0.0 else over
    here = turned(solid, axes, origin)
    low, high = span(here)
    x = middles(low, high, CUTS)
    sections = slices(here, x)
    areas = _core(sections)[0]
    run = longest_run(areas > TRUNK * areas.max())
    size = float(np.sqrt(areas.max()))
    grid = middles(low, high, 2 * CUTS)
    stem = stem_and_plate(here.translate((-low, 0.0, 0.0)), grid - low, stiffness(here, grid))
    if stem is not None and stem.plate is not None:
        offset = stem.plate.offset
        if abs(offset) > CENTRED * stem.plate.height:
            return axes if offset > 0.0 else over
    elif abs(hang := _off_line(sections[run.stop :])) > 0.04 * size:
        return axes if hang > 0.0 else over  # a curl is taken to turn up
    open_at = np.mean([moments(s)[2] - moments(s.hull())[2] for s in sections[run]])
    if abs(open_at) > 0.01 * size:
        notes.append("belly: the side that a slot is open to")
        return axes if open_at > 0.0 else over
    belly = float(np.mean([moments(s)[2] - _middle(s) for s in sections[run]]))
    if not free and abs(belly) > 0.01 * size:
        if not _is_file_axes(axes):
            raise Unclear(
                "which side is up? Back and belly differ and nothing tells which is which; "
                "say --up +z, +y, ... an axis of the file"
            )
        notes.append("CHECK up: the file's own axis, nothing else tells back from belly")
    helper = np.array([0.0, 0.0, 1.0]) if abs(axes[0, 2]) < 0.7 else np.array([0.0, 1.0, 0.0])
    return axes if float(axes[2] @ helper) >= 0.0 else over


def _off_line(sections: list[Any]) -> float:
    """Return the mean height of what lies behind a trunk, over its line."""
    rows = np.array([moments(s)[:3] for s in sections if not s.is_empty()])
    return float(rows[:, 0] @ rows[:, 2] / rows[:, 0].sum()) if len(rows) else 0.0


def _middle(section: Any) -> float:
    """Return the middle of a section's height."""
    box = section.bounds()
    return 0.5 * float(box[1] + box[3])
