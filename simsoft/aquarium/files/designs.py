"""A list of designs with their measurements: ``case,measurement`` rows of a CSV file."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from simsoft.aquarium.columns import MOST_ROWS
from simsoft.aquarium.files.read import Options, measure_files
from simsoft.aquarium.files.table import TextTable, read_table
from simsoft.aquarium.measured import Measured
from simsoft.case.files import check_paths
from simsoft.case.model import Case
from simsoft.case.read import load
from simsoft.core.errors import InputError


def is_list(table: TextTable) -> bool:
    """Return whether a table lists designs."""
    return {"case", "measurement"} <= set(table.columns)


def read_designs(
    path: str | Path, overrides: Sequence[str] = (), options: Options | None = None
) -> list[tuple[Case, list[Measured]]]:
    """Return every case of a list with its measurements, paths taken from the list's directory.

    Raises
    ------
    InputError
        The list, a case or a measurement cannot be read; all problems at once.
    """
    table = read_table(path)
    if not is_list(table):
        raise InputError(f"{table.name}: columns `case` and `measurement` are needed")
    if len(table) > MOST_ROWS["designs"]:
        raise InputError(
            f"{table.name}: has {len(table)} rows; at most {MOST_ROWS['designs']} of a list of "
            "designs are allowed"
        )
    files: dict[str, list[str]] = {}
    for i, (case, measurement) in enumerate(
        zip(table.columns["case"], table.columns["measurement"], strict=True)
    ):
        if not case or not measurement:
            raise InputError(
                f"{table.name}: line {table.lines[i]}: a case and a measurement are needed"
            )
        files.setdefault(case, []).append(measurement)
    here = Path(path).parent
    check_paths(here / name for row in files.items() for name in (row[0], *row[1]))
    result: list[tuple[Case, list[Measured]]] = []
    problems: list[str] = []
    for case, measurements in files.items():
        try:
            loaded = load(here / case, overrides)
            result.append((loaded, measure_files([here / m for m in measurements], options)))
        except InputError as error:
            problems += error.problems
    if problems:
        raise InputError(problems)
    return result
