"""Does the tail swing in the plane of the picture? Its length, and which side of it is seen.

A tail does not stretch. Seen square on, its length along the curved centreline stays the same all
through the beat; swung out of the picture's plane it looks shorter, the more the farther it is out.
That shortening goes with the square of the sweep: a small one does not show it. Then only a broad
side that turns to the camera tells (`facing`), or a cross of two markers that the camera is square.
Where nothing tells, the stroke is not clear: a tilt of 30 degrees makes it 13 % short unseen.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from simsoft.aquarium.measured import Flag, Measured
from simsoft.aquarium.signal.sine import fit
from simsoft.aquarium.video.facing import SeenSection, Tilt, facing, opening
from simsoft.aquarium.video.plate_end import outline
from simsoft.aquarium.video.scene import Scene
from simsoft.aquarium.video.tip import Tips
from simsoft.core.arrays import Array

SAMPLED = 240  # frames looked at
FEWEST = 24
EDGE = 0.3  # px, of the length over the beat, one sigma (drawn clips show 0.2)
# tan^2 of the tilt from which the stroke reads 3 % short, which leaves 2 of 5 % to all other errors
SHORT = 0.063
MOST = 0.108  # the same for 5 %; a tilt that may be more is not told
UNTOLD_SHARE = 0.06  # of a stroke, u of 1 - cos of a tilt of up to 30 degrees, one-sided
ROLLS = 0.03  # of the length, its change once a beat
DEGREE = 4  # of the polynomial through the centreline
STEEPEST = 1.2  # slope of the centreline past which it is no function of the column
SHORTEST = 25.0  # px
FIRST = 0.2  # of the way from root to tip, upstream of which the body hides the tail


@dataclass(frozen=True)
class Plane:
    """What is known of the angle between sweep and picture.

    Attributes
    ----------
    tilts : tuple of Tilt, one a witness
    once : float, amplitude of the tail's length at the beat itself, as a share of the length
    """

    tilts: tuple[Tilt, ...]
    once: float = 0.0

    @property
    def most(self) -> float:
        """The largest tan^2 of the angle that the best witness allows, infinite without one."""
        return min((tilt.most + 2.0 * tilt.u for tilt in self.tilts), default=math.inf)


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
    first, last = math.ceil(root[0] + FIRST * reach), min(share.shape[1] - 1, math.floor(tip[0]))
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


def _along(scene: Scene, tips: Tips, time: Array, beat: float) -> tuple[Tilt, float] | None:
    """Return the tilt that the tail's length tells and how much the length changes once a beat.

    Notes
    -----
    For a sweep in a plane turned by an angle about the tail's axis the slopes out of the picture
    are tan(angle) times those in it; the length seen falls by half the square of the one while
    the excess over the chord rises by half the square of the other, so that length against
    excess is a line of slope -tan^2(angle). A plate at the end hides the end of its stem.
    """
    if tips.plate > 0.0:
        return None
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
    tilt = max(0.0, -slope)
    return Tilt(tilt, tilt, u, "the tail looks shorter where it swings out"), float(once)


def plane_of(
    scene: Scene,
    tips: Tips,
    time: Array,
    beat: float,
    section: SeenSection | None = None,
    size: float | None = None,
    cross: Tilt | None = None,
) -> Plane:
    """Return what the picture tells of the angle between sweep and picture.

    Parameters
    ----------
    scene : Scene
    tips : Tips
    time : array (N,) [s], of every frame
    beat : float [Hz]
    section : Section or None, where the user said it
    size : float or None [m], of a pixel
    cross : Tilt or None, of two markers across each other
    """
    trusted = np.flatnonzero(tips.confidence > 0.5)
    trusted = trusted[:: max(1, len(trusted) // SAMPLED)]
    along = _along(scene, tips, time, beat)
    tilts = [opening(tips, trusted), cross, None if along is None else along[0]]
    if section is not None and size is not None:
        tilts.append(facing(scene, tips, trusted, section, size))
    told = tuple(tilt for tilt in tilts if tilt is not None)
    return Plane(told, 0.0 if along is None else along[1])


def plane_doubts(plane: Plane) -> list[Flag]:
    """Return a flag where the sweep leaves the picture's plane or where that cannot be told."""
    out = [tilt for tilt in plane.tilts if tilt.squared > max(SHORT, 2.0 * tilt.u)]
    if out:
        tilt = min(out, key=lambda one: one.u)
        angle = math.degrees(math.atan(math.sqrt(tilt.squared)))
        short = 100.0 * (1.0 - 1.0 / math.sqrt(1.0 + tilt.squared))
        text = (
            f"{tilt.witness}: its sweep lies about {angle:.0f} degrees off the picture and the "
            f"stroke reads about {short:.0f} % short; square the camera to the sweep"
        )
        return [Flag("out-of-plane", text)]
    if plane.once > ROLLS:
        text = (
            f"the tail's length seen changes by {100.0 * plane.once:.0f} % once a beat: it swings "
            "to and from the camera; look from another side"
        )
        return [Flag("out-of-plane", text)]
    if plane.most > MOST:
        text = (
            "whether the sweep lies in the picture cannot be told: 30 degrees off would make the "
            "stroke 13 % short and look the same; give the tail's section (--section), two markers "
            "across each other in the sweep's plane (--points) or a coin there (--coin), or fill "
            "more of the picture"
        )
        return [Flag("plane", text)]
    return []


def widened(found: Sequence[Measured], flags: Sequence[Flag], plane: Plane) -> list[Measured]:
    """Return measurements with what the tilt may take off the stroke in its uncertainty."""
    untold = any(flag.word == "plane" for flag in flags)
    # One-sided: what may be missing, 95 %, is half of it as a standard uncertainty.
    share = UNTOLD_SHARE if untold else 0.5 - 0.5 / math.sqrt(1.0 + min(MOST, plane.most))
    return [
        replace(m, u=math.hypot(m.u or 0.0, share * m.value))
        if m.quantity == "stroke" and m.value is not None
        else m
        for m in found
    ]
