"""A clip of a held, towed or sinking lure -> measured quantities, with every doubt said."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from simsoft.aquarium.files.track import Track
from simsoft.aquarium.measured import At, Flag, Measured, lacking, sound
from simsoft.aquarium.signal.alias import FASTEST
from simsoft.aquarium.signal.beat import measure_beat
from simsoft.aquarium.signal.sine import fit
from simsoft.aquarium.video.clip import Clip
from simsoft.aquarium.video.dot import DotPath
from simsoft.aquarium.video.facing import SeenSection, Tilt
from simsoft.aquarium.video.plane import plane_doubts, plane_of, widened
from simsoft.aquarium.video.scene import TURNS, Scene, look
from simsoft.aquarium.video.tip import Tips, track
from simsoft.case.wording import printable
from simsoft.core.arrays import Array, Mask

Progress = Callable[[str, float], None]

LOST = 0.15  # share of frames without a trusted tip, from which the tip counts as lost
SAME_BEAT = 0.02  # relative; tip and kymograph must agree to this
SMEARED, BADLY_SMEARED = 1.5, 2.5  # smear of the fastest over that of the slowest frames
LEAST_SMEAR = 1.5  # px, a rim this much wider is no smear yet
OBLIQUE = 0.35  # along-tail motion at the beat itself over the sweep
RIM, LEAVES = 4.0, 0.05  # px from the rim, share of frames in which the tip is there
DRIFT = 0.3  # of the stroke
EDGE = 0.35  # px, picking an edge at half contrast, one sigma
OF_LENGTHS = ("blur", "oblique", "glare", "paddle")  # spoil lengths and their ratios, not rates
OF_SCALE = ("out-of-plane", "plane")  # spoil lengths only: one factor on all of them
# Share of a paddle's width that its face shows, and sine of its turn, from which drawn boots, deep
# cups and swept discs are read wrong (by up to two thirds; study_film, "Paddles as they hang").
FACE, TURNED = 0.5, 0.65
RAGGED = 0.7  # share of the tip's motion that the beat explains
TOO_SMALL = 6.0  # px, a sweep that fewer pixels show is not measured
SMALL = 15.0  # px


@dataclass(frozen=True)
class Setting:
    """What the user says about a clip.

    Attributes
    ----------
    view, sweep : str
    scale : float or None [m/px of the file]
    scale_share : float, relative u of the scale
    downstream : str, '' to find it
    fastest : float [Hz]
    section : Section or None, of the tail where it bends
    cross : Tilt or None, of two markers across each other in the sweep's plane
    at : dict, conditions
    """

    view: str = ""
    sweep: str = "sideways"
    scale: float | None = None
    scale_share: float = 0.02
    downstream: str = ""
    fastest: float = FASTEST
    section: SeenSection | None = None
    cross: Tilt | None = None
    at: At = field(default_factory=dict)


@dataclass(frozen=True)
class Film:
    """A measured clip with what is needed to check it by eye.

    Attributes
    ----------
    measured : tuple of Measured
    clip : Clip
    scene : Scene
    tips : Tips or None
    used : 'outline', 'dot' or 'kymograph', where the beat came from
    """

    measured: tuple[Measured, ...]
    clip: Clip
    scene: Scene
    tips: Tips | None
    used: str


def measure_film(
    clip: Clip, setting: Setting, progress: Progress | None = None, dot: DotPath | None = None
) -> Film:
    """Return what a clip of a held or followed lure shows.

    The beat comes from the track of the dot, else of the tip, where that is trusted in most
    frames, else from the kymograph; where both are there they must agree.

    Parameters
    ----------
    clip : Clip
    setting : Setting
    progress : function of a label and the share done
    dot : DotPath or None, of the clip's frames; it stands for the tip
    """
    scene = look(clip, setting.downstream)
    unseen = setting.view == "side" and setting.sweep == "sideways"
    tips = _tracked(scene, progress, unseen)
    name = printable(Path(clip.name).stem)
    if tips is None:
        reason = "no beat: nothing moves in the picture"
        nothing = lacking("flap_frequency", "Hz", "outline and kymograph", reason, len(clip.time))
        nothing = dataclasses.replace(nothing, at=dict(setting.at), flags=scene.flags, run=name)
        return Film((nothing,), clip, scene, None, "kymograph")
    if dot is not None:
        tips = _dotted(tips, dot, scene.downstream, clip.frames.shape[1:])
    good = tips.confidence > 0.5
    from_line = _measured(clip, setting, _line_track(clip, setting, tips))
    lost = float((~good).mean())
    if lost > LOST or good.sum() < 12:
        what = "dot" if tips.dot else "tip"
        text = (
            f"the {what} is lost in {100 * lost:.0f} % of the frames; the beat is the kymograph's"
        )
        flags = [*scene.flags, *_leaves(scene, tips), Flag("tip-lost", text, severe=False)]
        reason = f"the {what} is lost; plain background, light, or a dot on the tip help"
        stroke = lacking("stroke", "m", "outline", reason, int(good.sum()))
        found = [m for m in from_line if m.quantity == "flap_frequency"]
        found = _flagged([*found, stroke], [*flags, *_doubts(clip, setting, tips, found)], name)
        return Film(tuple(found), clip, scene, tips, "kymograph")
    from_tip = _measured(clip, setting, _tip_track(clip, setting, tips, good))
    flags = [*scene.flags, *_leaves(scene, tips), *_doubts(clip, setting, tips, from_tip)]
    beat = from_tip[0].value
    if beat is not None and not unseen:
        size = None if setting.scale is None else pixel_size(clip, setting)
        plane = plane_of(scene, tips, clip.time, beat, setting.section, size, setting.cross)
        flags += plane_doubts(plane)
        from_tip = widened(from_tip, flags, plane)
    flags += _apart(from_tip, from_line)
    used = "dot" if tips.dot else "outline"
    found = _flagged(_scaled(from_tip, setting, clip, used), flags, name)
    return Film(tuple(found), clip, scene, tips, used)


def _dotted(tips: Tips, dot: DotPath, downstream: str, shape: tuple[int, ...]) -> Tips:
    """Return tips whose tip is the dot, turned as the scene is."""
    column, row = dot.place.T
    height, width = shape
    for _ in range(TURNS[downstream]):
        column, row = row, width - 1.0 - column
        height, width = width, height
    place = np.column_stack([column, row])
    seen = np.isfinite(place).all(axis=1).astype(float)
    return dataclasses.replace(tips, tip=place, confidence=seen, dot=True)


def _tracked(scene: Scene, progress: Progress | None, unseen: bool) -> Tips | None:
    """Return the tips; where they are lost the view may be another than was said."""
    tips = track(scene, progress, unseen=unseen)
    if unseen or tips is None or float((tips.confidence <= 0.5).mean()) <= LOST:
        return tips
    other = track(scene, progress, unseen=True)
    return other if other is not None and other.confidence.sum() > tips.confidence.sum() else tips


def pixel_size(clip: Clip, setting: Setting) -> float:
    """Return the size [m] of a pixel of the analysed frames; 1 where there is no scale."""
    return 1.0 if setting.scale is None else setting.scale * clip.shrink


def _tip_track(clip: Clip, setting: Setting, tips: Tips, good: Mask) -> Track:
    size = pixel_size(clip, setting)
    away = (tips.tip - np.asarray(tips.root)) * size
    return Track(
        name=clip.name,
        time=clip.time[good],
        tip=away[good],
        axis=np.array([1.0, 0.0]),
        dropped=int((~good).sum()),
        view=setting.view,
        sweep=setting.sweep,
        scale_share=setting.scale_share,
        scaled=setting.scale is not None,
        at=dict(setting.at),
    )


def _line_track(clip: Clip, setting: Setting, tips: Tips) -> Track | None:
    good = np.isfinite(tips.line)
    if good.sum() < 12:
        return None
    size = pixel_size(clip, setting)
    side = (tips.line[good] - tips.root[1]) * size
    return Track(
        name=clip.name,
        time=clip.time[good],
        tip=np.column_stack([np.zeros_like(side), side]),
        dropped=int((~good).sum()),
        view=setting.view,
        sweep=setting.sweep,
        scaled=setting.scale is not None,
        at=dict(setting.at),
    )


def _measured(clip: Clip, setting: Setting, seen: Track | None) -> list[Measured]:
    if seen is None or len(seen.time) < 12:
        return [lacking("flap_frequency", "Hz", "kymograph", "the tail is not seen")]
    return measure_beat(seen, fastest=setting.fastest)


def _apart(from_tip: list[Measured], from_line: list[Measured]) -> list[Flag]:
    """Return a flag where tip and kymograph tell two beats."""
    a, b = from_tip[0], from_line[0]
    if a.value is None or b.value is None:
        return []
    u = math.hypot(a.u or 0.0, b.u or 0.0)
    if abs(a.value - b.value) <= SAME_BEAT * a.value + 2.0 * u:
        return []
    text = (
        f"tip and kymograph tell two rates, {a.value:.3g} and {b.value:.3g} Hz; look at the overlay"
    )
    return [Flag("two-rates", text)]


def _scaled(found: list[Measured], setting: Setting, clip: Clip, used: str) -> list[Measured]:
    """Return lengths only where there is a scale, with the uncertainty of picking an edge."""
    result = []
    for m in found:
        if m.unit != "m" or m.value is None:
            result.append(m)
        elif setting.scale is None:
            reason = "no scale; give --scale, or two points or a marker of known length"
            result.append(
                dataclasses.replace(
                    lacking(m.quantity, "m", m.method, reason, m.n), at=m.at, run=m.run
                )
            )
        else:
            edge = EDGE * pixel_size(clip, setting)
            u = math.hypot(m.u or 0.0, edge)
            result.append(dataclasses.replace(m, u=u, method=f"{m.method}; tip by {used}"))
    return result


def _flagged(found: list[Measured], flags: list[Flag], name: str) -> list[Measured]:
    """Return measurements with a clip's flags; a smear spoils lengths, not rates."""
    result = []
    for m in found:
        own = [
            dataclasses.replace(f, severe=False)
            if (f.word in OF_LENGTHS and m.unit == "Hz") or (f.word in OF_SCALE and m.unit != "m")
            else f
            for f in flags
        ]
        result.append(sound(dataclasses.replace(m, flags=(*m.flags, *own), run=name)))
    return result


