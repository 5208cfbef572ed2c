"""Study of clips of paddles as they hang: discs, boots and cups below a stem that twists."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from dataclasses import dataclass

from simsoft.aquarium.video.facing import SeenSection
from simsoft.case.read import loads
from simsoft.engine.run import run
from simsoft.results.record import select
from simsoft.validate.studies.film_clip import ClipMotion, Tank, clip_motion
from simsoft.validate.studies.film_ends import hung
from simsoft.validate.studies.film_rows import PADDLE, ClipRow, row
from simsoft.validate.studies.tools import signed_percent, table

SIZES = {
    "disc 15": 'paddle_diameter = "15 mm"',
    "boot 13 x 15": 'paddle_shape = "boot"\npaddle_width = "13 mm"\npaddle_height = "15 mm"',
    "boot 9 x 15": 'paddle_shape = "boot"\npaddle_width = "9 mm"\npaddle_height = "15 mm"',
}
ANGLES = (88.0, 75.0, 60.0, 45.0)  # [deg], of the paddle to its stem
STEMS = ((11.0, 3.2), (11.0, 4.0), (18.0, 2.4))  # length, thickness [mm]
CUPS = (2.0e-3, 4.0e-3, 6.0e-3)  # [m], how hollow a disc is
TANK = Tank(scale=0.16e-3, seconds=0.8)
WORDS = """
## Paddles as they hang

The paddles above are drawn about the stem's end. Here they hang below it (by the default offset),
twist with it and sweep back, as the march has them; the true stroke is that of the paddle's
centre, which is what a run calls the stroke. Discs, boots (rectangles, width by height in mm) and
discs hollowed to cups (whose flow the march does not know). Stem: length x thickness in mm; angle:
of the paddle to the stem. A paddle that shows more of its face than its outline tells apart, or
turns far, is flagged `paddle`.

"""


@dataclass(frozen=True)
class FilmPlan:
    """One paddle to be filmed: its words, its angle [deg], its stem [mm] and how hollow [m]."""

    kind: str
    angle: float
    stem: tuple[float, float]
    depth: float = 0.0

    @property
    def name(self) -> str:
        """Return what the table calls it."""
        cup = f", cup {1e3 * self.depth:.0f} deep" if self.depth else ""
        return f"{self.kind}{cup}, {self.angle:.0f} deg, stem {self.stem[0]:g} x {self.stem[1]:g}"

    def marched(self) -> ClipMotion | None:
        """Return the motion the solver finds, with the paddle where it hangs; None at rest."""
        length, thick = self.stem
        text = PADDLE.replace('paddle_diameter = "15 mm"', SIZES[self.kind])
        stated = {"length": f"{length:g} mm", "thickness": f"{thick:g} mm",
                  "paddle_angle": f"{self.angle:g} deg"}  # fmt: skip
        case = loads(text, overrides=[f"parts.tail.{key}={word}" for key, word in stated.items()])
        result = run(case, bands=False)
        beat = select(result.records, "flap_frequency")[0].value
        paddle = case.parts[0].paddle
        if not isinstance(beat, float) or paddle is None:
            return None
        trace = result.traces[0]
        motion = clip_motion(trace, beat, 1e-3 * thick, 0.0, 5e-3)
        return dataclasses.replace(motion, paddle=hung(trace, beat, paddle, self.depth))

    def filmed(self) -> ClipRow | None:
        """Return what is measured off its clip, camera square to the sweep; None at rest."""
        motion = self.marched()
        if motion is None:
            return None
        return row(self.kind, self.name, motion, TANK,
                   section=SeenSection(1e-3 * self.stem[1], 5e-3))  # fmt: skip


def plans() -> list[FilmPlan]:
    """Return every paddle of the page."""
    flat = [FilmPlan(kind, angle, stem) for kind in SIZES for angle in ANGLES for stem in STEMS]
    return flat + [FilmPlan("disc 15", 88.0, (11.0, 2.4), depth) for depth in CUPS]


def section(rows: Sequence[ClipRow], still: Sequence[str] = ()) -> str:
    """Return this part of the page; ``still`` names the paddles that do not beat."""
    lines = [
        [
            one.condition,
            f"{one.true_rate:.2f}",
            signed_percent(one.rate_error, 2),
            f"{1e3 * one.true_stroke:.1f}",
            signed_percent(one.stroke_error),
            "yes" if one.beat.clear else "no",
            "yes" if one.stroke is not None and one.stroke.clear else "no",
            " ".join(dict.fromkeys(f.word for f in one.stroke.flags)) if one.stroke else "",
        ]
        for one in rows
    ]
    head = ["paddle", "true [Hz]", "beat error", "stroke [mm]", "error", "beat clear",
            "stroke clear", "flags"]  # fmt: skip
    clear = [one for one in rows if one.stroke is not None and one.stroke.clear]
    worst = max((abs(one.stroke_error) for one in clear), default=0.0)
    spoilt = max((abs(one.stroke_error) for one in rows if one not in clear), default=0.0)
    beats = max((abs(one.rate_error) for one in rows if one.beat.clear), default=0.0)
    off = [one.condition for one in rows if not one.covered]
    told = (
        f"\nLargest error of a clear beat {signed_percent(beats, 2)}; "
        f"{len(clear)} of {len(rows)} strokes are clear, the largest error among them "
        f"{signed_percent(worst)}, among the flagged {signed_percent(spoilt)}. "
        "Clear and off by more than twice the stated uncertainty: "
        f"{'; '.join(off) or 'none'}. Not filmed, since they do not beat: "
        f"{'; '.join(still) or 'none'}.\n"
    )
    return WORDS + table(head, lines) + told
