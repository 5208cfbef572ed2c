"""The kept tables of this folder, and tables as text."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Sequence
from pathlib import Path

import numpy as np

HERE = Path(__file__).parent
MOVES = 0.1  # [D] stroke from which a tail counts as moving
QUANTILES = (0.1, 0.5, 0.9)

Table = dict[str, dict[str, str]]


def rows(name: str) -> Table:
    """Return the rows of a table of this folder by their run."""
    with (HERE / name).open(encoding="utf-8") as file:
        return {row["run"]: row for row in csv.DictReader(file)}


def best(results: Table) -> Table:
    """Return the rows with those of tails that were run on 36 cells too taken from there."""
    fine = {"offset-6": "grid-deep-36", "offset-0": "grid-centred-36", "thick-1.5": "grid-thin-36"}
    return {run: results.get(f"fine-{run}", results.get(fine.get(run, ""), row))
            for run, row in results.items()}  # fmt: skip


def over_coarse(results: Table, kind: str = "bait") -> dict[str, np.ndarray]:
    """Return what 36 cells find over what 24 find, of those that beat on both, by column.

    ``kind`` is 'bait' or 'tail': baits alone have a sway and a heave in the table.
    """
    truth = best(results)
    finer = [(row, truth[run]) for run, row in results.items() if truth[run] is not row]
    pairs = [(row, fine) for row, fine in finer if bool(fine["sway_d"]) == (kind == "bait")]
    both = [(a, b) for a, b in pairs if min(value(r["stroke_d"]) for r in (a, b)) > MOVES]
    found = {}
    for column in ("strouhal", "stroke_d", "drag"):
        over = np.array([value(b[column]) / value(a[column]) for a, b in both])
        found[column] = over[np.isfinite(over) & (over > 0.0)]
    return found


def grid_factors(results: Table, kind: str = "bait") -> dict[str, float]:
    """Return the medians of what 36 cells find over what 24 find, by column."""
    return {name: float(np.median(over)) for name, over in over_coarse(results, kind).items()}


def value(text: str | None) -> float:
    """Return a number of a table, NaN where there is none."""
    return float(text) if text else float("nan")


def lines(head: Sequence[str], body: Iterable[Sequence[object]]) -> str:
    """Return a table."""
    text = ["| " + " | ".join(head) + " |", "|" + " --- |" * len(head)]
    return "\n".join([*text, *("| " + " | ".join(str(c) for c in row) + " |" for row in body)])
