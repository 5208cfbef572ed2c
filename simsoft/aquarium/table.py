"""Comma-separated files of a test bench: encodings, comments, units in column names, gaps.

A column is called ``name_unit`` (``t_s``, ``x_mm``); whatever unit it has, it is read to SI.
Lines that start with ``#`` are comments; ``# key = value`` ones are kept as the file's header.
"""

from __future__ import annotations

import csv
import math
import re
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import numpy.typing as npt

from simsoft.case.files import decode, read_bytes
from simsoft.case.wording import given, printable, suggestion
from simsoft.errors import InputError

Array = npt.NDArray[np.float64]

LARGEST = 60_000_000  # bytes, an hour of a track at 240 rows a second
TIME = {"s": 1.0, "ms": 1e-3, "us": 1e-6, "min": 60.0}
LENGTH = {"mm": 1e-3, "m": 1.0, "cm": 1e-2, "in": 0.0254, "inch": 0.0254, "um": 1e-6}
MASS = {"g": 1e-3, "kg": 1.0, "mg": 1e-6, "oz": 0.028349523125}
SPEED = {"mps": 1.0, "cmps": 1e-2, "mmps": 1e-3, "inps": 0.0254, "ftps": 0.3048}
ANGLE = {"deg": 1.0}
SALINITY = {"gkg": 1e-3}
DENSITY = {"kgm3": 1.0, "gcm3": 1e3}
PLAIN = {"": 1.0}
EMPTY = {"", "nan", "na", "n/a", "-", "--", "none", "null"}
PIXELS = "px"
_HEADER = re.compile(r"([A-Za-z][\w%/^.-]*)\s*[=:]\s*([^,;\s][^,;\t]*)")
_NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?")
_DECIMAL_COMMA = re.compile(r"[+-]?\d+,\d+([eE][+-]?\d+)?")


@dataclass(frozen=True)
class Table:
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


def read_table(path: str | Path) -> Table:
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


def parse_table(text: str, shown: str) -> Table:
    """Return the table of a CSV text; ``shown`` stands for the file in messages."""
    header: dict[str, str] = {}
    kept: list[tuple[int, str]] = []
    for number, line in enumerate(text.splitlines(), 1):
        stripped = line.strip().strip(",;\t")
        if stripped.startswith("#") or stripped.startswith('"#'):
            header |= {k: v.strip().strip('"') for k, v in _HEADER.findall(stripped.strip('"#'))}
        elif stripped:
            kept.append((number, line))
    if not kept:
        raise InputError(f"{shown}: has no rows; a line of column names such as t_s,x_mm is needed")
    first = kept[0][1]
    separator = max(",\t;", key=first.count)
    names = [cell.strip() for cell in next(csv.reader([first], delimiter=separator))]
    while names and not names[-1]:
        names.pop()
    _check_names(names, shown, kept[0][0])
    rows: list[list[str]] = []
    for number, line in kept[1:]:
        rows.append(_cells(line, separator, len(names), shown, number))
    columns = {name: tuple(row[i] for row in rows) for i, name in enumerate(names)}
    return Table(shown, header, columns, tuple(number for number, _ in kept[1:]))


def _check_names(names: list[str], shown: str, line: int) -> None:
    if all(_NUMBER.fullmatch(name) for name in names):
        raise InputError(
            f"{shown}: line {line}: holds numbers where the column names are needed, "
            "such as t_s,x_mm"
        )
    twice = sorted({name for name in names if names.count(name) > 1})
    if twice:
        raise InputError(f"{shown}: line {line}: column {given(twice[0])} appears twice")


def _cells(line: str, separator: str, count: int, shown: str, number: int) -> list[str]:
    try:
        cells = [cell.strip() for cell in next(csv.reader([line], delimiter=separator))]
    except csv.Error as problem:
        raise InputError(f"{shown}: line {number}: cannot be read; {problem}") from None
    while len(cells) > count and not cells[-1]:
        cells.pop()
    if len(cells) > count:
        hint = "; is there a decimal comma? a point is needed" if separator == "," else ""
        raise InputError(
            f"{shown}: line {number}: has {len(cells)} cells under {count} column names{hint}"
        )
    return cells + [""] * (count - len(cells))


def column(
    table: Table,
    name: str,
    units: dict[str, float],
    *,
    needed: bool = True,
    scale: float | None = None,
) -> Array | None:
    """Return a column in SI; a gap is NaN.

    Parameters
    ----------
    table : Table
    name : str, without the unit
    units : dict of unit suffix to its factor to SI
    needed : bool, False returns None where there is no such column
    scale : float or None [m/px]; pixels are allowed where it is given

    Raises
    ------
    InputError
        The column is missing, has no unit or a wrong one, or holds what is no number.
    """
    allowed = dict(units)
    if scale is not None and units is LENGTH:
        allowed[PIXELS] = scale
    for unit, factor in allowed.items():
        full = f"{name}_{unit}" if unit else name
        if full in table.columns:
            return _numbers(table, full) * factor
    first = next(iter(units))
    wanted = f"{name}_{first}" if first else name
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


def _numbers(table: Table, name: str) -> Array:
    values = np.full(len(table), math.nan)
    for i, cell in enumerate(table.columns[name]):
        if cell.lower() in EMPTY:
            continue
        values[i] = _number(cell, table, i, name)
    return values


def _number(cell: str, table: Table, row: int, name: str) -> float:
    where = f"{table.name}: line {table.lines[row]}: {name} is {given(cell)}"
    if _DECIMAL_COMMA.fullmatch(cell):
        raise InputError(f"{where}; it has a decimal comma where a point is needed")
    if not _NUMBER.fullmatch(cell):
        raise InputError(f"{where}; a number is needed, or nothing for a gap")
    value = float(cell)
    if not math.isfinite(value):
        raise InputError(f"{where}; a finite number is needed")
    return value


def words(table: Table, name: str, default: str = "") -> tuple[str, ...]:
    """Return a column of text, or ``default`` for every row where there is none."""
    return table.columns.get(name, (default,) * len(table))


def header_number(
    table: Table, name: str, units: dict[str, float], default: float | None = None
) -> float | None:
    """Return a ``# name_unit = number`` of the comment lines in SI, or the default.

    Raises
    ------
    InputError
        The value is no finite number.
    """
    for unit, factor in units.items():
        full = f"{name}_{unit}" if unit else name
        if full in table.header:
            cell = table.header[full]
            if not _NUMBER.fullmatch(cell) or not math.isfinite(float(cell)):
                raise InputError(f"{table.name}: `# {full}` is {given(cell)}; a number is needed")
            return float(cell) * factor
    return default


def rising_time(table: Table) -> Array:
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
