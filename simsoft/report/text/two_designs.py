"""Two designs by their repeats, in words: difference, band, or how many runs would show one."""

from __future__ import annotations

import json
import textwrap
from collections.abc import Sequence
from typing import Any

from simsoft.aquarium.measured import Flag, Measured
from simsoft.aquarium.two_designs import Contrast
from simsoft.aquarium.welch import MOST_MORE, SURE, Repeats
from simsoft.core.quantities import words
from simsoft.report.text.tank import conditions
from simsoft.report.text.width import width
from simsoft.report.units import LengthUnit, show, speed_text
from simsoft.results.record import Record

SPELLED = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten",
           "eleven", "twelve")  # fmt: skip
FINE = 3.0  # [%], differences below it are told to a tenth
# What to write where a word would take a doubt away; other doubts say it themselves.
HELPS = {
    "view": "where the camera looked from is not said; write `# view = below` (or above, mirror, "
    "rear, side) into the file's first line, or a column `view` in runs.csv"
}
OF_ONE_BAIT = (
    "Repeats of one bait tell of that bait: another of the same pour, and another pour, may "
    "differ as much. A scale that is wrong in one folder alone shows as a difference of lengths."
)


def spelled(count: int) -> str:
    """Return a count in words up to twelve."""
    return SPELLED[count] if count < len(SPELLED) else str(count)


def contrast_at(contrast: Contrast) -> str:
    """Return under which conditions two designs are compared."""
    stand_in = Measured(contrast.quantity, None, None, contrast.unit, "", 0, contrast.at)
    return conditions(stand_in)


def side_text(side: Repeats | None, contrast: Contrast, unit: LengthUnit = "mm") -> str:
    """Return the mean of repeats with its scatter from run to run."""
    if side is None:
        return "none"
    runs = f"{side.n} run" if side.n == 1 else f"{side.n} runs"
    band = (side.mean - side.scatter, side.mean + side.scatter) if side.n > 1 else (None, None)
    return f"{show(_record(contrast, side.mean, *band), unit)}, {runs}"


def in_shares(contrast: Contrast) -> bool:
    """Tell whether a difference means something in per cent of the first design."""
    first = contrast.sides[0]
    return first is not None and contrast.unit not in ("", "deg") and first.mean > first.scatter


def moved_text(contrast: Contrast, unit: LengthUnit = "mm") -> str:
    """Return from which speeds the runs were moved to the one of the comparison; '' for none."""
    if contrast.speeds is None:
        return ""
    first, second = (speed_text(speed, unit) for speed in contrast.speeds)
    if first == second:
        return ""
    return f"{first} and {second}, moved to one speed"


def contrast_text(contrast: Contrast, unit: LengthUnit = "mm") -> str:
    """Return the difference with its band, in the unit and in per cent of the first design."""
    found, first = contrast.apart, contrast.sides[0]
    if found is None or first is None:
        return ""
    text = show(_record(contrast, found.difference, found.low, found.high), unit)
    if found.low is None or found.high is None or not in_shares(contrast):
        return text
    shares = [100.0 * x / abs(first.mean) for x in (found.difference, found.low, found.high)]
    places = 0 if max(map(abs, shares)) >= FINE else 1
    told = [f"{round(share, places) + 0.0:+.{places}f}" for share in shares]
    return f"{text}; {told[0]} % ({told[1]} to {told[2]})"


def verdict_text(contrast: Contrast, names: tuple[str, str], unit: LengthUnit = "mm") -> str:
    """Return what the runs settle, or how many more would."""
    said = []
    if contrast.beats is not None:
        first, second = (f"{b} of {b + s}" for b, s in contrast.beats)
        told = f"{names[0]} beats in {first} runs, {names[1]} in {second}"
        said.append(f"{'apart' if contrast.resolved else 'not resolved'}: {told}")
    found = contrast.apart
    if found is None:
        return "; ".join([*said, f"not compared: {contrast.reason}"])
    if found.resolved:
        said.append(f"apart: higher in {names[1] if found.difference > 0.0 else names[0]}")
    elif found.held:
        said.append("not resolved: the unequal speeds hide it; run both at the same speed")
    elif found.more is None:
        said.append(f"not resolved: {MOST_MORE} more runs each would not show so small a one")
    else:
        runs = "run" if found.more == 1 else "runs"
        said.append(f"not resolved: {spelled(found.more)} more {runs} each")
    return "; ".join(said)


def only_in(found: Sequence[Contrast], names: tuple[str, str]) -> list[str]:
    """Return a note for each condition under which one design alone was run."""
    what: dict[str, list[str]] = {}
    for contrast in (c for c in found if c.alone):
        name = names[contrast.sides[0] is None]
        at = contrast_at(contrast)
        key = f"{name} alone was run{' at ' if at else ''}{at}"
        what.setdefault(key, []).append(words(contrast.quantity))
    return [f"{key}: {', '.join(dict.fromkeys(quantities))}" for key, quantities in what.items()]


