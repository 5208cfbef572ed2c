"""A plate at the tail's end (a paddle): its width, its centre, its turn and how far it opens.

Seen in the plane of its sweep a plate is a bar; drooping, or turned out of the picture, it opens to
an ellipse. Both are symmetric about the centre, which is midway between the ends along the bar and,
across it, the middle of the chords on both sides of the stem.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy import ndimage

from simsoft.aquarium.video.scene import Scene
from simsoft.core.arrays import Array, Mask

OUTLINE = 0.5  # of the contrast
ANGLES = np.linspace(-0.9, 0.9, 19)  # rad, of a plate's normal against the tail's heading
SLAB = 3.0  # px, half of the thickness searched for a plate
WIDE, WIDER = 1.7, 6.0  # times the neck's width, and px above it, from which an end is a plate
OUTER = 0.35  # of the way from root to end, upstream of which no plate sits
CHORDS = (0.27, 0.40)  # of a plate's width from its middle, where its chords are taken
DEEP = 0.45  # of a plate's width, how far to either side its chords reach
THINNED = 3  # one pixel in so many will do for a first guess and for the ends
TURNS, SETTLED = 4, 0.05  # corrections of the plate's direction, and px that end them


@dataclass(frozen=True)
class PlateSeen:
    """A plate in one picture.

    Attributes
    ----------
    column, row : float [px], of its centre
    turn : float, sine of the angle of its normal against downstream
    opening : float [px], its mean chord along the normal beside the stem
    """

    column: float
    row: float
    turn: float
    opening: float


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


def plate_width(scene: Scene, box: tuple[slice, slice], root: tuple[float, float]) -> float:
    """Return the width [px] of a plate at the end, 0 where most of a dozen frames show none.

    Parameters
    ----------
    scene : Scene
    box : tuple of slice, rows and columns from the root downstream
    root : tuple of float [px], column and row where the tail begins to move
    """
    left, top = box[1].start, box[0].start
    votes: list[float] = []
    for i in np.linspace(0, len(scene.frames) - 1, 12).astype(int):
        solid = outline(scene.lure(int(i))[box])
        if solid is None or solid.sum() < 8:
            continue
        rows, columns = np.nonzero(solid)
        x, y = columns - (root[0] - left), rows - (root[1] - top)
        norm = max(1.0, math.hypot(float(x.mean()), float(y.mean())))
        heading = np.array([float(x.mean()), float(y.mean())]) / norm
        along = x * heading[0] + y * heading[1]
        reach = float(np.percentile(along, 99.5))
        width = _widths(along, y * heading[0] - x * heading[1], reach)
        first = int(OUTER * reach)
        if first < 3 or len(width) <= first:
            continue
        widest = first + int(np.argmax(width[first:]))
        neck = float(width[:widest].min()) if (width[:widest] > 0.0).all() else 0.0
        end = float(width[widest])
        votes.append(end if neck > 0.0 and end > max(WIDE * neck, neck + WIDER) else 0.0)
    return float(np.percentile(votes, 75.0)) if votes and np.median(votes) > 0.0 else 0.0


def _widths(along: Array, across: Array, reach: float) -> Array:
    """Return the width [px] of an outline in bins of one pixel from root to end."""
    bins = np.clip(along.astype(int), 0, max(1, int(reach)))
    lowest = np.full(bins.max() + 1, np.inf)
    highest = np.full(bins.max() + 1, -np.inf)
    np.minimum.at(lowest, bins, across)
    np.maximum.at(highest, bins, across)
    width = highest - lowest + 1.0
    return np.where(np.isfinite(width), width, 0.0)


def plate_of(points: Array, weight: Array, wide: float, heading: float = 0.0) -> PlateSeen | None:
    """Return the plate at the end of a stem, None where it is not seen whole.

    Parameters
    ----------
    points : array (n, 2) [px], columns and rows of the far part of the outline
    weight : array (n,), shares of the contrast
    wide : float [px], the plate's width
    heading : float [rad], from root to tip against downstream

    Notes
    -----
    The plate's line is the one that holds most pixels, all directions tried that are not the
    stem's; it is then turned until the chords on both sides of the stem have their middles on it.
    """
    if len(points) < 8:
        return None
    middle = points.mean(axis=0)
    angle, centre = _line((points - middle)[::THINNED], weight[::THINNED], heading)
    half = 0.0
    for _ in range(TURNS):
        normal, line = _directions(angle)
        offset = points - middle
        across, on = offset @ normal - centre, offset @ line - half
        near = np.abs(across) < DEEP * wide
        half += 0.5 * float(np.percentile(on[near][::THINNED], [0.5, 99.5]).sum())
        on = offset @ line - half
        sides = [near & (s * on > CHORDS[0] * wide) & (s * on < CHORDS[1] * wide) for s in (-1, 1)]
        mass = [float(weight[side].sum()) for side in sides]
        if min(mass) <= 0.0:
            return None
        first, last = (
            float((across * weight)[side].sum()) / m for side, m in zip(sides, mass, strict=True)
        )
        centre += 0.5 * (first + last)
        angle -= math.atan((last - first) / (sum(CHORDS) * wide))
        if max(abs(first), abs(last)) < SETTLED:
            break
    normal, line = _directions(angle)
    found = middle + centre * normal + half * line
    opening = 0.5 * sum(mass) / ((CHORDS[1] - CHORDS[0]) * wide)
    return PlateSeen(float(found[0]), float(found[1]), math.sin(angle), opening)


def _directions(angle: float) -> tuple[Array, Array]:
    """Return a plate's normal and the direction along it for the normal's angle [rad]."""
    normal = np.array([math.cos(angle), math.sin(angle)])
    return normal, np.array([-normal[1], normal[0]])


def _line(offset: Array, weight: Array, heading: float) -> tuple[float, float]:
    """Return angle [rad] of the normal and place [px] of the line that holds most pixels."""
    best, found, place = -1.0, 0.0, 0.0
    for angle in heading + ANGLES:
        across = offset @ _directions(float(angle))[0]
        low = float(across.min())
        held = np.convolve(np.bincount(((across - low) / SLAB).astype(int), weights=weight), [1, 1])
        k = int(np.argmax(held))
        if held[k] > best:
            best, found, place = float(held[k]), float(angle), low + k * SLAB
    return found, place