def _doubts(clip: Clip, setting: Setting, tips: Tips, found: list[Measured]) -> list[Flag]:
    """Return what smear, an oblique view, drift and size leave in doubt."""
    flags: list[Flag] = []
    beat = found[0].value if found else None
    if beat is None:
        return flags
    if setting.view == "side" and setting.sweep == "sideways":
        return flags  # the sweep is not seen; there is no stroke to spoil
    good = np.isfinite(tips.line)
    time, line, smear = clip.time[good], tips.line[good], tips.smear[good]
    if good.sum() >= 24:
        flags += _smear(time, line, smear)
    trusted = tips.confidence > 0.5
    if trusted.sum() >= 24:
        flags += _oblique(clip.time[trusted], tips.tip[trusted], beat)
        flags += _paddle(tips, trusted)
    return flags


def _paddle(tips: Tips, trusted: Mask) -> list[Flag]:
    """Return a flag where a paddle opens or turns so far that its outline hides its centre."""
    seen = trusted & np.isfinite(tips.turn)
    if tips.dot or tips.plate <= 0.0 or not seen.any():
        return []
    face = float(np.median(tips.opening[seen])) / tips.plate
    turn = float(np.percentile(np.abs(tips.turn[seen]), 95.0))
    if face < FACE and turn < TURNED:
        return []
    text = (
        f"the paddle shows its face ({100 * face:.0f} % of its width) and turns by "
        f"{math.degrees(math.asin(min(1.0, turn))):.0f} degrees: its outline does not tell where "
        "its centre is; put a dot there and say --point"
    )
    return [Flag("paddle", text)]


