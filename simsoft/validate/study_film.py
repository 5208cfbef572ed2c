"""How well clips are measured: our own marches drawn, filmed, spoilt, encoded, measured again.

``python -m simsoft.validate.study_film`` prints the page; ``--write`` puts it beside the published
checks as ``FILM.md``. The truth is the motion that was drawn.
"""

from __future__ import annotations

import argparse
import dataclasses
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

from simsoft import __version__
from simsoft.aquarium.clip import read_clip
from simsoft.aquarium.film import Setting, measure_film
from simsoft.aquarium.measured import Measured
from simsoft.case.read import loads
from simsoft.engine import run
from simsoft.files import write_text
from simsoft.record import select
from simsoft.validate.film_clip import Motion, Tank, encode, motion_of, render
from simsoft.validate.locate import checks_directory

PAGE = "FILM.md"
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
width = "5 mm"
thickness = "2.4 mm"
paddle_diameter = "15 mm"
paddle_thickness = "3 mm"
paddle_angle = "88 deg"
[parts.loads]
wake_moment = 0.3
[[scenarios]]
name = "retrieve"
kind = "retrieve"
speed = "0.6 m/s"
onset = false
"""
RIBBON = """title = "Drawn ribbon"
[material]
youngs_modulus = "120 kPa"
density = "1020 kg/m^3"
[[parts]]
name = "tail"
kind = "ribbon"
length = "60 mm"
width = "8 mm"
thickness = "1 mm"
[numerics]
elements = 24
[[scenarios]]
name = "retrieve"
kind = "retrieve"
speed = "0.5 m/s"
onset = false
gravity = false
"""


@dataclass(frozen=True)
class Row:
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


def paddle() -> Motion:
    """Return the motion of a marched paddle tail, seen from below."""
    return _marched(PADDLE, 2.4e-3, 15e-3)


def ribbon() -> Motion:
    """Return the motion of a marched ribbon, seen edge on."""
    return _marched(RIBBON, 1.0e-3, 0.0)


def _marched(text: str, thickness: float, plate: float) -> Motion:
    result = run(loads(text), bands=False)
    beat = select(result.records, "flap_frequency")[0].value
    if not isinstance(beat, float):
        raise RuntimeError("the tail drawn for the study does not beat")
    return motion_of(result.traces[0], beat, thickness, plate)


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


def filmed(motion: Motion, tank: Tank, setting: Setting, suffix: str = ".mp4") -> list[Measured]:
    """Return what is measured off a clip that was drawn, encoded to a real file and read again."""
    with TemporaryDirectory() as directory:
        frames, time = render(motion, tank)
        path = encode(frames, time, Path(directory) / f"clip{suffix}", rate=round(tank.rate))
        return list(measure_film(read_clip(path), setting).measured)


def row(tail: str, condition: str, motion: Motion, tank: Tank, view: str = "below") -> Row:
    """Return one row of the table."""
    found = filmed(motion, tank, Setting(view=view, scale=tank.scale))
    stroke = next((m for m in found if m.quantity == "stroke"), None)
    return Row(tail, condition, tank.rate, motion.frequency, motion.stroke(), found[0], stroke)


TAILS: dict[str, tuple[Callable[[], Motion], float]] = {
    "paddle": (paddle, 0.12e-3),
    "ribbon": (ribbon, 0.3e-3),
}


def study(tails: Sequence[str] = tuple(TAILS)) -> list[Row]:
    """Return the rows of every condition for the tails named."""
    rows = []
    for name in tails:
        marched, scale = TAILS[name]
        motion = marched()
        base = Tank(scale=scale, seconds=1.6)
        rows += [
            row(name, f"clean, {rate:.0f} frames/s", motion, dataclasses.replace(base, rate=rate))
            for rate in RATES
        ]
        rows += [
            row(name, condition, motion, dataclasses.replace(base, **changes))  # type: ignore[arg-type]
            for condition, changes in CONDITIONS.items()
        ]
        fast = dataclasses.replace(motion, frequency=22.0)
        for rate in (24.0, 30.0, 60.0, 120.0):
            tank = dataclasses.replace(base, rate=rate)
            rows.append(row(name, f"beats at 22 Hz, {rate:.0f} frames/s", fast, tank))
        tank = dataclasses.replace(base, rate=30.0, jitter=0.4)
        rows.append(row(name, "beats at 22 Hz, uneven 30 frames/s", fast, tank))
        for angle in (10.0, 30.0):
            leaning = motion.turned(math.radians(angle))
            one = row(name, f"camera {angle:.0f} degrees off the sweep", leaning, base)
            rows.append(dataclasses.replace(one, true_stroke=motion.stroke()))
        tank = dataclasses.replace(base, view="side")
        rows.append(row(name, "from the side, where it sweeps unseen", motion, tank, "side"))
    return rows


def section(rows: Sequence[Row]) -> str:
    """Return the page."""
    lines = [
        "# Clips measured against known truth\n",
        f"Written by `python -m simsoft.validate.study_film --write` with simsoft {__version__}.\n",
        "Marches of a paddle tail and a ribbon are drawn as a camera would see them, spoilt, "
        "encoded as H.264 MP4 with their own time stamps, read back and measured. *Clear* means "
        "that no severe flag was raised; only then is a number meant to be used.\n",
        "| tail | condition | true [Hz] | beat error | stroke error | clear (beat, stroke) "
        "| flags |",
        "|---|---|---|---|---|---|---|",
    ]
    for one in rows:
        flags = dict.fromkeys(
            f.word for m in (one.beat, one.stroke) if m is not None for f in m.flags
        )
        clear = f"{_yes(one.beat)}, {_yes(one.stroke)}"
        lines.append(
            f"| {one.tail} | {one.condition} | {one.true_rate:.2f} | {_share(one.rate_error)} | "
            f"{_share(one.stroke_error)} | {clear} | {' '.join(flags)} |"
        )
    dishonest = [one for one in rows if not one.honest]
    clear_rates = [abs(r.rate_error) for r in rows if r.beat.clear]
    clear_strokes = [abs(r.stroke_error) for r in rows if r.stroke is not None and r.stroke.clear]
    lines += [
        "",
        f"{len(rows)} clips. Largest error of a clear beat {_share(max(clear_rates))}, of a clear "
        f"stroke {_share(max(clear_strokes))}; {len(dishonest)} clips are called clear and are "
        "not within 2 % of the beat and 5 % of the stroke: "
        f"{'; '.join(f'{r.tail}, {r.condition}' for r in dishonest) or 'none'}. "
        f"{sum(not r.covered for r in rows)} clear numbers are off by more than twice their "
        "stated uncertainty. `plane` is a remark: the outline does not tell whether the sweep lies "
        "in the picture, and the stroke's uncertainty allows for 30 degrees.",
    ]
    return "\n".join(lines) + "\n"


def _yes(m: Measured | None) -> str:
    if m is None or m.value is None:
        return "none"
    return "yes" if m.clear else "no"


def _share(value: float) -> str:
    return "-" if math.isnan(value) else f"{100.0 * value:+.1f} %"


def main(arguments: Sequence[str] | None = None) -> None:
    """Run the study from the command line."""
    parser = argparse.ArgumentParser(prog="python -m simsoft.validate.study_film")
    parser.add_argument("--write", action="store_true", help=f"write validation/{PAGE}")
    options = parser.parse_args(arguments)
    text = section(study())
    if options.write:
        write_text(checks_directory() / PAGE, text)
    else:
        print(text, end="")


if __name__ == "__main__":
    main()
