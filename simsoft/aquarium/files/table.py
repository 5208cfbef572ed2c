"""Comma-separated files of a test bench: encodings, comments, units in column names, gaps.

A column is called ``name_unit`` (``t_s``, ``x_mm``); whatever unit it has, it is read to SI.
Lines that start with ``#`` are comments; ``# key = value`` ones are kept as the file's header.
"""

from __future__ import annotations

import csv
import math
import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from simsoft.aquarium.columns import (
    LENGTH,
    LONGEST_CELL,
    LONGEST_LINE,
    LONGEST_WORD,
    MOST_COLUMNS,
    MOST_LINES,
    PIXELS,
    POSSIBLE,
    TIME,
    Interval,
)
from simsoft.case.files import decode, read_bytes
from simsoft.case.wording import given, printable, suggestion
from simsoft.core.arrays import Array
from simsoft.core.errors import InputError

LARGEST = 20_000_000  # bytes
EMPTY = {"", "nan", "na", "n/a", "-", "--", "none", "null"}
# No step back (`*+`), and none starts inside a word: the time taken grows with the length alone.
_HEADER = re.compile(
    r"(?<![\w%/^.-])[\d%/^._-]*+([A-Za-z][\w%/^.-]*+)\s*+[=:]\s*+([^,;\s][^,;\t]*+)"
)
_SHIELDED = "=+-@#'\t"  # a spreadsheet takes such a cell for a formula, a reader for a comment
_NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?")
_DECIMAL_COMMA = re.compile(r"[+-]?\d+,\d+([eE][+-]?\d+)?")


@dataclass(frozen=True)
class TextTable:
    """A file as read, cells still text.

    Attributes
    ----------
    name : str, the file as the user gave it, for messages
    header : dict, ``key = value`` pairs of the comment lines
    columns : dict of column name to its cells
    lines : tuple of int, line of the file for every row
    """

    name: str
    header: dict[str, str] = field(default_factory=dict)
    columns: dict[str, tuple[str, ...]] = field(default_factory=dict)
    lines: tuple[int, ...] = ()

    def __len__(self) -> int:
        return len(self.lines)


def read_table(path: str | Path) -> TextTable:
    """Return the table of a CSV file.

    UTF-8 with or without a byte-order mark, and UTF-16 with one, are read. Columns may be
    parted by commas, tabs or semicolons; numbers need a decimal point.

    Raises
    ------
    InputError
        One line that names the file, the line and what is needed.
    """
    shown = printable(str(path))
    data = read_bytes(path, "a CSV file", LARGEST)
    if not data:
        raise InputError(f"{shown}: is empty (0 bytes); a CSV file is needed")
    return parse_table(decode(data, shown, "a CSV", wide=True), shown)


def parse_table(text: str, shown: str) -> TextTable:
    """Return the table of a CSV text; ``shown`` stands for the file in messages.

    Raises
    ------
    InputError
        The text is too long, holds invisible characters, or is no table.
    """
    lines = _lines(text, shown)
    header: dict[str, str] = {}
    kept: list[tuple[int, str]] = []
    for number, line in enumerate(lines, 1):
        stripped = line.strip().strip(",;\t")
        if stripped.startswith(("#", '"#')):
            header |= {k: _plain(v).strip('"') for k, v in _HEADER.findall(stripped.strip('"#'))}
        elif stripped:
            kept.append((number, line))
    if not kept:
        raise InputError(f"{shown}: has no rows; a line of column names such as t_s,x_mm is needed")
    first = kept[0][1]
    separator = max(",\t;", key=first.count)
    names = _split(first, separator, shown, kept[0][0])
    while names and not names[-1]:
        names.pop()
    _check_names(names, shown, kept[0][0])
    if len(kept) == 1:
        raise InputError(f"{shown}: has no rows below the column names")
    rows = [_cells(line, separator, len(names), shown, number) for number, line in kept[1:]]
    columns = {name: tuple(row[i] for row in rows) for i, name in enumerate(names)}
    return TextTable(shown, header, columns, tuple(number for number, _ in kept[1:]))


def _lines(text: str, shown: str) -> list[str]:
    """Return the lines of a text that is short enough and shows what it holds."""
    count = text.count("\n") + text.count("\r")
    if count > 2 * MOST_LINES:
        raise InputError(f"{shown}: has {count} lines; at most {MOST_LINES} are allowed")
    hidden = [c for c in set(text) if not _visible(c)]
    if hidden:
        place = min(text.index(c) for c in hidden)
        where = len(text[: place + 1].replace("\r\n", "\n").splitlines())
        raise InputError(
            f"{shown}: line {where}: holds an invisible character (U+{ord(text[place]):04X}); "
            "remove it"
        )
    lines = text.splitlines()
    if len(lines) > MOST_LINES:
        raise InputError(
            f"{shown}: has {len(lines)} lines; at most {MOST_LINES} are allowed: cut the file "
            "into runs"
        )
    for number, line in enumerate(lines, 1):
        if len(line) > LONGEST_LINE:
            raise InputError(
                f"{shown}: line {number}: has {len(line)} characters; at most {LONGEST_LINE} are "
                "allowed"
            )
    return lines


