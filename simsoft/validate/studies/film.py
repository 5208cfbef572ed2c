"""How well clips are measured: our own marches drawn, filmed, spoilt, encoded, measured again.

``python -m simsoft.validate.studies.film`` prints the page; ``--write`` puts it beside the
published checks as ``FILM.md``. The truth is the motion that was drawn.
"""

from __future__ import annotations

import argparse
import dataclasses
import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from simsoft import __version__
from simsoft.aquarium.measured import Measured
from simsoft.aquarium.video.facing import SeenSection
from simsoft.aquarium.video.film import Setting, measure_film
from simsoft.case.read import loads
from simsoft.core.files import write_text
from simsoft.engine.run import run
from simsoft.results.record import select
from simsoft.validate.locate import checks_directory
from simsoft.validate.studies import hung as study_hung
from simsoft.validate.studies.film_clip import ClipMotion, Tank, clip_motion
from simsoft.validate.studies.film_rows import PADDLE, ClipRow, clip_of, row, row_of

PAGE = "FILM.md"
RIBBON = """title = "Drawn ribbon"
[material]
youngs_modulus = "120 kPa"
density = "1020 kg/m^3"
[[parts]]
name = "tail"
kind = "ribbon"
length = "90 mm"
width = "12 mm"
thickness = "1.5 mm"
[numerics]
elements = 24
[[scenarios]]
name = "retrieve"
kind = "retrieve"
speed = "0.7 m/s"
onset = false
gravity = false
"""


@dataclass(frozen=True)
class Tail:
    """A tail to be filmed: its case, what the drawing needs, the scale [m/px] of the clip."""

    case: str
    section: SeenSection
    plate: float
    scale: float

    def marched(self) -> ClipMotion:
        """Return the motion the solver finds, seen from below."""
        result = run(loads(self.case), bands=False)
        beat = select(result.records, "flap_frequency")[0].value
        if not isinstance(beat, float):
            raise RuntimeError("the tail drawn for the study does not beat")
        thickness, width = self.section.thickness, self.section.width
        return clip_motion(result.traces[0], beat, thickness, self.plate, width)


TAILS = {
    "paddle": Tail(PADDLE, SeenSection(2.4e-3, 5e-3), 15e-3, 0.12e-3),
    "ribbon": Tail(RIBBON, SeenSection(1.5e-3, 12e-3), 0.0, 0.45e-3),
}
ANGLES = (0.0, 5.0, 10.0, 15.0, 20.0, 25.0, 30.0, 40.0)  # [deg], camera off the sweep
CONDITIONS: dict[str, dict[str, float]] = {
    "clean": {},
    "noise": {"noise": 14.0},
    "low contrast": {"contrast": 22.0},
    "hardly any contrast": {"contrast": 7.0, "noise": 5.0},
    "glare": {"glare": 1.0},
    "bubbles": {"bubbles": 1.0},
    "ripples": {"ripples": 1.0},
    "stamps uneven by 30 %": {"jitter": 0.3},
    "open shutter": {"shutter": 0.95},
    "short run": {"seconds": 0.6},
    "all at once": {
        "noise": 10.0, "glare": 0.7, "bubbles": 0.7, "ripples": 0.7, "jitter": 0.2,
    },
}  # fmt: skip
RATES = (240.0, 120.0, 60.0, 48.0, 30.0, 24.0)


def study(tails: Sequence[str] = tuple(TAILS)) -> list[ClipRow]:
    """Return the rows of every condition for the tails named, square on."""
    rows = []
    for name in tails:
        tail, motion = TAILS[name], _motion(name)
        base = Tank(scale=tail.scale, seconds=1.6)
        fast = dataclasses.replace(motion, frequency=22.0)
        plans = [(f"clean, {rate:.0f} frames/s", motion, {"rate": rate}) for rate in RATES]
        plans += [(condition, motion, changes) for condition, changes in CONDITIONS.items()]
        plans += [
            (f"beats at 22 Hz, {rate:.0f} frames/s", fast, {"rate": rate})
            for rate in (24.0, 30.0, 60.0, 120.0)
        ]
        plans.append(("beats at 22 Hz, uneven 30 frames/s", fast, {"rate": 30.0, "jitter": 0.4}))
        for condition, moved, changes in plans:
            tank = dataclasses.replace(base, **changes)  # type: ignore[arg-type]
            rows.append(row(name, condition, moved, tank, section=tail.section))
        tank = dataclasses.replace(base, view="side")
        condition = "from the side, where it sweeps unseen"
        rows.append(row(name, condition, motion, tank, "side", tail.section))
    return rows


def tilted(tails: Sequence[str] = tuple(TAILS)) -> list[tuple[float, ClipRow, ClipRow]]:
    """Return angle [deg] and rows, the tail's section said and not, of cameras off the sweep."""
    rows = []
    for name in tails:
        tail, motion = TAILS[name], _motion(name)
        tank = Tank(scale=tail.scale, seconds=1.6)
        for angle in ANGLES:
            leaning = motion.turned(math.radians(angle))
            clip = clip_of(leaning, tank)
            said, unsaid = (
                row_of(
                    name,
                    f"{angle:.0f} degrees off",
                    leaning,
                    tank,
                    measure_film(
                        clip, Setting(view="below", scale=tank.scale, section=section)
                    ).measured,
                )
                for section in (tail.section, None)
            )
            rows.append((angle, said, unsaid))
    return rows


