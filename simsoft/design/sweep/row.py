"""Rows: the scalar answers of one run, with what identifies the run."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, NamedTuple

from simsoft.results.record import Record

DONE, FAILED, REFUSED = "done", "failed", "refused"
# conditions that are answers themselves, and records that only explain others
LEFT_OUT = ("doubt", "discretisation_error")


class Cell(NamedTuple):
    """One scalar answer.

    Attributes
    ----------
    column : str, JSON of scenario, part, quantity, unit and conditions; names the column
    value : float, str or None
    low, high : float or None
    reason : str or None, why there is no value
    basis : str
    """

    column: str
    value: float | str | None
    low: float | None
    high: float | None
    reason: str | None
    basis: str


@dataclass(frozen=True)
class Row:
    """What one run gave.

    Attributes
    ----------
    key : str, digest of everything the answer depends on
    status : 'done', 'failed' or 'refused' (the case itself is not possible)
    reason : str, why it is not done
    cells : tuple of Cell
    """

    key: str
    status: str
    reason: str = ""
    cells: tuple[Cell, ...] = ()


def column_of(record: Record, occurrence: int = 0) -> str:
    """Return the name of a record's column, the same in every run."""
    at: dict[str, Any] = dict(sorted(record.at.items()))
    if occurrence:
        at["occurrence"] = occurrence + 1
    return json.dumps([record.scenario, record.part, record.quantity, record.unit, at])


def cells(records: Iterable[Record]) -> tuple[Cell, ...]:
    """Return the scalar records (numbers and words) as cells; vectors are left out."""
    found: dict[str, Cell] = {}
    seen: dict[str, int] = {}
    for record in records:
        if record.quantity in LEFT_OUT or isinstance(record.value, tuple):
            continue
        plain = column_of(record)
        name = column_of(record, seen.get(plain, 0))
        seen[plain] = seen.get(plain, 0) + 1
        low = record.low if isinstance(record.low, float) else None
        high = record.high if isinstance(record.high, float) else None
        found[name] = Cell(name, record.value, low, high, record.reason, record.basis)
    return tuple(found.values())


def cell_record(cell: Cell) -> Record:
    """Return the record of a cell."""
    scenario, part, quantity, unit, at = json.loads(cell.column)
    return Record(
        scenario,
        part,
        quantity,
        cell.value,
        cell.low,
        cell.high,
        unit,
        cell.basis,
        at,
        cell.reason or ("no reason was kept" if cell.value is None else None),
    )


def to_text(row: Row) -> str:
    """Return a row as JSON; floats keep every bit."""
    return json.dumps([row.key, row.status, row.reason, [list(cell) for cell in row.cells]])


def from_text(text: str) -> Row:
    """Return the row of a JSON text."""
    key, status, reason, found = json.loads(text)
    return Row(key, status, reason, tuple(Cell(*cell) for cell in found))
