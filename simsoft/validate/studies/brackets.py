"""Study: twelve invented lures against their sanity brackets, case by case.

The lures are ordinary cases beside the published checks, in ``brackets/``; ``brackets.toml``
holds the rough numbers of screening formulas. A number outside is not a miss: the study says
where the program lands and why.
"""

from __future__ import annotations

import math
import tomllib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from simsoft.case.model import Case
from simsoft.case.read import load
from simsoft.lure.parts import DEFAULT_FREQUENCY
from simsoft.properties.material import dynamic_modulus
from simsoft.validate.locate import checks_directory
from simsoft.validate.studies.tools import (
    Solved,
    only,
    signed_percent,
    solve_cases,
    table,
    table_number,
)

FOLDER = "brackets"
SINGLE = 0.5  # share by which a single number may be off
RANGE = 0.3  # share by which the ends of a range are widened
INTO_WIND = {"cast_head": 30.0, "cast_tumble": 20.0, "cast_broadside": 20.0}  # [deg]
ATTITUDES = {"cast_head": "end-on", "cast_tumble": "tumbling", "cast_broadside": "broadside"}
WIND = 5.0  # [m/s]
LABELS = {
    "modulus": "modulus at 5 Hz [kPa]",
    "natural": "rate in still water [Hz]",
    "beats": "beats at {speed:g} m/s [Hz]",
    "sink": "sink rate [m/s]",
    "cast_head": "cast end on, {wind} [m]",
    "cast_tumble": "cast tumbling, {wind} [m]",
    "cast_broadside": "cast broadside, {wind} [m]",
    "rise": "claw tip above its root, over its length",
}
SCALES = {"modulus": 1e-3}


@dataclass(frozen=True)
class BracketLine:
    """One number beside its bracket.

    Attributes
    ----------
    lure, label : str
    stated : tuple of float, one number or a range
    found : float or None
    why : str, said where it lies outside
    """

    lure: str
    label: str
    stated: tuple[float, ...]
    found: float | None
    why: str

    @property
    def inside(self) -> bool:
        """Return whether the number lies in its widened bracket."""
        low, high = self.stated[0], self.stated[-1]
        spread = SINGLE if len(self.stated) == 1 else RANGE
        return (
            self.found is not None and (1.0 - spread) * low <= self.found <= (1.0 + spread) * high
        )


def study(names: Sequence[str] = ()) -> list[BracketLine]:
    """Run the lures, all or those named, and return every number beside its bracket."""
    folder = checks_directory() / FOLDER
    stated = lure_brackets(folder)
    wanted = [name for name in stated if not names or name in names]
    cases = [load(folder / f"{name}.toml") for name in wanted]
    runs = [throw for case in cases for throw in (case, _still(case), *_into_wind(case))]
    solved = iter(solve_cases(runs))
    lines: list[BracketLine] = []
    for name, case in zip(wanted, cases, strict=True):
        calm, alone, *windy = (next(solved) for _ in range(2 + len(_into_wind(case))))
        lines += _lines(name, case, stated[name], calm, alone, windy)
    return lines


def lure_brackets(folder: Path) -> dict[str, dict[str, Any]]:
    """Return the stated numbers of every lure."""
    return tomllib.loads((folder / "brackets.toml").read_text(encoding="utf-8"))


def stem_alone(case: Case) -> Case:
    """Return the case with a stiff body: its tail is held where the stem begins."""
    body = None if case.body is None else replace(case.body, flexible=False)
    return replace(case, body=body)


def _still(case: Case) -> Case:
    """Return the case's still water alone, without its soft body: a stem is what the bracket is."""
    return only(stem_alone(case), "hold")


def _into_wind(case: Case) -> list[Case]:
    """Return the case's cast alone, released at the lower angles used into the wind."""
    throws = [s for s in case.scenarios if s.kind == "cast"]
    angles = sorted(set(INTO_WIND.values()))
    return [
        replace(
            case,
            parts=case.parts,
            scenarios=tuple(
                replace(s, cast=replace(s.cast, launch_angle=math.radians(angle))) for s in throws
            ),
        )
        for angle in angles
    ]


def _lines(
    name: str,
    case: Case,
    stated: dict[str, Any],
    calm: Solved,
    alone: Solved,
    windy: Sequence[Solved],
) -> Iterator[BracketLine]:
    why = stated.get("why", {})
    speed = stated.get("speed", 0.0)

    def line(
        key: str, numbers: Sequence[float], found: float | None, wind: str = ""
    ) -> BracketLine:
        scale = SCALES.get(key, 1.0)
        label = LABELS[key].format(speed=speed, wind=wind)
        shown = tuple(scale * x for x in numbers)
        return BracketLine(
            name, label, shown, None if found is None else scale * found, why.get(key, "")
        )

    modulus = dynamic_modulus(
        case.material, case.tolerance, case.water.temperature, DEFAULT_FREQUENCY
    )
    yield line("modulus", [stated["modulus"]], modulus.value)
    if "natural" in stated:
        natural = alone.number("natural_frequency", medium="water", mode=1)
        yield line("natural", [stated["natural"]], natural)
    if "beats" in stated:
        yield line("beats", stated["beats"], calm.number("flap_frequency", speed=speed))
    if "sink" in stated:
        yield line("sink", stated["sink"], calm.number("sink_rate"))
    for key, attitude in ATTITUDES.items():
        if key not in stated:
            continue
        still, ahead = stated[key]
        lower = windy[sorted(set(INTO_WIND.values())).index(INTO_WIND[key])]
        found = calm.number("cast_distance", wind=0.0, attitude=attitude)
        yield line(key, [still], found, "still air")
        found = lower.number("cast_distance", wind=WIND, attitude=attitude)
        yield line(key, [ahead], found, "head wind")
    if "rise" in stated:
        tip = calm.point("tip_position", state="rest", speed=0.0)
        yield line("rise", stated["rise"], tip[2] / case.parts[0].length)


def section(lines: Sequence[BracketLine]) -> str:
    """Return the study as Markdown."""
    rows = []
    for line in lines:
        middle = sum(line.stated) / len(line.stated)
        off = "" if line.found is None else signed_percent(line.found / middle - 1.0, 0)
        where = "inside" if line.inside else "outside"
        bracket = " to ".join(table_number(x, 3) for x in line.stated)
        rows.append([line.lure, line.label, bracket, table_number(line.found, 3), off, where])
    head = ["lure", "quantity", "bracket", "found", "off its middle", ""]
    told = [f"- {name}: {why}" for name, why in _reasons(lines)]
    within = sum(line.inside for line in lines)
    reasons = "\nWhy outside:\n\n" + "\n".join(told) + "\n" if told else ""
    return (
        "## Twelve invented lures against sanity brackets\n\n"
        "The brackets come from screening formulas on guessed strokes and drag areas (common "
        f"practice, no source): single numbers +-{SINGLE:.0%}, ranges widened by {RANGE:.0%}. "
        f"{within} of {len(lines)} numbers lie inside.\n\n"
        f"{table(head, rows)}{reasons}\n"
    )


def _reasons(lines: Sequence[BracketLine]) -> Iterator[tuple[str, str]]:
    """Yield label and reason of every number outside, each reason once a lure."""
    told: set[tuple[str, str]] = set()
    for line in lines:
        if line.inside or (line.lure, line.why) in told:
            continue
        told.add((line.lure, line.why))
        yield f"{line.lure}, {line.label}", line.why or "not explained yet"
