"""A clip of the tank as grey frames with their own time stamps.

PyAV reads what a phone writes (MP4, MOV, AVI). Stamps come from the file, frame by frame, because
phones record at a rate that varies; "frame number over nominal rate" is never used where stamps
are there. Frames are made small while they are decoded, so that a minute fits into memory.
"""

from __future__ import annotations

import math
import os
import stat
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from simsoft.aquarium.columns import POSSIBLE
from simsoft.aquarium.measured import Flag
from simsoft.aquarium.video.colour import closeness
from simsoft.case.wording import printable
from simsoft.core.arrays import Array
from simsoft.core.errors import InputError

Frames = npt.NDArray[np.uint8]
Progress = Callable[[str, float], None]

SMALLEST = 8  # px, of what is left of a picture that makes room for many frames
WIDEST = 640  # px, of the frames that are analysed
MOST_PIXELS = 450_000_000  # of all frames together, 450 MB
FEWEST_FRAMES = 12
SUFFIXES = (".mp4", ".mov", ".avi", ".m4v", ".mkv", ".webm", ".3gp")
CAPTURE_KEYS = ("com.android.capture.fps", "com.apple.quicktime.capture.fps")
# Containers that hold their own pictures; others (playlists, say) would open further files.
READ_AS = "mov,mp4,m4a,3gp,3g2,mj2,avi,matroska,webm"
LARGEST_FRAME = 8192 * 8192  # px
USUAL_RATE = 30.0  # [Hz], where a file says none
NEEDED = "an MP4, MOV or AVI clip is needed"
PLAYED_SLOW = 1.5  # a recorded rate this much above the played one is a slow-motion file


@dataclass(frozen=True)
class Clip:
    """Frames of a clip.

    Attributes
    ----------
    name : str
    frames : array (N, H, W) of uint8, grey
    time : array (N,) [s], of recording
    shrink : float, pixels of the file per pixel here
    origin : tuple of int, column and row in the file of this clip's corner [file px]
    flags : tuple of Flag
    """

    name: str
    frames: Frames
    time: Array
    shrink: float
    origin: tuple[int, int] = (0, 0)
    flags: tuple[Flag, ...] = ()


def is_clip(path: str | Path) -> bool:
    """Return whether a file name is that of a video."""
    return Path(path).suffix.lower() in SUFFIXES


def read_clip(
    path: str | Path,
    *,
    region: tuple[int, int, int, int] | None = None,
    recorded_rate: float | None = None,
    colour: str = "",
    progress: Progress | None = None,
) -> Clip:
    """Return the grey frames of a clip.

    Parameters
    ----------
    path : path
    region : tuple or None, column, row, width, height [file px] of the part to analyse
    recorded_rate : float or None [Hz], frames per second when it was filmed, for slow-motion
        files that play slower; None takes what the file says
    colour : str, of a dot; grey is then how near each pixel comes to it. '' takes plain grey
    progress : function of a label and the share done

    Raises
    ------
    InputError
        No such file, no video in it, or fewer than a dozen frames that can be read.
    """
    shown = printable(str(path))
    with _opened(path, shown) as container:
        return _decode(container, shown, region, recorded_rate, colour, progress)


def check_clip(path: str | Path) -> None:
    """Raise InputError where a file is no video that can be opened."""
    with _opened(path, printable(str(path))):
        pass


def _opened(path: str | Path, shown: str) -> Any:
    """Return an open container that holds pictures."""
    _check_file(path, shown)
    try:
        import av
    except ImportError:
        raise InputError(
            f"{shown}: reading video needs PyAV; install it with `pip install simsoft[video]`"
        ) from None
    try:
        # by its whole path: a name such as http:x.mp4 is no address
        whole = os.path.abspath(path)
        only = {"format_whitelist": READ_AS, "protocol_whitelist": "file"}
        container = av.open(whole, options=only)
    except (av.FFmpegError, ValueError, OSError) as problem:
        raise InputError(
            f"{shown}: is no video that can be read ({_reason(problem)}); {NEEDED}"
        ) from None
    if not container.streams.video:
        what = "sound only" if container.streams.audio else "no pictures"
        container.close()
        raise InputError(f"{shown}: holds {what}; {NEEDED}")
    return container


def _check_file(path: str | Path, shown: str) -> None:
    try:
        status = os.stat(path)
    except FileNotFoundError:
        raise InputError(f"{shown}: there is no such file") from None
    except (OSError, ValueError) as problem:
        reason = getattr(problem, "strerror", None) or str(problem)
        raise InputError(f"{shown}: cannot be read; {reason.lower()}") from None
    if not stat.S_ISREG(status.st_mode):
        raise InputError(f"{shown}: is not a plain file; {NEEDED}")
    if status.st_size == 0:
        raise InputError(f"{shown}: is empty (0 bytes); {NEEDED}")


def _reason(problem: BaseException) -> str:
    text = getattr(problem, "strerror", None) or str(problem)
    return " ".join(printable(str(text)).split()).lower() or type(problem).__name__