def _visible(character: str) -> bool:
    """Tell whether a character shows as what it is, a line's end and a tab included."""
    kind = unicodedata.category(character)
    return character in "\n\r\t" or kind == "Zs" or kind[0] not in "CZ"


def _plain(text: str) -> str:
    """Return a text without blanks at its ends; tabs and wide blanks inside become plain ones."""
    return text.strip() if text.isprintable() else " ".join(text.split())


def _check_names(names: list[str], shown: str, line: int) -> None:
    if len(names) > MOST_COLUMNS:
        raise InputError(
            f"{shown}: line {line}: has {len(names)} columns; at most {MOST_COLUMNS} are allowed"
        )
    if all(_NUMBER.fullmatch(name) for name in names):
        raise InputError(
            f"{shown}: line {line}: holds numbers where the column names are needed, "
            "such as t_s,x_mm"
        )
    twice = sorted({name for name in names if names.count(name) > 1})
    if twice:
        raise InputError(f"{shown}: line {line}: column {given(twice[0])} appears twice")


def _split(line: str, separator: str, shown: str, number: int) -> list[str]:
    try:
        cells = [_plain(cell) for cell in next(csv.reader([line], delimiter=separator))]
    except csv.Error as problem:
        raise InputError(f"{shown}: line {number}: cannot be read; {problem}") from None
    longest = max(map(len, cells))
    if longest > LONGEST_CELL:
        raise InputError(
            f"{shown}: line {number}: has a cell of {longest} characters; at most {LONGEST_CELL} "
            "are allowed"
        )
    return cells


def _cells(line: str, separator: str, count: int, shown: str, number: int) -> list[str]:
    cells = _split(line, separator, shown, number)
    while len(cells) > count and not cells[-1]:
        cells.pop()
    if len(cells) > count:
        hint = "; is there a decimal comma? a point is needed" if separator == "," else ""
        raise InputError(
            f"{shown}: line {number}: has {len(cells)} cells under {count} column names{hint}"
        )
    return cells + [""] * (count - len(cells))


def column(
    table: TextTable,
    name: str,
    units: dict[str, float],
    *,
    needed: bool = True,
    scale: float | None = None,
) -> Array | None:
    """Return a column in SI; a gap is NaN.

    Parameters
    ----------
    table : TextTable
    name : str, without the unit
    units : dict of unit suffix to its factor to SI
    needed : bool, False returns None where there is no such column
    scale : float or None [m/px]; pixels are allowed where it is given

    Raises
    ------
    InputError
        The column is missing, has no unit or a wrong one, or holds what is no number or is
        impossible (the column table in `simsoft.aquarium.columns`).
    """
    first = next(iter(units))
    wanted = f"{name}_{first}" if first else name
    allowed = dict(units)
    if scale is not None and units is LENGTH:
        allowed[PIXELS] = scale
    for unit, factor in allowed.items():
        full = f"{name}_{unit}" if unit else name
        if full in table.columns:
            own = factor / units.get(first, 1.0)
            return _possible(table, full, wanted, own) * factor
    if units is LENGTH and f"{name}_{PIXELS}" in table.columns:
        raise InputError(
            f"{table.name}: column `{name}_{PIXELS}` is in pixels; a scale is needed, "
            "`# scale_mm_per_px = 0.25` in the file or --scale"
        )
    if not needed:
        return None
    odd = [c for c in table.columns if c == name or c.rpartition("_")[0] == name]
    if odd:
        choice = ", ".join(f"`{name}_{unit}`" if unit else f"`{name}`" for unit in units)
        raise InputError(
            f"{table.name}: column {given(odd[0])} has no unit that can be read; "
            f"allowed are {choice}"
        )
    near = suggestion(wanted, table.columns)
    have = ", ".join(given(c)[1:-1] for c in list(table.columns)[:8])
    raise InputError(f"{table.name}: there is no column `{wanted}`{near}; columns are {have}")


def _numbers(table: TextTable, name: str) -> Array:
    values = np.full(len(table), math.nan)
    for i, cell in enumerate(table.columns[name]):
        if cell.lower() in EMPTY:
            continue
        values[i] = _number(cell, table, i, name)
    return values


