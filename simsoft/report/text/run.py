"""The text report: verdict, answers, tables, warnings and cautions, in 80 columns."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence

from simsoft.core.quantities import COLUMNS as OF_SPEED
from simsoft.core.quantities import words
from simsoft.design.evidence import evidence
from simsoft.report.text.asked import asked_lines
from simsoft.report.text.brief import brief_answer
from simsoft.report.text.cast import cast_answer, is_cast, reach_lines
from simsoft.report.text.clearance import QUANTITIES as CLEARANCE
from simsoft.report.text.clearance import hook_table
from simsoft.report.text.motion import is_motion, motion_answer, motion_tables
from simsoft.report.text.motion import is_told as told_of_motion
from simsoft.report.text.recipe import QUANTITIES as RECIPE
from simsoft.report.text.recipe import recipe_lines
from simsoft.report.text.seen import seen_lines
from simsoft.report.text.sentences import about_part, clean, name_of, told_once
from simsoft.report.text.whole import whole_line, whole_table
from simsoft.report.text.width import width
from simsoft.report.units import (
    LengthUnit,
    band_numbers,
    largest_of,
    show,
    speed_text,
    told_in,
    user_unit,
)
from simsoft.results.record import Record, select, why_untrusted
from simsoft.results.result import RunResult

CELL = 23
FIRST_CELL = 7
COLUMNS = 3
LEFT_TO_FILES = (*("tip_position", "energy_residual", "momentum_residual", "discretisation_error"),)
CAUTIONS = (
    "Screening estimate, not a safety assessment: prove the action in water before cutting a "
    "mould.",
    "For hot plastisol and for hooks, the supplier's safety data sheets and local rules decide.",
)


def summary(result: RunResult, made: str = "") -> str:
    """Return a run as text that fits 80 columns and says the answer first.

    Parameters
    ----------
    result : RunResult
    made : str, date of the run; nothing leaves it out

    Returns
    -------
    text : str ending in a newline; ASCII as far as the names in the case are
    """
    unit = result.case.length_unit
    weighed = [r for r in result.records if not r.scenario]
    grouped = told_once(result.records)
    several = len({scenario for scenario, *_ in grouped}) > 1
    asked = brief_answer(result)
    lines: list[str] = [*asked, ""] if asked else []
    for scenario, names, records in grouped:
        if is_cast(records):
            told = cast_answer(scenario, records, unit)
            lines += [*(line for text in told for line in _sentence(text)), ""]
        elif is_motion(records):
            for text in motion_answer(scenario, records, unit):
                lines += [*_wrap(text, later="  "), ""]
            recipe = [line for text in recipe_lines(records, unit) for line in _sentence(text)]
            lines += [*recipe, ""] if recipe else []
        else:
            name = f"{scenario}: {_of(names)}" if several else _of(names)
            lines += _answer(name, records, unit, evidence(result.case, names, records))
    told_of = seen_lines(result)
    lines += [*told_of, ""] if told_of else []
    rigged = bool(weighed) and (result.case.body is not None or result.case.rig is not None)
    if rigged:
        lines += [*_wrap(whole_line(weighed, unit), later="  "), ""]
    lines += [*_wrap(f"Case: {result.case.title}"), *asked_lines(result, made)]
    for scenario, names, records in grouped:
        lines += ["", *_heading(_of(names), scenario), *_tables(records, unit)]
    if rigged:
        lines += ["", *_heading("", ""), *whole_table(weighed, unit, lead=_has_lead(result))]
    if result.warnings:
        lines += ["", "Warnings"]
        for warning in result.warnings:
            lines += _wrap(told_in(warning, result.case.length_unit), "  ! ", "    ")
    lines.append("")
    for caution in CAUTIONS:
        lines += _wrap(caution)
    return "\n".join(line.rstrip() for line in lines) + "\n"


def _of(names: Sequence[str]) -> str:
    """Return what an answer is about, nothing for the whole lure."""
    return name_of(names) if names[0] else ""


def _wrap(text: str, first: str = "", later: str | None = None) -> list[str]:
    """Return text broken to the width, with indents."""
    return textwrap.wrap(
        clean(text),
        width(),
        initial_indent=first,
        subsequent_indent=first if later is None else later,
    )


def _has_lead(result: RunResult) -> bool:
    rig = result.case.rig
    return rig is not None and any(weight.material == "lead" for weight in rig.weights)


def _sentence(text: str) -> list[str]:
    """Return a sentence broken to the width, its indent kept and deepened on later lines."""
    indent = " " * (len(text) - len(text.lstrip()))
    return _wrap(text, indent, f"{indent}  ")


def _heading(part: str, scenario: str) -> list[str]:
    """Return the heading of a part's tables."""
    lines = _wrap(f"{part or 'whole lure'}, {scenario}" if scenario else part or "whole lure")
    return [*lines, "-" * max(map(len, lines))]


def _answer(name: str, records: Sequence[Record], unit: LengthUnit, rests: str | None) -> list[str]:
    """Return the answer lines of one part, none where it was not asked whether it moves."""
    told = about_part(name, records, unit, rests)
    if told is None:
        return []
    lines = _wrap(told[0], later="  ")
    for label, sentence in told[1].items():
        lines += _wrap(sentence, f"  {label}: ", " " * 12)
    return [*lines, ""]