def _decode(
    container: Any,
    shown: str,
    region: tuple[int, int, int, int] | None,
    recorded_rate: float | None,
    colour: str,
    progress: Progress | None,
) -> Clip:
    import av
    from av.video.reformatter import Interpolation

    stream = container.streams.video[0]
    stream.thread_type = "AUTO"
    if stream.codec_context is None:
        raise InputError(f"{shown}: is in a video format that cannot be read; {NEEDED}")
    width, height = stream.codec_context.width, stream.codec_context.height
    if width * height > LARGEST_FRAME:
        raise InputError(
            f"{shown}: has frames of {width} x {height}; at most {LARGEST_FRAME} pixels are allowed"
        )
    if width < 16 or height < 16:
        raise InputError(f"{shown}: has frames of {width} x {height}; 16 x 16 or more is needed")
    crop = _region(region, width, height, shown)
    expected = _expected(container, stream)
    shrink = max(1.0, max(crop[2], crop[3]) / WIDEST)
    if expected:
        shrink = max(shrink, math.sqrt(expected * crop[2] * crop[3] / MOST_PIXELS))
    small = (max(8, round(width / shrink)), max(8, round(height / shrink)))
    x0, y0 = round(crop[0] / shrink), round(crop[1] / shrink)
    x1, y1 = round((crop[0] + crop[2]) / shrink), round((crop[1] + crop[3]) / shrink)
    if min(x1 - x0, y1 - y0) < SMALLEST:
        raise InputError(
            f"{shown}: states {expected} frames, too many to look at; cut a shorter clip"
        )
    frames: list[Frames] = []
    stamps: list[float | None] = []
    flags: list[Flag] = []
    try:
        for frame in container.decode(stream):
            kind = "rgb24" if colour else "gray"
            made = frame.reformat(
                width=small[0], height=small[1], format=kind, interpolation=Interpolation.AREA
            )
            picture = np.asarray(made.to_ndarray()[y0:y1, x0:x1])
            picture = closeness(picture, colour) if colour else picture
            frames.append(np.ascontiguousarray(picture))
            stamps.append(frame.time)
            if len(frames) * picture.size > MOST_PIXELS:
                raise InputError(f"{shown}: has more than {len(frames)} frames; cut a shorter clip")
            if progress is not None and expected:
                progress(f"reading {Path(shown).name}", min(1.0, len(frames) / expected))
    except av.FFmpegError as problem:
        flags.append(_cut(problem))
    if len(frames) < FEWEST_FRAMES:
        raise InputError(
            f"{shown}: only {len(frames)} frames can be read; {FEWEST_FRAMES} or more are needed"
        )
    if expected and not flags and len(frames) < 0.9 * expected:
        flags.append(_cut(None))
    time, more = _times(stamps, container, stream, recorded_rate, shown)
    order = np.argsort(time, kind="stable")
    fresh = np.concatenate([[True], np.diff(time[order]) > 0.0])
    kept = order[fresh]
    if len(kept) < FEWEST_FRAMES:
        raise InputError(
            f"{shown}: only {len(kept)} frames have a time of their own; {FEWEST_FRAMES} or more "
            "are needed"
        )
    picked = np.stack([frames[i] for i in kept])
    return Clip(shown, picked, time[kept], shrink, (crop[0], crop[1]), (*flags, *more))


def _cut(problem: BaseException | None) -> Flag:
    why = f" ({_reason(problem)})" if problem is not None else ""
    return Flag("cut-short", f"the file ends before its time{why}; copy it again", severe=False)


def _region(
    region: tuple[int, int, int, int] | None, width: int, height: int, shown: str
) -> tuple[int, int, int, int]:
    if region is None:
        return 0, 0, width, height
    x, y, w, h = region
    if x < 0 or y < 0 or w < 16 or h < 16 or x + w > width or y + h > height:
        raise InputError(
            f"{shown}: region {x},{y},{w},{h} does not lie in frames of {width} x {height} "
            "(x,y,width,height in pixels, 16 x 16 or more)"
        )
    return region


def _expected(container: Any, stream: Any) -> int:
    """Return how many frames the file says it has, 0 where it does not say."""
    if stream.frames:
        return int(stream.frames)
    if container.duration and stream.average_rate:
        return int(container.duration / 1e6 * float(stream.average_rate))
    return 0


def _times(
    stamps: list[float | None],
    container: Any,
    stream: Any,
    recorded_rate: float | None,
    shown: str,
) -> tuple[Array, list[Flag]]:
    """Return the times of recording [s] and what is doubtful about them."""
    flags: list[Flag] = []
    if any(s is None for s in stamps):
        rate = float(stream.average_rate or 0.0) or USUAL_RATE
        flags.append(
            Flag("no-stamps", "the file has no time stamps; the nominal rate is taken for true")
        )
        time = np.arange(len(stamps)) / rate
    else:
        time = np.array([float(s or 0.0) for s in stamps])
    step = np.diff(np.sort(time))
    step = step[step > 0.0]
    if len(step) == 0 or np.abs(time).max() > POSSIBLE["t_s"].high:
        raise InputError(f"{shown}: has time stamps that cannot be; copy it again")
    stated = recorded_rate
    if stated is None:
        stated = _capture_rate({**container.metadata, **stream.metadata})
    played = 1.0 / float(np.median(step))
    if stated is not None and (recorded_rate is not None or stated > PLAYED_SLOW * played):
        time = time * (played / stated)
        flags.append(
            Flag(
                "slow-motion",
                f"filmed at {stated:.0f} frames/s, plays at {played:.0f}; times were rescaled",
                severe=False,
            )
        )
    return time - time.min(), flags


def _capture_rate(metadata: dict[str, str]) -> float | None:
    for key in CAPTURE_KEYS:
        try:
            rate = float(metadata.get(key, "nan"))
        except ValueError:
            continue
        if 1.0 <= rate <= 2000.0:
            return rate
    return None
