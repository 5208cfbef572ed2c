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

from simsoft.aquarium.scene import FEWEST_MOVING, Scene

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]
Progress = Callable[[str, float], None]

OUTLINE = 0.5  # of the contrast
FAINT = 0.15  # of the contrast, the rim of a smear
END = 2.5  # px, depth of the end whose centre is a thin tail's tip
ANGLES = np.linspace(-1.2, 1.2, 25)  # rad, of a plate's normal against downstream
SLAB = 3.0  # px, half of the thickness searched for a plate
WIDE = 1.7  # times the tail's width, from which an end is a plate
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
    """

    tip: Array
    confidence: Array
    line: Array
    kymograph: Array
    column: int
    root: tuple[float, float]
    smear: Array
    plate: float


def track(scene: Scene, progress: Progress | None = None) -> Tips | None:
    """Return the tips of a scene, None where nothing moves."""
    if scene.moving.sum() < FEWEST_MOVING:
        return None
    swept = _largest(scene.moving)
    rows, columns = np.nonzero(swept)
    count = len(scene.frames)
    root = _root(scene, swept)
    last = float(np.percentile(columns, 99.0))
    column = round(root[0] + KYMOGRAPH_AT * (last - root[0]))
    top = max(0, int(rows.min()) - MARGIN)
    bottom = min(scene.frames.shape[1], int(rows.max()) + MARGIN)
    left = max(0, int(root[0]) - 2)
    right = min(scene.frames.shape[2], int(columns.max()) + 2 * MARGIN)
    box = (slice(top, bottom), slice(left, right))
    tip = np.full((count, 2), math.nan)
    area = np.zeros(count)
    line, smear = np.full(count, math.nan), np.full(count, math.nan)
    kymograph = np.zeros((scene.frames.shape[1], count))
    plate = _plate_width(scene, swept, box, root)
    reach = max(0, column - COLUMNS // 2), column + COLUMNS // 2 + 1
    for i in range(count):
        share = scene.lure(i)
        kymograph[:, i] = share[:, reach[0] : reach[1]].mean(axis=1)
        line[i], smear[i] = _on_line(kymograph[:, i], top, bottom)
        found = _end(share[box], swept[box], (root[0] - left, root[1] - top), plate)
        if found is not None:
            tip[i] = found[0] + left, found[1] + top
            area[i] = found[2]
        if progress is not None and i % 16 == 0:
            progress("tracking the tail", i / count)
    return Tips(tip, _confidence(tip, area), line, kymograph, column, root, smear, plate)


def _largest(mask: npt.NDArray[np.bool_]) -> npt.NDArray[np.bool_]:
    """Return the largest connected piece of a mask; specks and bubbles fall away."""
    thick = ndimage.binary_dilation(mask, iterations=2)
    labels, count = ndimage.label(thick)
    if count <= 1:
        return np.asarray(mask)
    sizes = ndimage.sum_labels(mask, labels, np.arange(1, count + 1))
    return np.asarray(mask & (labels == 1 + int(np.argmax(sizes))))


def _root(scene: Scene, swept: npt.NDArray[np.bool_]) -> tuple[float, float]:
    """Return where the tail begins to move: the upstream end of the swept region."""
    rows, columns = np.nonzero(swept)
    column = float(np.percentile(columns, 2.0))
    near = columns <= column + 3.0
    row = float(rows[near].mean())
    wide, high = float(np.ptp(columns)), float(np.ptp(rows))
    if high < FLAT * wide:
        # Seen from the side only the end comes and goes; the tail goes on upstream of it.
        column = max(0.0, column - wide)
    return column, row


def outline(share: Array, weight: npt.NDArray[np.bool_] | None = None) -> Mask | None:
    """Return the connected piece of what stands out that holds most of a weight, None where none.

    Parameters
    ----------
    share : array (H, W), of the contrast
    weight : array (H, W) of bool or None, such as the swept region; None takes the largest piece
    """
    solid = np.asarray(share > OUTLINE)
    labels, count = ndimage.label(solid, structure=np.ones((3, 3)))
    if count == 0:
        return None
    if count == 1:
        return solid
    sizes = ndimage.sum_labels(solid if weight is None else weight, labels, np.arange(1, count + 1))
    if sizes.max() <= 0:
        return None
    return np.asarray(labels == 1 + int(np.argmax(sizes)))


def _end(
    share: Array, swept: npt.NDArray[np.bool_], root: tuple[float, float], plate: float
) -> tuple[float, float, float] | None:
    """Return column and row of the tip in a box, and the outline's area; None where lost."""
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
        centre = _plate_centre(np.column_stack([columns, rows]), weight, along, reach, plate)
        return centre[0], centre[1], float(len(rows))
    end = along >= reach - END
    total = float(weight[end].sum())
    if total <= 0.0:
        return None
    column = float((columns[end] * weight[end]).sum()) / total
    row = float((rows[end] * weight[end]).sum()) / total
    return column, row, float(len(rows))