def _tables(records: Sequence[Record], unit: LengthUnit) -> Iterator[str]:
    """Yield the lines of every table of one part, and of the records no table holds."""
    if is_cast(records):
        yield from reach_lines(records, unit)
        return
    if is_motion(records):
        yield from motion_tables(records, unit)
        records = [r for r in records if not told_of_motion(r)]
    else:
        modes = select(records, "natural_frequency")
        if modes:
            yield from _mode_table(modes, unit)
        at_speed = [r for r in records if set(r.at) == {"speed"}]
        yield from _response_tables(at_speed, unit)
        yield from hook_table(records, unit)
    others = [r for r in records if not _is_told(r, records)]
    if others:
        yield ""
    for record in others:
        where = ", ".join(
            f"at {speed_text(float(value), unit)}" if key == "speed" else f"{key} {value}"
            for key, value in record.at.items()
        )
        name = " ".join(filter(None, (words(record.quantity), where)))
        why = f", {record.basis}" if record.quantity == "model" else ""
        yield from _wrap(f"{name}: {show(record, unit)}{why}", "  ", "    ")


def _is_told(record: Record, records: Sequence[Record]) -> bool:
    """Return whether the answer or a table already holds a record."""
    if record.quantity in ("start_speed", "start_frequency"):
        starts = select(records, "start_speed")
        answered = bool(starts) and (starts[0].value is None) == (record.value is None)
        return answered and record is select(records, record.quantity)[0]
    if record.at.get("state") == "rest":
        return True
    if record.quantity in (*OF_SPEED, "verdict"):
        return set(record.at) == {"speed"}
    return record.quantity in ("doubt", "natural_frequency", *CLEARANCE, *RECIPE, *LEFT_TO_FILES)


def _mode_table(modes: Sequence[Record], unit: LengthUnit) -> Iterator[str]:
    """Yield the natural frequencies in water and air."""
    media = [m for m in ("water", "air") if select(modes, "natural_frequency", medium=m)]
    numbers = sorted({int(r.at["mode"]) for r in modes if "mode" in r.at})
    head = ["mode", *(f"in {medium} [Hz]" for medium in media)]
    rows, notes = [], _Notes()
    for mode in numbers:
        rows.append([str(mode), *(_cell(modes, notes, unit, mode=mode, medium=m) for m in media)])
    yield from _grid(head, rows)
    yield from notes.lines()


def _response_tables(records: Sequence[Record], unit: LengthUnit) -> Iterator[str]:
    """Yield the response against speed, three quantities to a table."""
    speeds = sorted({float(r.at["speed"]) for r in records})
    present = [q for q in OF_SPEED if select(records, q)]
    has_verdict = bool(select(records, "verdict"))
    blocks = [present[i : i + COLUMNS] for i in range(0, len(present), COLUMNS)]
    if has_verdict:
        blocks.insert(0, ["verdict"])
    notes = _Notes()
    for block in blocks:
        columns = [select(records, quantity) for quantity in block]
        factor, name = user_unit("m/s", unit)
        head = [f"[{name}]", *(_column_name(column, unit) for column in columns)]
        rows = [
            [f"{s * factor:.4g}", *(_cell(c, notes, unit, speed=s) for c in columns)]
            for s in speeds
        ]
        yield ""
        yield from _grid(head, rows)
    yield from notes.lines()


def _column_name(column: Sequence[Record], unit: LengthUnit) -> str:
    """Return the heading of a column with the user's unit."""
    quantity = column[0].quantity
    if quantity == "verdict":
        return "what it does"
    label = user_unit(column[0].unit, unit, largest_of(column))[1]
    return f"{words(quantity)} [{label}]" if label else words(quantity)


class _Notes:
    """Footnotes of a table: what is too long for a cell, each text once."""

    def __init__(self) -> None:
        self.texts: list[str] = []

    def mark(self, text: str) -> str:
        """Return the mark of a text, adding it if it is new."""
        if text not in self.texts:
            self.texts.append(text)
        return f"[{self.texts.index(text) + 1}]"

    def lines(self) -> Iterator[str]:
        """Yield the footnotes."""
        for index, text in enumerate(self.texts):
            yield from _wrap(text, f"  [{index + 1}] ", "      ")


def _cell(column: Sequence[Record], notes: _Notes, unit: LengthUnit, **at: float | str) -> str:
    """Return a cell of a column, a footnote mark where the value is missing or too long."""
    found = select(column, column[0].quantity, **at)
    if not found:
        return "-"
    record = found[0]
    if record.value is None:
        return f"none {notes.mark(told_in(record.reason, unit))}"
    scalar = isinstance(record.value, int | float)
    text = (
        band_numbers(record, unit, largest_of(column))[0] if scalar else clean(show(record, unit))
    )
    why = why_untrusted(record)
    if why is not None:
        return f"none {notes.mark(f'none to trust: {told_in(why, unit)}; computed {text}')}"
    return text if len(text) <= CELL else f"see {notes.mark(text)}"


def _grid(head: Sequence[str], rows: Sequence[Sequence[str]]) -> Iterator[str]:
    """Yield a table as lines: a narrow first column, then cells of one width."""
    for row in (head, *rows):
        first, *cells = row
        yield "  " + f"{first:<{FIRST_CELL}}" + "".join(f"{cell:<{CELL + 1}}" for cell in cells)
