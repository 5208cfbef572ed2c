"""``simsoft measure CLIP``: a clip and what the user says about it -> numbers and pictures."""

from __future__ import annotations

import dataclasses
import math
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from simsoft.aquarium.files.read import Options
from simsoft.aquarium.files.track import SWEEPS, ZERO_CELSIUS
from simsoft.aquarium.measured import At, Flag, Measured
from simsoft.aquarium.video.clip import Clip, read_clip
from simsoft.aquarium.video.coin import coin_scale
from simsoft.aquarium.video.facing import SeenSection, Tilt
from simsoft.aquarium.video.film import Film, Setting, measure_film
from simsoft.aquarium.video.named import named_dot
from simsoft.aquarium.video.optics import (
    crossed,
    marker_length,
    out_of_plane,
    scale_of_points,
    two_markers,
)
from simsoft.aquarium.video.overlay import write_overlay
from simsoft.aquarium.video.passage import followed, measure_passage, passage
from simsoft.case import units
from simsoft.case.wording import given
from simsoft.core.errors import InputError
from simsoft.core.files import whole_file, write_text
from simsoft.report.figures.tank import kymograph_figure
from simsoft.report.units import LengthUnit

Progress = Callable[[str, float], None]

MOTIONS = ("held", "towed", "sinking")
DIRECTIONS = ("right", "left", "up", "down")
_PLACE = r"(-?\d+(?:\.\d+)?)"
_POINTS = re.compile(rf"{_PLACE},{_PLACE}\s+{_PLACE},{_PLACE}\s*=\s*(.+)")
_MARKER = re.compile(r"(\d+),(\d+),(\d+),(\d+)\s*=\s*(.+)")
_NUMBER = re.compile(r"\d+(?:\.\d+)?")
_COIN = re.compile(rf"{_PLACE},{_PLACE}\s*=\s*(.+)")
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
    section: str = ""
    point: str = ""
    coin: str = ""


@dataclass(frozen=True)
class SeenClip:
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


@dataclass(frozen=True)
class Scale:
    """What markers say: metres a pixel of the file, its relative u, a doubt, the camera's tilt."""

    size: float | None
    share: float = 0.02
    doubt: Flag | None = None
    cross: Tilt | None = None


def _of_points(words: str) -> Scale:
    """Return the scale of one or several pairs of points."""
    scales, lines = [], []
    for pair in words.split(";"):
        match = _POINTS.fullmatch(pair.strip())
        if match is None:
            raise InputError(
                f"--points is {given(words)}; x1,y1 x2,y2=LENGTH is needed, such as "
                '"100,40 420,44=50 mm", several with ; between'
            )
        x1, y1, x2, y2 = (float(match[i]) for i in range(1, 5))
        length = _quantity(match[5], "m", "points") or 0.0
        scales.append(scale_of_points((x1, y1), (x2, y2), length))
        lines.append((*scales[-1], math.atan2(y2 - y1, x2 - x1)))
    if len(scales) == 1:
        return Scale(*scales[0])
    return Scale(*two_markers(scales), crossed(lines))


