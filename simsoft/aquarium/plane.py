"""Does the tail swing in the plane of the picture? Its length, followed along the outline.

A tail does not stretch. Seen square on, its length along the curved centreline stays the same all
through the beat; swung out of the picture's plane it looks shorter, the more the farther it is out.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from simsoft.aquarium.measured import Flag, Measured
from simsoft.aquarium.scene import Scene
from simsoft.aquarium.sine import fit
from simsoft.aquarium.tip import Tips, outline

Array = npt.NDArray[np.float64]

SAMPLED = 240  # frames looked at
FEWEST = 24
EDGE = 0.4  # px, of an end of the outline over the beat, one sigma (seen on drawn clips)
SHORT = 0.1  # tan^2 of the tilt from which the stroke reads 5 % short
UNTOLD_SHARE = 0.06  # of a stroke, u of 1 - cos of a tilt of up to 30 degrees, one-sided
UNTOLD = 0.12  # u of tan^2 past which a tilt of 25 degrees could pass unseen
ROLLS = 0.03  # of the length, its change once a beat
DEGREE = 4  # of the polynomial through the centreline
STEEPEST = 1.2  # slope of the centreline past which it is no function of the column
SHORTEST = 25.0  # px
FIRST = 0.2  # of the way from root to tip, upstream of which the body hides the tail


@dataclass(frozen=True)
class Plane:
    """How the apparent length changes over the beat.

    Attributes
    ----------
    tilt : float, tan^2 of the angle between sweep and picture; 0 where the length stays
    u : float, its standard uncertainty
    once : float, amplitude of the length at the beat itself, as a share of the length
    frames : int
    """

    tilt: float
    u: float
    once: float
    frames: int


def lengths(scene: Scene, tips: Tips) -> tuple[Array, Array, Array]:
    """Return frame numbers, lengths along the centreline [px] and their excess over the chord.

    Parameters
    ----------
    scene : Scene
    tips : Tips, of the same scene; frames without a trusted tip are left out
    """
    trusted = np.flatnonzero(tips.confidence > 0.5)
    trusted = trusted[:: max(1, len(trusted) // SAMPLED)]
    rows = []
    for i in trusted:
        found = _length(scene.lure(int(i)), tips.root, tips.tip[i])
        if found is not None:
            rows.append((float(i), *found))
    table = np.array(rows).reshape(-1, 3)
    return table[:, 0].astype(int), table[:, 1], table[:, 2]


def _length(share: Array, root: tuple[float, float], tip: Array) -> tuple[float, float] | None:
    """Return length and excess over the straight run in columns [px], None where not a curve."""
    reach = float(tip[0] - root[0])
    if reach < SHORTEST:
        return None
    first, last = math.ceil(root[0] + FIRST * reach), math.floor(tip[0])
    box = share[:, first : last + 1]
    solid = outline(box)
    if solid is None:
        return None
    weight = np.where(solid, box, 0.0)
    total = weight.sum(axis=0)
    seen = total > 0.0
    if seen.sum() < 0.8 * len(total):
        return None
    rows = (np.arange(len(share))[:, None] * weight).sum(axis=0)[seen] / total[seen]
    columns = (np.arange(first, last + 1)[seen] - root[0]) / reach
    basis = np.vander(columns, DEGREE + 1, increasing=True)
    curve = np.linalg.lstsq(basis, rows, rcond=None)[0]
    place = np.linspace(FIRST, 1.0, 61)
    powers = np.arange(1, DEGREE + 1)
    slope = (place[:, None] ** (powers - 1) * powers) @ curve[1:] / reach
    if float(np.abs(slope).max()) > STEEPEST:
        return None
    excess = float(np.trapezoid(np.hypot(1.0, slope) - 1.0, place)) * reach
    return reach + excess, excess


def plane_of(scene: Scene, tips: Tips, time: Array, beat: float) -> Plane | None:
    """Return how far the sweep leaves the picture's plane, None where the outline does not tell.

    Parameters
    ----------
    scene : Scene
    tips : Tips
    time : array (N,) [s], of every frame
    beat : float [Hz]

    Notes
    -----
    For a sweep in a plane turned by an angle about the tail's axis the slopes out of the picture
    are tan(angle) times those in it; the length seen falls by half the square of the one while
    the excess over the chord rises by half the square of the other, so that length against
    excess is a line of slope -tan^2(angle).
    """
    frames, length, excess = lengths(scene, tips)
    if len(frames) < FEWEST or not np.ptp(excess) > 0.0:
        return None
    away = excess - excess.mean()
    power = float(away @ away)
    slope = float(away @ (length - length.mean())) / power
    left = length - length.mean() - slope * away
    noise = math.sqrt(float(left @ left) / max(1, len(left) - 2) / power)
    u = math.hypot(noise, EDGE / float(np.ptp(excess)))
    once = fit(time[frames], length, beat, harmonics=2).amplitude[0] / length.mean()
    return Plane(max(0.0, -slope), u, float(once), len(frames))


def doubts(plane: Plane | None) -> list[Flag]:
    """Return a flag where the sweep leaves the picture's plane, a remark where that is not told."""
    if plane is not None and plane.tilt > SHORT and plane.tilt > 2.0 * plane.u:
        angle = math.degrees(math.atan(math.sqrt(plane.tilt)))
        short = 100.0 * (1.0 - 1.0 / math.sqrt(1.0 + plane.tilt))
        text = (
            f"the tail looks shorter where it swings out: its sweep lies about {angle:.0f} degrees "
            f"off the picture and the stroke reads about {short:.0f} % short; square the camera to "
            "the sweep"
        )
        return [Flag("out-of-plane", text)]
    if plane is not None and plane.once > ROLLS:
        text = (
            f"the tail's length seen changes by {100.0 * plane.once:.0f} % once a beat: it swings "
            "to and from the camera; look from another side"
        )
        return [Flag("out-of-plane", text)]
    if plane is None or plane.u > UNTOLD:
        text = (
            "whether the sweep lies in the picture cannot be told from this outline; up to 30 "
            "degrees are allowed for in the stroke: square the camera, or fill more of the picture"
        )
        return [Flag("plane", text, severe=False)]
    return []


def widened(found: Sequence[Measured], flags: Sequence[Flag]) -> list[Measured]:
    """Return measurements with the doubt of a plane that could not be told in their lengths."""
    if not any(flag.word == "plane" for flag in flags):
        return list(found)
    return [
        replace(m, u=math.hypot(m.u or 0.0, UNTOLD_SHARE * m.value))
        if m.quantity == "stroke" and m.value is not None
        else m
        for m in found
    ]
