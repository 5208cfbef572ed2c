"""A lure that crosses the picture: its path, the clip that follows it, tow speed, sink rate."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt
from scipy import ndimage

from simsoft.aquarium.measured import Flag, Measured, lacking
from simsoft.aquarium.video.clip import Clip
from simsoft.aquarium.video.film import Setting, pixel_size
from simsoft.core.arrays import Array
from simsoft.core.errors import InputError

Progress = Callable[[str, float], None]

STANDS_OUT = 8.0  # times the noise, of the lure against the background


@dataclass(frozen=True)
class Passage:
    """A lure that crosses the picture, frame by frame.

    Attributes
    ----------
    time : array (N,) [s], of the frames it was found in
    centre : array (N, 2) [px], column and row
    angle : array (N,) [deg], of its long axis, right end down positive
    length : array (N,) [px], extent along its axis
    rows : array (N,) of int, frames
    """

    time: Array
    centre: Array
    angle: Array
    length: Array
    rows: npt.NDArray[np.int_]


def passage(clip: Clip, progress: Progress | None = None) -> Passage:
    """Return the path of a lure that crosses the picture, from what differs from the background.

    The background is each pixel's median over time, which a passing lure does not touch.

    Raises
    ------
    InputError
        Nothing large enough passes.
    """
    picked = np.linspace(0, len(clip.frames) - 1, min(60, len(clip.frames))).astype(int)
    background = np.median(clip.frames[picked], axis=0)
    noise = 1.4826 * float(np.median(np.abs(clip.frames[picked] - background))) + 1.0
    rows, centre, angle, length = [], [], [], []
    for i, frame in enumerate(clip.frames):
        away = np.abs(frame - background)
        top = float(np.percentile(away, 99.5))
        if progress is not None and i % 16 == 0:
            progress("following the lure", i / len(clip.frames))
        if top < STANDS_OUT * noise:
            continue
        solid = ndimage.binary_opening(away > 0.5 * top)
        labels, count = ndimage.label(solid)
        if count == 0:
            continue
        sizes = ndimage.sum_labels(solid, labels, np.arange(1, count + 1))
        if sizes.max() < 40:
            continue
        y, x = np.nonzero(labels == 1 + int(np.argmax(sizes)))
        inside = x.min() > 0 and y.min() > 0
        if not (inside and x.max() < frame.shape[1] - 1 and y.max() < frame.shape[0] - 1):
            continue
        points = np.column_stack([x, y]).astype(float)
        middle = points.mean(axis=0)
        axis = np.linalg.svd(points - middle, full_matrices=False)[2][0]
        axis = axis if axis[0] >= 0.0 else -axis
        rows.append(i)
        centre.append(middle)
        angle.append(math.degrees(math.atan2(float(axis[1]), float(axis[0]))))
        length.append(float(np.ptp((points - middle) @ axis)))
    if len(rows) < 8:
        raise InputError(
            f"{clip.name}: no lure crosses the picture whole in 8 frames or more; "
            "--motion held is for a lure that stays"
        )
    kept = np.array(rows)
    return Passage(clip.time[kept], np.array(centre), np.array(angle), np.array(length), kept)


def followed(clip: Clip, path: Passage) -> Clip:
    """Return a clip that moves with the lure: crops about its straight path, whole pixels."""
    line = [np.polyfit(path.time, path.centre[:, k], 1) for k in range(2)]
    half = int(0.75 * np.median(path.length)) + 4
    height, width = clip.frames.shape[1:]
    half_height = min(half, height // 2 - 1)
    cuts, kept = [], []
    for i in path.rows:
        x, y = (round(float(np.polyval(k, clip.time[i]))) for k in line)
        y = min(max(y, half_height), height - half_height)
        if x - half < 0 or x + half > width:
            continue
        cuts.append(clip.frames[i, y - half_height : y + half_height, x - half : x + half])
        kept.append(i)
    if len(kept) < 12:
        raise InputError(f"{clip.name}: the lure is whole in too few frames to follow its tail")
    return dataclasses.replace(clip, frames=np.stack(cuts), time=clip.time[np.array(kept)])


def measure_passage(
    clip: Clip, path: Passage, setting: Setting, *, sinking: bool
) -> list[Measured]:
    """Return tow speed, or sink rate and attitude, of a lure that crosses the picture."""
    size = pixel_size(clip, setting)
    quantity = "sink_rate" if sinking else "tow_speed"
    method = "straight line through the lure's centre"
    n = len(path.rows)
    flags: list[Flag] = list(clip.flags)
    change = float(np.ptp(np.polyval(np.polyfit(path.time, path.length, 1), path.time)))
    if change > 0.05 * float(np.median(path.length)):
        text = "the lure changes size in the picture: it comes nearer or turns; scale in doubt"
        flags.append(Flag("out-of-plane", text))
    if setting.scale is None:
        reason = "no scale; give --scale, or two points or a marker of known length"
        return [
            dataclasses.replace(
                lacking(quantity, "m/s", method, reason, n), run=Path(clip.name).stem
            )
        ]
    velocity, u = [], []
    for k in range(2):
        model = np.column_stack([np.ones(n), path.time - path.time.mean()])
        solution = np.linalg.lstsq(model, path.centre[:, k], rcond=None)[0]
        rest = path.centre[:, k] - model @ solution
        velocity.append(float(solution[1]) * size)
        spread = float(rest @ rest) / max(1, n - 2)
        u.append(size * math.sqrt(spread / float((model[:, 1] ** 2).sum())))
    value = velocity[1] if sinking else math.hypot(*velocity)
    doubt = math.hypot(u[1] if sinking else math.hypot(*u), setting.scale_share * value)
    common = {"at": dict(setting.at), "flags": tuple(flags), "run": Path(clip.name).stem}
    found = [Measured(quantity, value, doubt, "m/s", method, n, **common)]  # type: ignore[arg-type]
    if sinking:
        if not setting.downstream:
            text = "say where the tail points, --downstream left or right; nose right was taken"
            common["flags"] = (*flags, Flag("nose", text))
        late = path.angle[n // 2 :]
        nose_down = float(np.median(late)) * (-1.0 if setting.downstream == "right" else 1.0)
        spread = float(np.std(late)) / math.sqrt(max(1, len(late))) + 1.0
        found.append(
            Measured("attitude", nose_down, spread, "deg", "long axis of the outline", n, **common)  # type: ignore[arg-type]
        )
    return found