def _of_marker(path: str, words: str) -> Scale:
    """Return the scale of a bar of known length in a region of the clip."""
    match = _MARKER.fullmatch(words.strip())
    if match is None:
        raise InputError(
            f"--marker is {given(words)}; x,y,width,height=LENGTH is needed, such as "
            '"80,20,360,60=50 mm"'
        )
    x, y, w, h = (int(match[i]) for i in range(1, 5))
    length = _quantity(match[5], "m", "marker") or 0.0
    patch = read_clip(path, region=(x, y, w, h))
    middle = np.median(patch.frames[:: max(1, len(patch.frames) // 20)], axis=0)
    extent = marker_length(middle.astype(np.uint8)) * patch.shrink
    return Scale(*scale_of_points((0.0, 0.0), (extent, 0.0), length))


def _of_coin(path: str, words: str) -> Scale:
    """Return the scale of a coin of known diameter that lies somewhere in the clip."""
    match = _COIN.fullmatch(words.strip())
    if match is None:
        raise InputError(
            f'--coin is {given(words)}; X,Y=DIAMETER is needed, such as "80,200=24 mm"'
        )
    diameter = _quantity(match[3], "m", "coin") or 0.0
    clip = read_clip(path)
    middle = np.median(clip.frames[:: max(1, len(clip.frames) // 20)], axis=0)
    place = float(match[1]) / clip.shrink, float(match[2]) / clip.shrink
    try:
        size, share, cross = coin_scale(middle.astype(np.uint8), place, diameter)
    except InputError as problem:
        raise InputError(f"--coin is {given(words)}; {problem.problems[0]}") from None
    return Scale(size / clip.shrink, share, None, cross)


def _scale(path: str, options: Options, words: ClipOptions) -> Scale:
    """Return the scale of the lure's plane."""
    found = Scale(options.scale)
    if words.points:
        found = _of_points(words.points)
    elif words.coin:
        found = _of_coin(path, words.coin)
    elif words.marker:
        found = _of_marker(path, words.marker)
    size = found.size
    if size is not None and words.offset:
        offset = _quantity(words.offset, "m", "marker-offset") or 0.0
        camera = _quantity(words.camera, "m", "camera-distance")
        depth = _quantity(words.depth, "m", "water-depth")
        if camera is None or depth is None:
            raise InputError("--marker-offset needs --camera-distance and --water-depth")
        size *= 1.0 + out_of_plane(offset, camera, depth)
    return dataclasses.replace(found, size=size, share=float(np.hypot(found.share, 0.02)))


def _section(words: str) -> SeenSection | None:
    """Return the section that was said, thickness before width."""
    if not words:
        return None
    parts = [part.strip() for part in re.split("x|\u00d7", words)]
    if len(parts) == 2 and _NUMBER.fullmatch(parts[0]):
        parts[0] += parts[1].lstrip("0123456789.")
    sizes = [_quantity(part, "m", "section") or 0.0 for part in parts]
    if len(sizes) != 2 or not 0.0 < sizes[0] <= sizes[1]:
        raise InputError(
            f"--section is {given(words)}; THICKNESS x WIDTH is needed, the smaller first, such "
            'as "2.4 mm x 5 mm"'
        )
    return SeenSection(sizes[0], sizes[1])


def with_run(words: ClipOptions, at: At) -> ClipOptions:
    """Return the words about a clip, with what ``runs.csv`` says of it where they are silent."""
    if words.point or "point" not in at:
        return words
    return dataclasses.replace(words, point=str(at["point"]))


def measure_clip(
    path: str, options: Options, words: ClipOptions, progress: Progress | None = None
) -> SeenClip:
    """Return what a clip shows.

    Raises
    ------
    InputError
        The clip or a word about it is wrong, one line each.
    """
    motion = _word(words.motion, MOTIONS, "motion") or "held"
    if words.point and motion != "held":
        raise InputError(f"--point follows a dot of a lure that is held; --motion is {motion}")
    region = None
    if words.region:
        match = _REGION.fullmatch(words.region.strip())
        if match is None:
            raise InputError(f"--region is {given(words.region)}; x,y,width,height is needed")
        region = (int(match[1]), int(match[2]), int(match[3]), int(match[4]))
    scale = _scale(path, options, words)
    setting = Setting(
        view=options.view,
        sweep=_word(words.sweep, SWEEPS, "sweep") or "sideways",
        scale=scale.size,
        scale_share=scale.share,
        downstream=_word(words.downstream, DIRECTIONS, "downstream"),
        fastest=options.fastest,
        section=_section(words.section),
        cross=scale.cross,
        at=_conditions(words),
    )
    rate = _quantity(words.recorded, "Hz", "recorded")
    clip = read_clip(path, region=region, recorded_rate=rate, progress=progress)
    if motion == "held":
        dot = named_dot(path, clip, words.point, region, rate)
        film = measure_film(clip, setting, progress, dot)
        return SeenClip(_doubted(film.measured, scale.doubt), film, scale.size)
    seen = _passing(clip, setting, motion, progress)
    return dataclasses.replace(seen, measured=_doubted(seen.measured, scale.doubt))


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


def _passing(clip: Clip, setting: Setting, motion: str, progress: Progress | None) -> SeenClip:
    """Return what a clip of a lure that crosses the picture shows."""
    path = passage(clip, progress)
    found = measure_passage(clip, path, setting, sinking=motion == "sinking")
    if motion == "sinking":
        return SeenClip(tuple(found), None, setting.scale)
    speed = found[0].value
    at = dict(setting.at)
    if speed is not None:
        at["speed"] = speed
    film = measure_film(followed(clip, path), dataclasses.replace(setting, at=at), progress)
    return SeenClip((*found, *film.measured), film, setting.scale)


def write_pictures(
    seen: SeenClip, directory: Path, stem: str, unit: LengthUnit = "mm"
) -> list[str]:
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
        unit=unit,
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
    at = measured.at
    doubts = {f.word: f for m in film.measured if m.unit == "m" for f in m.flags if f.severe}
    warm = at.get("temperature")
    said = {
        "view": at.get("view"),
        "speed_mps": at.get("speed"),
        "flags": " ".join(doubts),
        "temp_C": round(warm - ZERO_CELSIUS, 3) if isinstance(warm, float) else None,
    }
    told = ", ".join(f"{key} = {value}" for key, value in said.items() if value not in (None, ""))
    lines = [f"# {told}"] if told else []
    lines.append(f"t_s,x_{unit},y_{unit},xb_{unit},yb_{unit},conf")
    for t, (x, y), sure in zip(film.clip.time, tips.tip, tips.confidence, strict=True):
        place = ",".join("" if np.isnan(v) else f"{factor * v:.4f}" for v in (x, y))
        root = ",".join(f"{factor * v:.4f}" for v in tips.root)
        lines.append(f"{t:.6f},{place},{root},{sure:.0f}")
    return "\n".join(lines) + "\n"