def _leaves(scene: Scene, tips: Tips) -> list[Flag]:
    """Return a flag where the tail's end touches the rim of the picture."""
    height, width = scene.frames.shape[1:]
    x, y = tips.tip[np.isfinite(tips.tip).all(axis=1)].T
    near = (x > width - RIM) | (y < RIM) | (y > height - RIM)
    if not len(x) or float(near.mean()) < LEAVES:
        return []
    return [Flag("leaves", "the tail leaves the picture; step back or widen the region")]


def _smear(time: Array, line: Array, smear: Array) -> list[Flag]:
    speed = np.abs(np.gradient(line, time))
    fast, slow = speed >= np.percentile(speed, 80.0), speed <= np.percentile(speed, 30.0)
    wide, narrow = float(np.median(smear[fast])), float(np.median(smear[slow]))
    ratio = wide / max(narrow, 0.5)
    if ratio < SMEARED or wide - narrow < LEAST_SMEAR:
        return []
    text = (
        f"the tail smears {ratio:.1f} times as wide at full speed; shorten the shutter to 1/500 s "
        "and add light"
    )
    return [Flag("blur", text, severe=ratio > BADLY_SMEARED)]


def _oblique(time: Array, tip: Array, beat: float) -> list[Flag]:
    flags: list[Flag] = []
    across, along = fit(time, tip[:, 1], beat, harmonics=1), fit(time, tip[:, 0], beat, harmonics=1)
    sweep = float(across.amplitude[0])
    if 2.0 * sweep < SMALL:
        text = f"the sweep covers {2 * sweep:.0f} pixels; go nearer or crop the region"
        flags.append(Flag("small", text, severe=2.0 * sweep < TOO_SMALL))
    if 1.0 - across.noise**2 / max(float(np.var(tip[:, 1])), 1e-12) < RAGGED:
        text = "the tip jumps about its beat; more contrast, or a dot on the tip, helps"
        flags.append(Flag("ragged", text))
    if float(along.amplitude[0]) > OBLIQUE * sweep:
        text = (
            "the tip moves along the picture at the beat itself: the camera is not square to the "
            "sweep, or the lure yaws"
        )
        flags.append(Flag("oblique", text))
    if abs(2.0 * across.drift[1]) > DRIFT * 2.0 * sweep:
        flags.append(Flag("drift", "the tail drifts across the picture; hold or follow it", False))
    return flags
