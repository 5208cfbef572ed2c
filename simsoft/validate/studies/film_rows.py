"""One clip of a drawn tail, measured: what the studies of clips put into their tables."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

from simsoft.aquarium.measured import Measured
from simsoft.aquarium.video.clip import Clip, read_clip
from simsoft.aquarium.video.facing import SeenSection
from simsoft.aquarium.video.film import Setting, measure_film
from simsoft.validate.studies.film_clip import ClipMotion, Tank, encode, render

SAME_RATE, SAME_STROKE = 0.02, 0.05
PADDLE = """title = "Drawn paddle"
[water]
temperature = "16 degC"
[material]
durometer = "46 OO"
density = "1025 kg/m^3"
[[parts]]
name = "tail"
kind = "paddle-tail"
length = "11 mm"
width = "4 mm"
thickness = "2 mm"
paddle_diameter = "15 mm"
paddle_thickness = "3 mm"
paddle_angle = "88 deg"
paddle_offset = "5 mm"
[[scenarios]]
name = "retrieve"
kind = "retrieve"
speed = "0.6 m/s"
onset = false
"""


@dataclass(frozen=True)
class ClipRow:
    """One clip: what was filmed and how, what came out."""

    tail: str
    condition: str
    rate: float
    true_rate: float
    true_stroke: float
    beat: Measured
    stroke: Measured | None

    @property
    def rate_error(self) -> float:
        """Relative error of the beat, NaN where there is none."""
        return math.nan if self.beat.value is None else self.beat.value / self.true_rate - 1.0

    @property
    def stroke_error(self) -> float:
        """Relative error of the stroke, NaN where there is none."""
        if self.stroke is None or self.stroke.value is None:
            return math.nan
        return self.stroke.value / self.true_stroke - 1.0

    @property
    def covered(self) -> bool:
        """True where what is called clear is within twice its uncertainty of the truth."""
        off = [(self.beat, self.true_rate)]
        off += [] if self.stroke is None else [(self.stroke, self.true_stroke)]
        return all(
            abs(m.value - true) <= 2.0 * (m.u or 0.0) for m, true in off if m.clear and m.value
        )

    @property
    def honest(self) -> bool:
        """True where what is called clear is within 2 % of the beat and 5 % of the stroke."""
        rate = not self.beat.clear or abs(self.rate_error) <= SAME_RATE
        sure = self.stroke is not None and self.stroke.clear
        return rate and (not sure or abs(self.stroke_error) <= SAME_STROKE)


def filmed(
    motion: ClipMotion, tank: Tank, setting: Setting, suffix: str = ".mp4"
) -> list[Measured]:
    """Return what is measured off a clip that was drawn, encoded to a real file and read again."""
    return list(measure_film(clip_of(motion, tank, suffix), setting).measured)


def clip_of(motion: ClipMotion, tank: Tank, suffix: str = ".mp4") -> Clip:
    """Return a clip that was drawn, encoded to a real file and read again."""
    with TemporaryDirectory() as directory:
        frames, time = render(motion, tank)
        path = encode(frames, time, Path(directory) / f"clip{suffix}", rate=round(tank.rate))
        return read_clip(path)


def row(
    tail: str,
    condition: str,
    motion: ClipMotion,
    tank: Tank,
    view: str = "below",
    section: SeenSection | None = None,
) -> ClipRow:
    """Return one row of the table."""
    setting = Setting(view=view, scale=tank.scale, section=section)
    return row_of(tail, condition, motion, tank, filmed(motion, tank, setting))


def row_of(
    tail: str, condition: str, motion: ClipMotion, tank: Tank, found: Sequence[Measured]
) -> ClipRow:
    """Return one row of the table from what was measured."""
    stroke = next((m for m in found if m.quantity == "stroke"), None)
    return ClipRow(tail, condition, tank.rate, motion.frequency, motion.stroke(), found[0], stroke)