def _number(cell: str, table: TextTable, row: int, name: str) -> float:
    where = f"{table.name}: line {table.lines[row]}: {name} is {given(cell)}"
    if _DECIMAL_COMMA.fullmatch(cell):
        raise InputError(f"{where}; it has a decimal comma where a point is needed")
    if not _NUMBER.fullmatch(cell):
        raise InputError(f"{where}; a number is needed, or nothing for a gap")
    value = float(cell)
    if not math.isfinite(value):
        raise InputError(f"{where}; a finite number is needed")
    return value


def _possible(table: TextTable, full: str, wanted: str, own: float) -> Array:
    """Return the numbers of a column, in its own unit, if all of them are possible.

    Parameters
    ----------
    table : TextTable
    full, wanted : str, name of the column in the file and in the column table
    own : float, the column's unit in that of the column table
    """
    values = _numbers(table, full)
    span = POSSIBLE.get(wanted)
    if span is not None:
        out = (values < span.low / own) | (values > span.high / own)
        if out.any():
            row = int(np.argmax(out))
            raise InputError(
                f"{table.name}: line {table.lines[row]}: {full} is "
                f"{given(table.columns[full][row])}; {_range(span, own)} is allowed"
            )
    return values


def _range(span: Interval, own: float) -> str:
    return f"{span.low / own:.6g} to {span.high / own:.6g}"


def column_of_words(table: TextTable, name: str, default: str = "") -> tuple[str, ...]:
    """Return a column of text, or ``default`` for every row where there is none."""
    cells = table.columns.get(name)
    if cells is None:
        return (default,) * len(table)
    found = tuple(map(bare, cells))
    for line, word in zip(table.lines, found, strict=True):
        if len(word) > LONGEST_WORD:
            raise InputError(
                f"{table.name}: line {line}: {name} has {len(word)} characters; at most "
                f"{LONGEST_WORD} are allowed"
            )
    return found


def shielded(text: str) -> str:
    """Return a text cell as no spreadsheet takes it for a formula and no reader for a comment."""
    return f"'{text}" if text[:1] and text[0] in _SHIELDED else text


def bare(cell: str) -> str:
    """Return the text of a cell that `shielded` may have written."""
    return cell[1:] if cell[:1] == "'" and cell[1:2] and cell[1] in _SHIELDED else cell


def header_number(
    table: TextTable, name: str, units: dict[str, float], default: float | None = None
) -> float | None:
    """Return a ``# name_unit = number`` of the comment lines in SI, or the default.

    Raises
    ------
    InputError
        The value is no finite number, or impossible.
    """
    first = next(iter(units))
    span = POSSIBLE.get(f"{name}_{first}" if first else name)
    for unit, factor in units.items():
        full = f"{name}_{unit}" if unit else name
        if full in table.header:
            cell = table.header[full]
            if not _NUMBER.fullmatch(cell) or not math.isfinite(float(cell)):
                raise InputError(f"{table.name}: `# {full}` is {given(cell)}; a number is needed")
            value, own = float(cell), factor / units[first]
            if span is not None and not span.low <= value * own <= span.high:
                raise InputError(
                    f"{table.name}: `# {full}` is {given(cell)}; {_range(span, own)} is allowed"
                )
            return value * factor
    return default


def header_words(table: TextTable, names: Iterable[str]) -> dict[str, str]:
    """Return those of the ``# name = word`` of the comment lines that are there."""
    found = {name: bare(table.header[name]) for name in names if name in table.header}
    for name, word in found.items():
        if len(word) > LONGEST_WORD:
            raise InputError(
                f"{table.name}: `# {name}` has {len(word)} characters; at most {LONGEST_WORD} are "
                "allowed"
            )
    return found


def rising_time(table: TextTable) -> Array:
    """Return the times [s] of a track, which must increase.

    Raises
    ------
    InputError
        Times are missing or fall; the line is named.
    """
    time = column(table, "t", TIME)
    if time is None or len(time) == 0:
        raise InputError(f"{table.name}: has no rows below the column names")
    if not np.isfinite(time).all():
        row = int(np.argmax(~np.isfinite(time)))
        raise InputError(f"{table.name}: line {table.lines[row]}: has no time; every row needs one")
    step = np.diff(time)
    if len(step) and (step <= 0.0).any():
        row = int(np.argmax(step <= 0.0)) + 1
        what = (
            "time runs backwards" if (step <= 0.0).all() else "time does not increase from the row"
        )
        before = "" if (step <= 0.0).all() else " before"
        raise InputError(
            f"{table.name}: line {table.lines[row]}: {what}{before} "
            f"({time[row]:g} s after {time[row - 1]:g} s); sort the rows by rising time"
        )
    return time