def _plate_centre(
    points: Array, weight: Array, along: Array, reach: float, wide: float
) -> tuple[float, float]:
    """Return the centre of a plate seen edge on at the end of a stem.

    The plate's line is the one that holds most pixels of the far part of the outline, all
    directions tried. Along that line the centre is midway between the ends, across it where the
    outer quarters lie, so that the stem, which meets the middle from one side, pulls at neither.
    """
    far = along >= reach - 0.8 * wide
    points, weight = points[far], weight[far]
    middle = points.mean(axis=0)
    offset = points - middle
    best, line, place = -1.0, np.array([0.0, 1.0]), 0.0
    for angle in ANGLES:
        normal = np.array([math.cos(angle), math.sin(angle)])
        across = offset @ normal
        low = float(across.min())
        count = np.bincount(((across - low) / SLAB).astype(int), weights=weight)
        held = np.convolve(count, np.ones(2))
        k = int(np.argmax(held))
        if held[k] > best:
            best, line, place = float(held[k]), normal, low + k * SLAB
    across, on = offset @ line - place, offset @ np.array([-line[1], line[0]])
    bar = np.abs(across) <= 2.0 * SLAB
    half = 0.5 * float(np.percentile(on[bar], 1.0) + np.percentile(on[bar], 99.0))
    outer = bar & (np.abs(on - half) > 0.25 * wide)
    shift = float(np.average(across[outer], weights=weight[outer])) if outer.any() else 0.0
    found = middle + (place + shift) * line + half * np.array([-line[1], line[0]])
    return float(found[0]), float(found[1])


def _widths(along: Array, across: Array, reach: float) -> Array:
    """Return the width [px] of an outline in bins of one pixel from root to end."""
    bins = np.clip(along.astype(int), 0, max(1, int(reach)))
    lowest = np.full(bins.max() + 1, np.inf)
    highest = np.full(bins.max() + 1, -np.inf)
    np.minimum.at(lowest, bins, across)
    np.maximum.at(highest, bins, across)
    width = highest - lowest + 1.0
    return np.where(np.isfinite(width), width, 0.0)


def _plate_width(
    scene: Scene, swept: npt.NDArray[np.bool_], box: tuple[slice, slice], root: tuple[float, float]
) -> float:
    """Return the width [px] of a plate at the end, 0 where most of a dozen frames show none."""
    left, top = box[1].start, box[0].start
    votes: list[float] = []
    for i in np.linspace(0, len(scene.frames) - 1, 12).astype(int):
        solid = scene.lure(i)[box] > OUTLINE
        rows, columns = np.nonzero(solid & ndimage.binary_dilation(swept[box], iterations=2))
        if len(rows) < 8:
            continue
        x, y = columns - (root[0] - left), rows - (root[1] - top)
        norm = max(1.0, math.hypot(float(x.mean()), float(y.mean())))
        heading = np.array([float(x.mean()), float(y.mean())]) / norm
        along = x * heading[0] + y * heading[1]
        reach = float(np.percentile(along, 99.5))
        width = _widths(along, y * heading[0] - x * heading[1], reach)
        cut = int(0.25 * reach), int(0.6 * reach)
        if cut[1] <= cut[0]:
            continue
        end = float(width[int(0.7 * reach) :].max())
        votes.append(end if end > WIDE * float(np.median(width[slice(*cut)])) else 0.0)
    return float(np.percentile(votes, 75.0)) if votes and np.median(votes) > 0.0 else 0.0


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
    """Return 1 where outline and jump are as usual, 0 where not."""
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
    away = np.hypot(*(filled - smooth).T)
    scatter = 1.4826 * float(np.median(away[good])) if good.any() else 0.0
    good &= away < max(3.0, 8.0 * scatter)
    return good.astype(float)
