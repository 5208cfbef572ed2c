"""``simsoft measure CLIP``: a clip and what the user says about it -> numbers and pictures."""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from simsoft.aquarium.clip import Clip, read_clip
from simsoft.aquarium.film import Film, Setting, measure_film
from simsoft.aquarium.measured import At, Flag, Measured
from simsoft.aquarium.optics import marker_length, out_of_plane, scale_of_points, two_markers
from simsoft.aquarium.overlay import write_overlay
from simsoft.aquarium.passage import followed, measure_passage, passage
from simsoft.aquarium.read import Options
from simsoft.aquarium.track import SWEEPS, ZERO_CELSIUS
from simsoft.case import units
from simsoft.case.wording import given
from simsoft.errors import InputError
from simsoft.files import whole_file, write_text
from simsoft.report.tank_figures import kymograph_figure

Progress = Callable[[str, float], None]

MOTIONS = ("held", "towed", "sinking")
DIRECTIONS = ("right", "left", "up", "down")
_PLACE = r"(-?\d+(?:\.\d+)?)"
_POINTS = re.compile(rf"{_PLACE},{_PLACE}\s+{_PLACE},{_PLACE}\s*=\s*(.+)")
_MARKER = re.compile(r"(\d+),(\d+),(\d+),(\d+)\s*=\s*(.+)")
_REGION = re.compile(r"(\d+),(\d+),(\d+),(\d+)")


@dataclass(frozen=True)
class ClipOptions:
    """The command line's words about a clip, unchecked; '' where nothing was said."""

    motion: str = "held"
    sweep: str = "sideways"
    downstream: str = ""
    region: str = ""
    points: str = ""
    marker: str = ""
    recorded: str = ""
    speed: str = ""
    temperature: str = ""
    offset: str = ""
    camera: str = ""
    depth: str = ""


@dataclass(frozen=True)
class Seen:
    """A measured clip: numbers, and what the pictures are drawn from."""

    measured: tuple[Measured, ...]
    film: Film | None
    scale: float | None = field(default=None)


def _quantity(text: str, unit: str, option: str) -> float | None:
    if not text:
        return None
    try:
        return units.parse(text, unit)
    except units.QuantityError as problem:
        raise InputError(f"--{option} is {given(text)}; it {problem}") from None


def _word(text: str, allowed: Sequence[str], option: str) -> str:
    if text and text not in allowed:
        raise InputError(f"--{option} is {given(text)}; allowed are {', '.join(allowed)}")
    return text


def _of_points(words: str) -> tuple[float, float, Flag | None]:
    """Return scale, relative u and a doubt of one or several pairs of points."""
    scales = []
    for pair in words.split(";"):
        match = _POINTS.fullmatch(pair.strip())
        if match is None:
            raise InputError(
                f"--points is {given(words)}; x1,y1 x2,y2=LENGTH is needed, such as "
                '"100,40 420,44=50 mm", several with ; between'
            )
        ends = [float(match[i]) for i in range(1, 5)]
        length = _quantity(match[5], "m", "points") or 0.0
        scales.append(scale_of_points((ends[0], ends[1]), (ends[2], ends[3]), length))
    return (*scales[0], None) if len(scales) == 1 else two_markers(scales)