def left_out(found: Sequence[Measured]) -> list[str]:
    """Return a note for each doubt that leaves numbers out: of which runs, and what helps."""
    doubts: dict[tuple[Flag, ...], list[Measured]] = {}
    for m in found:
        doubts.setdefault(tuple(flag for flag in m.flags if flag.severe), []).append(m)
    return [
        f"{_of_runs(runs)} left out, in doubt ({', '.join(flag.word for flag in flags)}): "
        f"{'; '.join(HELPS.get(flag.word, flag.text) for flag in flags)}"
        for flags, runs in doubts.items()
    ]


def left_unsaid(found: Sequence[tuple[Measured, str]]) -> list[str]:
    """Return a note for each condition that some runs do not say, though their others do."""
    columns: dict[str, list[Measured]] = {}
    for m, column in found:
        columns.setdefault(column, []).append(m)
    return [
        f"{_of_runs(runs)} left out: {column} is not said, in the file or in runs.csv"
        for column, runs in columns.items()
    ]


def _of_runs(found: Sequence[Measured]) -> str:
    """Return the runs and the quantities of some measurements, every one once."""
    runs = ", ".join(dict.fromkeys(m.run for m in found))
    return f"{runs}: {', '.join(dict.fromkeys(words(m.quantity) for m in found))}"


def two_designs_page(
    found: Sequence[Contrast],
    names: tuple[str, str],
    notes: Sequence[str],
    unit: LengthUnit = "mm",
) -> str:
    """Return the contrasts as text of 80 columns.

    Parameters
    ----------
    found : sequence of Contrast
    names : pair of str, of the designs
    notes : sequence of str, what was left out
    unit : 'mm' or 'inch'
    """
    lines = [f"{names[1]} against {names[0]}, run by run"]
    wide = max(len("difference"), *(len(name) for name in names))
    for contrast in (c for c in found if not c.alone):
        head = [words(contrast.quantity), contrast_at(contrast)]
        lines += ["", ", ".join(filter(None, head))]
        rows = [
            (name, side_text(side, contrast, unit))
            for name, side in zip(names, contrast.sides, strict=True)
        ]
        rows += [("speeds", moved_text(contrast, unit))]
        rows += [("difference", contrast_text(contrast, unit))]
        rows += [("verdict", verdict_text(contrast, names, unit))]
        for name, text in rows:
            if text:
                first = f"  {name.ljust(wide)}  "
                lines += textwrap.wrap(
                    text, width(), initial_indent=first, subsequent_indent=" " * len(first)
                )
    told = [*only_in(found, names), *notes]
    lines += ["", "Not compared"] if told else []
    for note in told:
        lines += textwrap.wrap(note, width(), initial_indent="  - ", subsequent_indent="    ")
    lines += [
        "",
        *textwrap.wrap(_how(sum(not c.alone for c in found)), width()),
        *textwrap.wrap(OF_ONE_BAIT, width()),
    ]
    return "\n".join(line.rstrip() for line in lines) + "\n"


def _how(rows: int) -> str:
    odds = round(1.0 / (1.0 - SURE))
    by_chance = f" One row in {odds} shows a difference by chance alone." if rows > 1 else ""
    return (
        f"Bands of a design: its scatter from run to run. Bands of a difference hold {odds - 1} "
        f"times in {odds} (Welch).{by_chance} Further runs: eight times in ten they show a "
        "difference that is what it looks like now."
    )


def _record(
    contrast: Contrast, value: float, low: float | None = None, high: float | None = None
) -> Record:
    return Record("tank", "", contrast.quantity, value, low, high, contrast.unit, "measured")


def two_designs_json(
    version: str, names: tuple[str, str], found: Sequence[Contrast], notes: Sequence[str]
) -> str:
    """Return the contrasts as one JSON object, SI units."""
    rows = [
        {
            "quantity": contrast.quantity,
            "unit": contrast.unit,
            "at": dict(contrast.at),
            "sides": [_side(side) for side in contrast.sides],
            "difference": contrast.apart and contrast.apart.difference,
            "low": contrast.apart and contrast.apart.low,
            "high": contrast.apart and contrast.apart.high,
            "resolved": contrast.resolved,
            "more_runs_each": contrast.apart and contrast.apart.more,
            "beats": contrast.beats and [list(side) for side in contrast.beats],
            "verdict": verdict_text(contrast, names),
        }
        for contrast in found
    ]
    body = {"simsoft": version, "designs": list(names), "contrasts": rows, "warnings": list(notes)}
    return json.dumps(body, allow_nan=False, indent=1)


def _side(side: Repeats | None) -> dict[str, Any] | None:
    return None if side is None else {"n": side.n, "mean": side.mean, "scatter": side.scatter}
