"""The records as a table that a spreadsheet opens: one number a row, its unit beside it."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Sequence

from simsoft.core.cells import text_cell
from simsoft.results.record import Record, Value

FIXED = ("scenario", "part", "quantity", "component", "value", "low", "high", "unit")
LAST = ("basis", "reason")
AXES = "xyz"


def as_csv(records: Sequence[Record]) -> str:
    """Return records as CSV: SI units, angles in degrees, conditions in columns of their own.

    Returns
    -------
    text : str
        A vector takes a row for each component, named x, y, z or by number.
    """
    conditions = sorted({key for record in records for key in record.at})
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow([*FIXED, *(f"at_{key}" for key in conditions), *LAST])
    for record in records:
        at = [_cell(record.at.get(key)) for key in conditions]
        names = [_cell(x) for x in (record.scenario, record.part, record.quantity)]
        last = [_cell(record.basis), _cell(record.reason)]
        for component, *numbers in _rows(record):
            cells = [_cell(number) for number in numbers]
            writer.writerow([*names, component, *cells, record.unit, *at, *last])
    return stream.getvalue()


def rows_csv(head: Sequence[str], rows: Sequence[Sequence[Value]]) -> str:
    """Return any table as CSV, cells as `as_csv` writes them."""
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(head)
    writer.writerows([_cell(cell) for cell in row] for row in rows)
    return stream.getvalue()


def _rows(record: Record) -> Iterator[tuple[str, Value, Value, Value]]:
    """Yield component, value, low and high of every number of a record."""
    if not isinstance(record.value, tuple):
        yield "", record.value, record.low, record.high
        return
    count = len(record.value)
    ends = [end if isinstance(end, tuple) else (None,) * count for end in (record.low, record.high)]
    for number, value in enumerate(record.value):
        name = AXES[number] if count == len(AXES) else str(number + 1)
        yield name, value, ends[0][number], ends[1][number]


def _cell(value: float | int | str | tuple[float, ...] | None) -> str:
    """Return a cell: a number with all its digits, a text that no spreadsheet reckons with."""
    if value is None:
        return ""
    if isinstance(value, str):
        return text_cell(value)
    return repr(value)
