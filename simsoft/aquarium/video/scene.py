"""What is water, what is lure, what moves: background, contrast and noise of a clip.

The tail need not be gone for a background to be known: the water is a smooth surface of grey
(a quadratic in row and column, fitted with the lure as outliers), and the lure is what differs
from it by more than half its own contrast.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from simsoft.aquarium.measured import Flag
from simsoft.aquarium.video.clip import Clip, Frames
from simsoft.core.arrays import Array, Mask

SAMPLED = 48  # frames from which background and motion are judged
PASSES = 8  # of the outlier rejection
REJECT = 2.5  # times the scatter
SMALLEST_NOISE = 1.5  # grey levels; compression hides the noise, not what it spoils
HIDDEN = 0.02  # share of the swept region that shines brighter than water or is burnt out
BURNT = 252.0  # grey level
LOW_CONTRAST, POOR_CONTRAST = 10.0, 5.0  # contrast over noise
MOVING = 0.25  # of the contrast, peak to peak of a pixel that the tail sweeps
FEWEST_MOVING = 30  # px
TURNS = {"right": 0, "down": 1, "left": 2, "up": 3}  # quarter turns that bring it to the right


@dataclass(frozen=True)
class Scene:
    """A clip turned so that downstream is to the right, with its water and its contrast.

    Attributes
    ----------
    frames : array (N, H, W) of uint8
    water : array (H, W), grey of the water without lure
    sign : float, 1 for a lure brighter than the water, -1 for a darker one
    contrast, noise : float, grey levels
    moving : array (H, W) of bool, pixels that the tail sweeps
    still : array (H, W) of bool, pixels that are lure at rest
    downstream : str, direction in the picture
    flags : tuple of Flag
    """

    frames: Frames
    water: Array
    sign: float
    contrast: float
    noise: float
    moving: Mask
    still: Mask
    downstream: str
    flags: tuple[Flag, ...]

    def lure(self, i: int) -> Array:
        """Return frame ``i`` as shares of the lure's contrast, 0 for water, 1 for lure."""
        return np.asarray(self.sign * (self.frames[i] - self.water) / self.contrast)


def _smooth_water(picture: Array) -> Array:
    """Return the quadratic surface through the water of a picture (H, W), lure left out."""
    rows, columns = np.indices(picture.shape)
    y = rows.ravel() / picture.shape[0] - 0.5
    x = columns.ravel() / picture.shape[1] - 0.5
    terms = np.column_stack([np.ones_like(x), x, y, x * x, x * y, y * y])
    grey = picture.ravel()
    step = max(1, len(grey) // 20_000)
    few, seen = terms[::step], grey[::step]
    kept = np.abs(seen - np.median(seen)) <= np.percentile(np.abs(seen - np.median(seen)), 75.0)
    weights = np.linalg.lstsq(few[kept], seen[kept], rcond=None)[0]
    for _ in range(PASSES):
        away = np.abs(seen - few @ weights)
        scatter = 1.4826 * float(np.median(away)) + 0.5
        kept = away < REJECT * scatter
        weights = np.linalg.lstsq(few[kept], seen[kept], rcond=None)[0]
    return np.asarray((terms @ weights).reshape(picture.shape))


def _frame_noise(frames: Frames) -> float:
    """Return the noise of one frame [grey levels] from neighbouring frames where little moves."""
    pairs = np.linspace(0, len(frames) - 2, min(12, len(frames) - 1)).astype(int)
    change = frames[pairs + 1].astype(np.float32) - frames[pairs]
    return max(SMALLEST_NOISE, 1.4826 * float(np.median(np.abs(change))) / math.sqrt(2.0))


def look(clip: Clip, downstream: str = "") -> Scene:
    """Return the scene of a clip.

    Parameters
    ----------
    clip : Clip
    downstream : 'right', 'left', 'up', 'down' or '' to find it: from what rests to what moves
    """
    frames = clip.frames
    picked = np.linspace(0, len(frames) - 1, min(SAMPLED, len(frames))).astype(int)
    sample = frames[picked].astype(np.float32)
    middle = np.median(sample, axis=0).astype(float)
    low, high = np.percentile(sample, [5.0, 95.0], axis=0)
    swing = (high - low).astype(float)
    noise = _frame_noise(frames)
    water = _smooth_water(middle)
    strong = swing >= max(float(np.percentile(swing, 99.0)) * 0.6, 4.0 * noise)
    flags: list[Flag] = list(clip.flags)
    sign, contrast = _contrast(sample, water, strong)
    ratio = contrast / noise
    if ratio < LOW_CONTRAST:
        flags.append(
            Flag(
                "low-contrast",
                f"the lure stands out by {ratio:.1f} times the noise; more light and a plain "
                "background of the other shade",
                severe=ratio < POOR_CONTRAST,
            )
        )
    moving = swing > max(MOVING * contrast, 5.0 * noise)
    still = (sign * (middle - water) > 0.5 * contrast) & ~moving
    if _hidden(sample, water, moving, contrast) > HIDDEN and sign < 0.0:
        flags.append(
            Flag("glare", "a reflection hides part of the sweep; move the lamp or the camera")
        )
    side = downstream or _downstream(moving, still)
    turns = TURNS[side]
    return Scene(
        frames=np.ascontiguousarray(np.rot90(frames, turns, axes=(1, 2))),
        water=np.ascontiguousarray(np.rot90(water, turns)),
        sign=sign,
        contrast=max(contrast, 1.0),
        noise=noise,
        moving=np.ascontiguousarray(np.rot90(moving, turns)),
        still=np.ascontiguousarray(np.rot90(still, turns)),
        downstream=side,
        flags=tuple(flags),
    )


def _hidden(sample: npt.NDArray[np.float32], water: Array, moving: Mask, contrast: float) -> float:
    """Return the share of the swept region's box that is far brighter than the water."""
    rows, columns = np.nonzero(moving)
    if len(rows) < FEWEST_MOVING:
        return 0.0
    box = (slice(*np.percentile(rows, [1, 99]).astype(int)),
           slice(*np.percentile(columns, [1, 99]).astype(int)))  # fmt: skip
    inside = sample[:, box[0], box[1]]
    if inside.size == 0:
        return 0.0
    bright = (inside - water[box] > 0.3 * contrast) | (inside >= BURNT)
    return float(bright.mean())


def _contrast(sample: npt.NDArray[np.float32], water: Array, strong: Mask) -> tuple[float, float]:
    """Return sign and contrast of the lure from the pixels that change most."""
    if not strong.any():
        return 1.0, 0.0
    away = sample[:, strong] - water[strong]
    high, low = np.percentile(away, 95.0), np.percentile(away, 5.0)
    # Water shows there too, so the side that differs from it is the lure's.
    return (1.0, float(high)) if high >= -low else (-1.0, float(-low))


def _downstream(moving: Mask, still: Mask) -> str:
    """Return the direction from the resting to the moving part; from the rim where none rests."""
    if moving.sum() < FEWEST_MOVING:
        return "right"
    there = np.argwhere(moving).mean(axis=0)
    if still.sum() >= FEWEST_MOVING:
        here = np.argwhere(still).mean(axis=0)
    else:
        height, width = moving.shape
        rims = {(0, 1): (there[0], 0.0), (0, -1): (there[0], width), (1, 0): (0.0, there[1]),
                (-1, 0): (height, there[1])}  # fmt: skip
        here = np.array(min(rims.values(), key=lambda rim: math.dist(rim, there)))
    down, right = there - here
    if abs(right) >= abs(down):
        return "right" if right >= 0.0 else "left"
    return "down" if down > 0.0 else "up"