@lru_cache(maxsize=4)
def _motion(name: str) -> ClipMotion:
    return TAILS[name].marched()


def section_text(rows: Sequence[ClipRow], off: Sequence[tuple[float, ClipRow, ClipRow]]) -> str:
    """Return the page."""
    lines = [
        "# Clips measured against known truth\n",
        f"Written by `python -m simsoft.validate.studies.film --write` with simsoft "
        f"{__version__}.\n",
        "Marches of a paddle tail and a ribbon are drawn as a camera would see them, spoilt, "
        "encoded as H.264 MP4 with their own time stamps, read back and measured. *Clear* means "
        "that no severe flag was raised; only then is a number meant to be used. The tail's "
        "section was said (`--section`).\n",
        "| tail | condition | true [Hz] | beat error | stroke error | clear (beat, stroke) "
        "| flags |",
        "|---|---|---|---|---|---|---|",
    ]
    for one in rows:
        clear = f"{_yes(one.beat)}, {_yes(one.stroke)}"
        lines.append(
            f"| {one.tail} | {one.condition} | {one.true_rate:.2f} | {_share(one.rate_error)} | "
            f"{_share(one.stroke_error)} | {clear} | {_flags(one)} |"
        )
    lines += ["", *_tilted_lines(off)]
    every = [*rows, *(r for _, *two in off for r in two)]
    dishonest = [one for one in every if not one.honest]
    clear_rates = [abs(r.rate_error) for r in every if r.beat.clear]
    clear_strokes = [abs(r.stroke_error) for r in every if r.stroke is not None and r.stroke.clear]
    lines += [
        "",
        "## In all\n",
        f"{len(rows) + len(off)} clips, {len(every)} measurements. Largest error of a clear beat "
        f"{_share(max(clear_rates))}, of a clear stroke {_share(max(clear_strokes))}; "
        f"{len(dishonest)} are called clear and are not within 2 % of the beat and 5 % of the "
        f"stroke: {'; '.join(f'{r.tail}, {r.condition}' for r in dishonest) or 'none'}. "
        f"{sum(not r.covered for r in every)} clear numbers are off by more than twice their "
        "stated uncertainty.",
    ]
    return "\n".join(lines) + "\n"


def _tilted_lines(off: Sequence[tuple[float, ClipRow, ClipRow]]) -> list[str]:
    """Return what cameras off the sweep do, and what tells them."""
    lines = [
        "## A camera off the sweep\n",
        "Turned by an angle about the tail's axis a stroke shrinks by the cosine. The stroke "
        "itself cannot tell; the length of the tail and its path tell with the square of the "
        "sweep, too little where that is small. What tells is the broad side that turns to the "
        "camera: the width of the tail against its section, the paddle that shows more of its "
        "face at one end of the beat. `plane`: nothing tells, and the stroke is not called clear. "
        "(A broad ribbon's end comes into view with its face and adds to its stroke, so that the "
        "cosine is not seen.)\n",
        "| tail | angle | cosine | stroke error | section said: clear, flags | not said: clear, "
        "flags |",
        "|---|---|---|---|---|---|",
    ]
    for angle, said, unsaid in off:
        cosine = _share(math.cos(math.radians(angle)) - 1.0)
        cells = " | ".join(f"{_yes(r.stroke)} {_flags(r)}".strip() for r in (said, unsaid))
        lines.append(
            f"| {said.tail} | {angle:.0f} deg | {cosine} | {_share(said.stroke_error)} | {cells} |"
        )
    return lines


def _flags(one: ClipRow) -> str:
    found = (f.word for m in (one.beat, one.stroke) if m is not None for f in m.flags)
    return " ".join(dict.fromkeys(found))


def _yes(m: Measured | None) -> str:
    if m is None or m.value is None:
        return "none"
    return "yes" if m.clear else "no"


def _share(value: float) -> str:
    return "-" if math.isnan(value) else f"{100.0 * value:+.1f} %"


def main(arguments: Sequence[str] | None = None) -> None:
    """Run the study from the command line."""
    parser = argparse.ArgumentParser(prog="python -m simsoft.validate.studies.film")
    parser.add_argument("--write", action="store_true", help=f"write validation/{PAGE}")
    options = parser.parse_args(arguments)
    hung = {plan.name: plan.filmed() for plan in study_hung.plans()}
    still = [name for name, filmed in hung.items() if filmed is None]
    hanging = study_hung.section([filmed for filmed in hung.values() if filmed], still)
    text = section_text(study(), tilted()) + hanging
    if options.write:
        write_text(checks_directory() / PAGE, text)
    else:
        print(text, end="")


if __name__ == "__main__":
    main()
