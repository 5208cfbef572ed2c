"""``runs.csv``: under which conditions a clip, a track or a count was made, run by run."""

from __future__ import annotations

import math
from dataclasses import replace

from simsoft.aquarium.columns import LONGEST_WORD, PLAIN, SALINITY, SPEED
from simsoft.aquarium.files.table import TextTable, column, column_of_words
from simsoft.aquarium.files.track import ZERO_CELSIUS, view_in
from simsoft.aquarium.measured import At, Measured
from simsoft.case.wording import printable

SAID = ("speed_mps", "temp_C", "fps", "view", "case_id", "scale_mm_per_px", "point")
HOW = ("scale", "point")  # how a run is measured, no condition of what it measures
MADE = ("_track", "_overlay")  # what a file made from a clip is called, after the clip's own name


def run_conditions(table: TextTable) -> dict[str, At]:
    """Return the conditions of every run of ``runs.csv`` by its run_id.

    Beside them stand ``scale`` [m/px] and ``point``, which say how a run is measured.

    Raises
    ------
    InputError
        A number is impossible, or a view is none.
    """
    numbers = {
        "speed": (column(table, "speed", SPEED, needed=False), 1.0, 0.0),
        "temperature": (column(table, "temp_C", PLAIN, needed=False), 1.0, ZERO_CELSIUS),
        "salinity": (column(table, "salinity", SALINITY, needed=False), 1.0, 0.0),
        "scale": (column(table, "scale_mm_per_px", PLAIN, needed=False), 1e-3, 0.0),
    }
    said = {word: column_of_words(table, word) for word in ("view", "date", "case_id", "point")}
    result: dict[str, At] = {}
    for i, run in enumerate(column_of_words(table, "run_id")):
        at: At = {}
        for name, (cells, factor, offset) in numbers.items():
            if cells is not None and math.isfinite(cells[i]):
                at[name] = float(cells[i]) * factor + offset
        at |= {word: cells[i] for word, cells in said.items() if cells[i]}
        view_in(table, i, str(at.get("view", "")))
        result[run] = at
    return result


def run_name(path: str) -> str:
    """Return the run that a file is named after: no folder, no ending."""
    return printable(path.replace("\\", "/").rpartition("/")[2].rpartition(".")[0])[:LONGEST_WORD]


def run_of(path: str) -> str:
    """Return the run that a file is of; a track or an overlay made from a clip is of the clip's."""
    name = run_name(path)
    for end in MADE:
        name = name.removesuffix(end)
    return name


def said_of(runs: dict[str, At], path: str, run: str = "") -> At:
    """Return what ``runs.csv`` says of a file, by the run it names, else by its own name."""
    return next((runs[k] for k in (run, run_name(path), run_of(path)) if k in runs), {})


def with_run_conditions(measured: Measured, runs: dict[str, At], path: str) -> Measured:
    """Return a measurement with the conditions of its run, which the file's own override.

    A run that has no name takes that of its file, without folder and ending.
    """
    stem = run_name(path)
    key = next((k for k in (measured.run, stem, run_of(path)) if k in runs), None)
    run = stem if measured.run == printable(path) else measured.run
    if key is None:
        return replace(measured, run=run)
    told = {k: v for k, v in runs[key].items() if k not in HOW}
    return replace(measured, at={**told, **measured.at}, run=key)
