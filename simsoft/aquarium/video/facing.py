"""Which side of the tail faces the camera: what a flat part shows of its face tells a tilt.

A tail that beats in the picture's plane shows its edge. Turned out of that plane about its own
axis it shows its face, and that to the first order of the angle, where its stroke, its length and
its path tell the second only: a strip of width w and thickness t looks t cos(a) + w sin(a) wide,
and a disc carried across the stream opens to an ellipse, wider at one end of the beat than at the
other.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy import ndimage, optimize

from simsoft.aquarium.video.plate_end import CHORDS, outline
from simsoft.aquarium.video.scene import Scene
from simsoft.aquarium.video.tip import Tips
from simsoft.core.arrays import Array

RIM = 2  # px around an outline, still the lure's
EDGE = 0.4  # px, of a width, systematic, one sigma (seen on drawn clips)
MADE = 0.1  # of a thickness, how well a maker knows it, one sigma (common practice, no source)
CHORD = math.sqrt(1.0 - sum(CHORDS) ** 2)  # of an ellipse's short axis, its chord there
FEWEST = 24  # frames
MIDDLE = 0.12  # of the turn from end to end, to either side, what counts as mid-beat
LEAST_TURN = 0.08  # sine of the plate's turn over the beat, below which it tells nothing
STRETCH = (0.3, 0.7)  # of the way from root to tip, where a tail's width is taken
FEWEST_COLUMNS = 6
ROUND = 1.3  # width over thickness of a section, below which it looks alike from all sides


@dataclass(frozen=True)
class SeenSection:
    """Thickness (in the direction of the beat) and width of a tail [m], as the user knows them."""

    thickness: float
    width: float


@dataclass(frozen=True)
class Tilt:
    """What one witness says of the angle between sweep and picture.

    Attributes
    ----------
    squared : float, tan^2 of the angle, at least
    most : float, tan^2, at most; the same where the witness cannot mistake another motion for it
    u : float, standard uncertainty of either
    witness : str, what tells it
    """

    squared: float
    most: float
    u: float
    witness: str


def _tilt(sine: float, most: float, u: float, witness: str) -> Tilt:
    """Return a tilt from the sine of the angle, at least and at most, and its uncertainty."""
    least, high = (min(0.99, max(0.0, s)) for s in (sine, max(sine, most)))
    # d(tan^2)/ds = 2 s/(1 - s^2)^2; a sine of nothing has an uncertainty of second order.
    spread = (2.0 * least * u + u * u) / (1.0 - least**2) ** 2
    return Tilt(least**2 / (1.0 - least**2), high**2 / (1.0 - high**2), spread, witness)


def opening(tips: Tips, frames: npt.NDArray[np.int64]) -> Tilt | None:
    """Return the tilt that a plate at the tail's end tells by opening, None where it does not.

    Parameters
    ----------
    tips : Tips
    frames : array (n,) of int, frames with a trusted tip

    Notes
    -----
    A plate's normal at a turn p of the beat has the component sin(p) sin(a) + c cos(p) towards
    the camera, a the tilt of the sweep and c a constant droop or yaw; the plate opens by D times
    its size. The difference between both ends of the beat and the bend between them add up to
    2 D sin(a) times the span of sin(p) / 2, whatever c is.
    """
    turn, open_by = tips.turn[frames], tips.opening[frames]
    if tips.plate <= 0.0 or len(frames) < FEWEST:
        return None
    low, high = np.percentile(turn, [15.0, 85.0])
    near = np.abs(turn - 0.5 * (low + high)) < MIDDLE * (high - low)
    if high - low < LEAST_TURN or near.sum() < 3:
        return None
    ends = [open_by[turn <= low], open_by[near], open_by[turn >= high]]
    first, middle, last = (float(np.median(part)) for part in ends)
    span = float(np.median(turn[turn >= high]) - np.median(turn[turn <= low]))
    noise = [1.25 * float(np.std(part)) / math.sqrt(len(part)) for part in ends]
    reach = CHORD * tips.plate * span
    # A plate that opens to both sides is open by half the middle's width there already.
    apart, bend = abs(last - first), (first + last - 2.0 * middle) / (1.0 - MIDDLE)
    u = math.hypot(EDGE, noise[0], 2.0 * noise[1], noise[2]) / reach
    witness = "the plate shows more of its face at one end of the beat"
    return _tilt(apart / reach, (apart + bend) / reach, u, witness)


def facing(
    scene: Scene, tips: Tips, frames: npt.NDArray[np.int64], section: SeenSection, size: float
) -> Tilt | None:
    """Return the tilt that the width of the tail tells against its section, None where unseen.

    Parameters
    ----------
    scene : Scene
    tips : Tips
    frames : array (n,) of int, frames with a trusted tip
    section : Section
    size : float [m], of a pixel
    """
    if section.width < ROUND * section.thickness:
        return None
    seen = [w for i in frames if (w := _width(scene.lure(int(i)), tips, int(i))) is not None]
    if len(seen) < FEWEST:
        return None
    upright, longer = np.median(np.array(seen), axis=0) * np.array([size, 1.0])
    edge, face = section.thickness * float(longer), section.width

    def excess(angle: float) -> float:
        return edge * math.cos(angle) + face * math.sin(angle) - float(upright)

    steepest = math.atan2(face, edge)
    angle = 0.0
    if excess(steepest) <= 0.0:
        angle = steepest
    elif excess(0.0) < 0.0:
        angle = float(optimize.brentq(excess, 0.0, steepest))
    u = math.hypot(EDGE * size, MADE * edge) / max(
        0.2 * face, face * math.cos(angle) - edge * math.sin(angle)
    )
    return _tilt(math.sin(angle), 0.0, u, "the tail shows its broad side")


def _width(share: Array, tips: Tips, i: int) -> tuple[float, float] | None:
    """Return the tail's mean extent along the rows [px] and its length over its run in columns."""
    reach = float(tips.tip[i, 0] - tips.root[0])
    begin, end = (part * reach for part in STRETCH)
    if tips.plate > 0.0:
        begin, end = 0.0, reach - 0.5 * (tips.opening[i] + tips.plate * abs(tips.turn[i])) - RIM
    first, stop = math.ceil(tips.root[0] + begin), math.floor(tips.root[0] + end)
    if stop - first < FEWEST_COLUMNS:
        return None
    box = share[:, first:stop]
    solid = outline(box)
    if solid is None:
        return None
    weight = np.where(ndimage.binary_dilation(solid, iterations=RIM), np.clip(box, 0.0, 1.2), 0.0)
    total = weight.sum(axis=0)
    if (total <= 0.0).any():
        return None
    rows = (np.arange(len(share))[:, None] * weight).sum(axis=0) / total
    columns = np.linspace(-1.0, 1.0, len(rows))
    curve = np.polynomial.Polynomial.fit(columns, rows, 3)
    slope = curve.deriv()(columns) * 2.0 / len(rows)
    return float(np.median(total)), float(np.hypot(1.0, slope).mean())