def _scale(
    path: str, options: Options, words: ClipOptions
) -> tuple[float | None, float, Flag | None]:
    """Return the scale [m/px of the file], its relative u, and what leaves it in doubt."""
    found, share, doubt = options.scale, 0.02, None
    if words.points:
        found, share, doubt = _of_points(words.points)
    elif words.marker:
        match = _MARKER.fullmatch(words.marker.strip())
        if match is None:
            raise InputError(
                f"--marker is {given(words.marker)}; x,y,width,height=LENGTH is needed, such as "
                '"80,20,360,60=50 mm"'
            )
        x, y, w, h = (int(match[i]) for i in range(1, 5))
        length = _quantity(match[5], "m", "marker") or 0.0
        patch = read_clip(path, region=(x, y, w, h))
        middle = np.median(patch.frames[:: max(1, len(patch.frames) // 20)], axis=0)
        extent = marker_length(middle.astype(np.uint8)) * patch.shrink
        found, share = scale_of_points((0.0, 0.0), (extent, 0.0), length)
    if found is not None and words.offset:
        offset = _quantity(words.offset, "m", "marker-offset") or 0.0
        camera = _quantity(words.camera, "m", "camera-distance")
        depth = _quantity(words.depth, "m", "water-depth")
        if camera is None or depth is None:
            raise InputError("--marker-offset needs --camera-distance and --water-depth")
        found *= 1.0 + out_of_plane(offset, camera, depth)
    return found, float(np.hypot(share, 0.02)), doubt


def measure_clip(
    path: str, options: Options, words: ClipOptions, progress: Progress | None = None
) -> Seen:
    """Return what a clip shows.

    Raises
    ------
    InputError
        The clip or a word about it is wrong, one line each.
    """
    motion = _word(words.motion, MOTIONS, "motion") or "held"
    region = None
    if words.region:
        match = _REGION.fullmatch(words.region.strip())
        if match is None:
            raise InputError(f"--region is {given(words.region)}; x,y,width,height is needed")
        region = (int(match[1]), int(match[2]), int(match[3]), int(match[4]))
    scale, share, doubt = _scale(path, options, words)
    setting = Setting(
        view=options.view,
        sweep=_word(words.sweep, SWEEPS, "sweep") or "sideways",
        scale=scale,
        scale_share=share,
        downstream=_word(words.downstream, DIRECTIONS, "downstream"),
        fastest=options.fastest,
        at=_conditions(words),
    )
    rate = _quantity(words.recorded, "Hz", "recorded")
    clip = read_clip(path, region=region, recorded_rate=rate, progress=progress)
    if motion == "held":
        film = measure_film(clip, setting, progress)
        return Seen(_doubted(film.measured, doubt), film, scale)
    seen = _passing(clip, setting, motion, progress)
    return dataclasses.replace(seen, measured=_doubted(seen.measured, doubt))


def _doubted(found: Sequence[Measured], doubt: Flag | None) -> tuple[Measured, ...]:
    """Return measurements with a doubt about the scale, which spoils lengths and speeds only."""
    if doubt is None:
        return tuple(found)
    return tuple(
        dataclasses.replace(m, flags=(*m.flags, doubt)) if m.unit in ("m", "m/s") else m
        for m in found
    )


def _conditions(words: ClipOptions) -> At:
    at: At = {}
    speed = _quantity(words.speed, "m/s", "speed")
    if speed is not None:
        at["speed"] = speed
    warm = _quantity(words.temperature, "degC", "temperature")
    if warm is not None:
        at["temperature"] = warm + ZERO_CELSIUS
    return at


def _passing(clip: Clip, setting: Setting, motion: str, progress: Progress | None) -> Seen:
    """Return what a clip of a lure that crosses the picture shows."""
    path = passage(clip, progress)
    found = measure_passage(clip, path, setting, sinking=motion == "sinking")
    if motion == "sinking":
        return Seen(tuple(found), None, setting.scale)
    speed = found[0].value
    at = dict(setting.at)
    if speed is not None:
        at["speed"] = speed
    film = measure_film(followed(clip, path), dataclasses.replace(setting, at=at), progress)
    return Seen((*found, *film.measured), film, setting.scale)


def write_pictures(seen: Seen, directory: Path, stem: str) -> list[str]:
    """Write overlay, kymograph and track of a clip; return the names of the files."""
    film = seen.film
    if film is None or film.tips is None:
        return []
    names = [f"{stem}_overlay.mp4", f"{stem}_kymograph.png", f"{stem}_track.csv"]
    write_overlay(film, directory / names[0])
    tips, clip = film.tips, film.clip
    scale = None if seen.scale is None else seen.scale * clip.shrink
    figure = kymograph_figure(
        tips.kymograph,
        clip.time,
        tips.line,
        tips.tip[:, 1],
        tips.confidence > 0.5,
        scale=scale,
        title=f"{Path(clip.name).name}: kymograph and tip",
    )
    with whole_file(directory / names[1]) as temporary:
        figure.savefig(temporary)
    write_text(directory / names[2], _track_text(film, scale))
    return names


def _track_text(film: Film, scale: float | None) -> str:
    """Return the tip's track as ``track.csv``, in mm where there is a scale, else in px."""
    tips = film.tips
    if tips is None:
        raise RuntimeError("a clip without tips has no track")
    unit, factor = ("px", 1.0) if scale is None else ("mm", 1e3 * scale)
    measured = film.measured[0]
    view = measured.at.get("view", "")
    lines = [f"# view = {view}"] if view else []
    lines.append(f"t_s,x_{unit},y_{unit},xb_{unit},yb_{unit},conf")
    for t, (x, y), sure in zip(film.clip.time, tips.tip, tips.confidence, strict=True):
        place = ",".join("" if np.isnan(v) else f"{factor * v:.4f}" for v in (x, y))
        root = ",".join(f"{factor * v:.4f}" for v in tips.root)
        lines.append(f"{t:.6f},{place},{root},{sure:.0f}")
    return "\n".join(lines) + "\n"
