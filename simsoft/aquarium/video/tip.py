"""Tail tip by outline and by kymograph, frame by frame.

Pictures are turned so that downstream is to the right. The outline is what stands out by half
the lure's contrast; its connected piece with the largest share of the swept region is the tail.
The tip is the centre of its farthest end, or of the plate where the end is wide. The kymograph is
one column of pixels across the tail, stacked over time: it lasts when the tip is lost.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy import ndimage

from simsoft.aquarium.video.plate_end import outline, plate_of, plate_width
from simsoft.aquarium.video.scene import FEWEST_MOVING, Scene
from simsoft.core.arrays import Array

Progress = Callable[[str, float], None]

FAINT = 0.15  # of the contrast, the rim of a smear
END = 2.5  # px, depth of the end whose centre is a thin tail's tip
BEFORE, NEAR = 3.0, 24.0  # times that: how far upstream its direction is taken and looked for
AREA = (0.5, 1.8)  # of the usual area, outside which the outline is not trusted
KYMOGRAPH_AT = 0.75  # of the way from root to tip
FLAT = 0.22  # height over length of a swept region that is no sideways sweep
MARGIN = 6  # px around the swept region
COLUMNS = 3  # px averaged across for the kymograph


@dataclass(frozen=True)
class Tips:
    """Where the tail was in every frame, turned pictures.

    Attributes
    ----------
    tip : array (N, 2) [px], column and row, NaN where lost
    confidence : array (N,), 0 to 1
    line : array (N,) [px], row of the tail on the kymograph's column, NaN where none
    kymograph : array (H, N), shares of the contrast
    column : int, where the kymograph was taken
    root : tuple of float [px], column and row where the tail begins to move
    smear : array (N,) [px], how much wider than sharp the tail looks on that column
    plate : float [px], width of a plate at the end, 0 for none
    turn, opening : array (N,), sine of the plate's turn and how thick it looks [px]; NaN for none
    dot : bool, the tip is a dot that the maker named
    """

    tip: Array
    confidence: Array
    line: Array
    kymograph: Array
    column: int
    root: tuple[float, float]
    smear: Array
    plate: float
    turn: Array
    opening: Array
    dot: bool = False


def track(scene: Scene, progress: Progress | None = None, *, unseen: bool = False) -> Tips | None:
    """Return the tips of a scene, None where nothing moves.

    Parameters
    ----------
    scene : Scene
    progress : function of a label and the share done
    unseen : bool, True where the sweep is to and from the camera, so that only the end moves
    """
    if scene.moving.sum() < FEWEST_MOVING:
        return None
    swept = _largest(scene.moving)
    rows, columns = np.nonzero(swept)
    count = len(scene.frames)
    root = _root(swept, unseen)
    last = float(np.percentile(columns, 99.0))
    column = round(root[0] + KYMOGRAPH_AT * (last - root[0]))
    top = max(0, int(rows.min()) - MARGIN)
    bottom = min(scene.frames.shape[1], int(rows.max()) + MARGIN)
    left = max(0, int(root[0]) - 2)
    right = min(scene.frames.shape[2], int(columns.max()) + 2 * MARGIN)
    box = (slice(top, bottom), slice(left, right))
    tip = np.full((count, 2), math.nan)
    area = np.zeros(count)
    line, smear, turn, opening = (np.full(count, math.nan) for _ in range(4))
    kymograph = np.zeros((scene.frames.shape[1], count))
    plate = plate_width(scene, box, root)
    reach = max(0, column - COLUMNS // 2), column + COLUMNS // 2 + 1
    for i in range(count):
        share = scene.lure(i)
        kymograph[:, i] = share[:, reach[0] : reach[1]].mean(axis=1)
        line[i], smear[i] = _on_line(kymograph[:, i], top, bottom)
        found = _end(share[box], swept[box], (root[0] - left, root[1] - top), plate)
        if found is not None:
            tip[i] = found[0] + left, found[1] + top
            area[i], turn[i], opening[i] = found[2:]
        if progress is not None and i % 16 == 0:
            progress("tracking the tail", i / count)
    sure = _confidence(tip, area)
    return Tips(tip, sure, line, kymograph, column, root, smear, plate, turn, opening)


def _largest(mask: npt.NDArray[np.bool_]) -> npt.NDArray[np.bool_]:
    """Return the largest connected piece of a mask; specks and bubbles fall away."""
    thick = ndimage.binary_dilation(mask, iterations=2)
    labels, count = ndimage.label(thick)
    if count <= 1:
        return np.asarray(mask)
    sizes = ndimage.sum_labels(mask, labels, np.arange(1, count + 1))
    return np.asarray(mask & (labels == 1 + int(np.argmax(sizes))))


def _root(swept: npt.NDArray[np.bool_], unseen: bool) -> tuple[float, float]:
    """Return where the tail begins to move: the upstream end of the swept region."""
    rows, columns = np.nonzero(swept)
    column = float(np.percentile(columns, 2.0))
    near = columns <= column + 3.0
    row = float(rows[near].mean())
    wide, high = float(np.ptp(columns)), float(np.ptp(rows))
    if unseen and high < FLAT * wide:
        # Only the end comes and goes; the tail goes on upstream of it.
        column = max(0.0, column - wide)
    return column, row


def _end(
    share: Array, swept: npt.NDArray[np.bool_], root: tuple[float, float], plate: float
) -> tuple[float, float, float, float, float] | None:
    """Return column, row, outline's area, and a plate's turn and opening; None where lost."""
    solid = outline(share, swept)
    if solid is None:
        return None
    rows, columns = np.nonzero(solid)
    if len(rows) < 8:
        return None
    x, y = columns - root[0], rows - root[1]
    weight = np.clip(share[rows, columns], 0.0, 1.0)
    distance = np.hypot(x, y)
    far = distance >= np.percentile(distance, 90.0)
    heading = np.array([x[far].mean(), y[far].mean()])
    norm = float(np.hypot(*heading))
    if norm < 3.0:
        return None
    along = (x * heading[0] + y * heading[1]) / norm
    reach = float(np.sort(along)[-max(1, len(along) // 200)])
    if plate > 0.0:
        far = along >= reach - 0.8 * plate
        aim = math.atan2(heading[1], heading[0])
        seen = plate_of(np.column_stack([columns, rows])[far], weight[far], plate, aim)
        if seen is None:
            return None
        return seen.column, seen.row, float(len(rows)), seen.turn, seen.opening
    near = along >= reach - NEAR * END
    place = _thin_end(np.column_stack([columns, rows])[near], weight[near], heading / norm)
    return None if place is None else (*place, float(len(rows)), math.nan, math.nan)


def _thin_end(points: Array, weight: Array, heading: Array) -> tuple[float, float] | None:
    """Return column and row of a thin tail's end, along the tail's own direction there.

    Parameters
    ----------
    points : array (n, 2) [px], columns and rows of the last stretch of the outline
    weight : array (n,), shares of the contrast
    heading : array (2,), unit, first guess of the direction

    Notes
    -----
    The centre of the last pixels is carried on to where an end cut square would lie that holds as
    much as they do; the direction is that of the centres of the two last stretches.
    """
    found = None
    depth, stretch = END, BEFORE * END
    for _ in range(3):
        along = points @ heading
        reach = float(along.max())
        end = along > reach - depth
        before = (along <= reach - depth) & (along > reach - depth - stretch)
        masses = [float(weight[part].sum()) for part in (before, end)]
        if min(masses) <= 0.0:
            return found
        first, last = (
            (points[part] * weight[part, None]).sum(axis=0) / mass
            for part, mass in zip((before, end), masses, strict=True)
        )
        thick = masses[0] / stretch
        place = last + heading * (reach - depth + masses[1] / thick - float(last @ heading))
        found = float(place[0]), float(place[1])
        step = last - first
        heading = step / max(1e-9, float(np.hypot(*step)))
        depth, stretch = max(END, 0.5 * thick), max(BEFORE * END, thick)
    return found


def _on_line(strip: Array, top: int, bottom: int) -> tuple[float, float]:
    """Return row of the tail on one column, and how smeared it looks [px]."""
    share = np.clip(strip[top:bottom], 0.0, 1.2)
    labels, count = ndimage.label(share > FAINT)
    if count == 0:
        return math.nan, math.nan
    mass = ndimage.sum_labels(share, labels, np.arange(1, count + 1))
    best = labels == 1 + int(np.argmax(mass))
    if float(mass.max()) < 1.0:
        return math.nan, math.nan
    rows = np.flatnonzero(best)
    weight = share[rows]
    row = float((rows * weight).sum() / weight.sum())
    return row + top, float(len(rows) - weight.sum())


def _confidence(tip: Array, area: Array) -> Array:
    """Return 1 where outline and jump are as usual, 0 where not.

    A jump is far from the median of its neighbours and from the curve through them: the median
    alone would cut the ends off a beat that many pixels show.
    """
    found = np.isfinite(tip).all(axis=1)
    if not found.any():
        return np.zeros(len(tip))
    usual = float(np.median(area[found]))
    good = found & (area > AREA[0] * usual) & (area < AREA[1] * usual)
    filled = tip.copy()
    for k in range(2):
        filled[~good, k] = np.interp(np.flatnonzero(~good), np.flatnonzero(good), tip[good, k]) if (
            good.sum() > 1
        ) else math.nan  # fmt: skip
    smooth = np.column_stack([ndimage.median_filter(filled[:, k], size=5) for k in range(2)])
    curve = smooth.copy()
    if len(tip) > 4:
        near, next_to = filled[1:-3] + filled[3:-1], filled[:-4] + filled[4:]
        curve[2:-2] = (4.0 * near - next_to) / 6.0
    away = np.minimum(np.hypot(*(filled - smooth).T), np.hypot(*(filled - curve).T))
    scatter = 1.4826 * float(np.median(away[good])) if good.any() else 0.0
    good &= away < max(3.0, 8.0 * scatter)
    return good.astype(float)
