"""The finished table of a sweep: designs, their answers by column, and why some have none."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from simsoft.core.arrays import Array
from simsoft.design.sweep.row import DONE, Cell, Row, cell_record
from simsoft.results.record import UNTRUSTED, Record

WATER = "water_temperature"  # condition under which the runs in other water are filed


@dataclass
class Column:
    """One scalar answer of every design.

    Attributes
    ----------
    name : str, JSON of scenario, part, quantity, unit and conditions
    basis : str, of the first design that has it
    value : array (designs,) of numbers, NaN where there is none, or list of words
    low, high : array (designs,) or None where no design has a band
    reasons : dict of design index to the reason why there is no value
    doubts : dict of design index to the reason why its value is not to be trusted
    """

    name: str
    basis: str
    value: Array | list[str]
    low: Array | None = None
    high: Array | None = None
    reasons: dict[int, str] = field(default_factory=dict)
    doubts: dict[int, str] = field(default_factory=dict)

    def basis_of(self, index: int) -> str:
        """Return the basis of one design's value, with what is doubted of it."""
        why = self.doubts.get(index)
        return self.basis if why is None else f"{self.basis}; {UNTRUSTED}: {why}"

    @property
    def parts(self) -> tuple[str, str, str, str, dict[str, Any]]:
        """Scenario, part, quantity, unit, conditions."""
        scenario, part, quantity, unit, at = json.loads(self.name)
        return scenario, part, quantity, unit, at

    @property
    def words(self) -> bool:
        """Whether the column holds words instead of numbers."""
        return isinstance(self.value, list)

    @property
    def label(self) -> str:
        """A short name that is unique in a table, without slashes."""
        scenario, part, quantity, _, at = self.parts
        head = ".".join(piece for piece in (scenario, part, quantity) if piece)
        shown = ",".join(f"{key}={_short(value)}" for key, value in at.items())
        return (f"{head}@{shown}" if shown else head).replace("/", "_")


def _short(value: Any) -> str:
    return f"{value:.6g}" if isinstance(value, float) else str(value)


@dataclass
class SweepTable:
    """Everything a sweep found.

    Attributes
    ----------
    title : str
    text : str, the base case as read
    plan : dict, axes, links, sample, seed and mode, as plain data
    paths : tuple of str, varied keys
    units : tuple of str, their units as the user wrote them
    values : list of tuple of str, one entry an axis, one row a design
    status, reason : list of str, one a design
    columns : dict of Column by name
    """

    title: str
    text: str
    plan: dict[str, Any]
    paths: tuple[str, ...]
    units: tuple[str, ...]
    values: list[tuple[str, ...]]
    status: list[str]
    reason: list[str]
    columns: dict[str, Column]

    @property
    def count(self) -> int:
        """Number of designs."""
        return len(self.values)

    def records(self, index: int) -> list[Record]:
        """Return the records of one design."""
        found = []
        for column in self.columns.values():
            cell = cell_at(column, index)
            if cell is not None:
                found.append(cell_record(cell))
        return found


def cell_at(column: Column, index: int) -> Cell | None:
    """Return the cell of a design in a column, None where its run said nothing there."""
    reason, basis = column.reasons.get(index), column.basis_of(index)
    if isinstance(column.value, list):
        word = column.value[index]
        if not word and reason is None:
            return None
        return Cell(column.name, word or None, None, None, reason, basis)
    number = float(column.value[index])
    if np.isnan(number):
        return None if reason is None else Cell(column.name, None, None, None, reason, basis)

    def end(array: Array | None) -> float | None:
        found = float("nan") if array is None else float(array[index])
        return None if np.isnan(found) else found

    return Cell(column.name, number, end(column.low), end(column.high), None, basis)


def columns_of(
    rows: Iterable[Sequence[tuple[Row, float | None]]], count: int
) -> tuple[dict[str, Column], list[str], list[str]]:
    """Return columns, status and reason from the rows of every design, in the designs' order.

    ``rows`` yields, for each design, its runs with the water temperature they are filed under.
    """
    columns: dict[str, Column] = {}
    status: list[str] = []
    reason: list[str] = []
    for index, runs in enumerate(rows):
        worst = next((row for row, _ in runs if row.status != DONE), None)
        status.append(DONE if worst is None else worst.status)
        reason.append("" if worst is None else worst.reason)
        for row, temperature in runs:
            for cell in _filed(row, temperature):
                _put(columns, cell, index, count)
    return columns, status, reason


def filed_records(rows: Sequence[Row], temperatures: Sequence[float | None]) -> list[Record]:
    """Return the records of a design's runs, each filed under its water temperature."""
    return [
        cell_record(cell)
        for row, temperature in zip(rows, temperatures, strict=True)
        for cell in _filed(row, temperature)
    ]


def _filed(row: Row, temperature: float | None) -> Iterator[Cell]:
    for cell in row.cells:
        if temperature is None:
            yield cell
            continue
        scenario, part, quantity, unit, at = json.loads(cell.column)
        at[WATER] = temperature
        yield cell._replace(column=json.dumps([scenario, part, quantity, unit, at]))


def _put(columns: dict[str, Column], cell: Cell, index: int, count: int) -> None:
    word = isinstance(cell.value, str)
    column = columns.get(cell.column)
    basis, _, doubt = cell.basis.partition(f"; {UNTRUSTED}: ")
    if column is None:
        value: Array | list[str] = [""] * count if word else np.full(count, np.nan)
        column = columns[cell.column] = Column(cell.column, basis, value)
    if doubt:
        # of this design alone: it says nothing of the others
        column.doubts[index] = sys.intern(doubt)
    if cell.value is None:
        column.reasons[index] = cell.reason or "no reason was kept"
        return
    if word and not isinstance(column.value, list):
        # the first designs had no value, so that the column was taken for numbers
        column.value = [""] * count
    if isinstance(column.value, list):
        # few different words in many designs: each is held once
        column.value[index] = sys.intern(str(cell.value))
        return
    column.value[index] = cell.value
    for name, end in (("low", cell.low), ("high", cell.high)):
        if end is not None:
            array = getattr(column, name)
            if array is None:
                array = np.full(count, np.nan)
                setattr(column, name, array)
            array[index] = end
