"""Share of samples that meet the brief over two varied keys, every cell by forward runs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product
from pathlib import Path

from simsoft.core.arrays import Array
from simsoft.core.errors import InputError
from simsoft.design.candidates import around
from simsoft.design.sweep.axis import Axis, read_axis
from simsoft.design.sweep.run import Progress, Runner, solve_tasks
from simsoft.design.sweep.task import Task
from simsoft.design.tolerance import Probability, Trial, judge_rows, points, probability, tasks_at

MOST_CELLS = 400
CELL_SAMPLES = 64  # at most in a cell: an interval of 12 points either side at one half


@dataclass(frozen=True)
class ChanceMap:
    """How often the brief is met over two keys.

    Attributes
    ----------
    paths : pair of str, key across and key up
    across, up : tuple of str, values as they stand in the case
    chance : rows by ``up`` of Probability by ``across``, None where the case refuses the values
    refused : tuple of str, why, each reason once
    """

    paths: tuple[str, str]
    across: tuple[str, ...]
    up: tuple[str, ...]
    chance: tuple[tuple[Probability | None, ...], ...]
    refused: tuple[str, ...]


def map_axes(varied: Sequence[str]) -> tuple[Axis, Axis] | None:
    """Return the two axes of ``--vary`` options, None where there are none.

    Raises
    ------
    InputError
        There are not two, one is an interval without values, or the cells are too many.
    """
    if not varied:
        return None
    axes = [read_axis(text) for text in varied]
    if len(axes) != 2 or axes[0].path == axes[-1].path:
        raise InputError(f"--vary: {len(axes)} given; a map runs over two different keys")
    for axis in axes:
        if not axis.values:
            raise InputError(
                f"--vary {axis.path}: a map needs values; FROM:TO:STEP or a list A,B,C is allowed"
            )
    cells = len(axes[0].values) * len(axes[1].values)
    if cells > MOST_CELLS:
        raise InputError(f"--vary: {cells} cells; at most {MOST_CELLS} are allowed")
    return axes[0], axes[1]


def chance_map(
    trial: Trial,
    axes: tuple[Axis, Axis],
    samples: int,
    seed: int,
    directory: Path,
    runner: Runner,
    progress: Progress | None = None,
) -> ChanceMap:
    """Return how often the brief is met in every cell; all cells have the same sample.

    Parameters
    ----------
    trial : Trial
    axes : pair of Axis, across and up
    samples : int, forward runs of each cell, at most ``CELL_SAMPLES``
    """
    across, up = (axis.values for axis in axes)
    cells: list[tuple[Trial, Array] | None] = []
    tasks: list[list[Task]] = []
    refused: dict[str, None] = {}
    for y, x in product(up, across):
        design = (f"{axes[0].path}={x}", f"{axes[1].path}={y}")
        try:
            here = around(trial, design)
        except InputError as error:
            refused[error.problems[0]] = None
            cells.append(None)
            continue
        shares = points(here, min(samples, CELL_SAMPLES), seed)
        cells.append((here, shares))
        tasks += [tasks_at(here, row, design) for row in shares]
    rows = iter(solve_tasks(trial.base, tasks, directory, runner, progress))
    found = [
        None if cell is None
        else probability([judge_rows(cell[0], next(rows), draw).passes for draw in cell[1]])
        for cell in cells
    ]  # fmt: skip
    table = tuple(tuple(found[i : i + len(across)]) for i in range(0, len(found), len(across)))
    return ChanceMap((axes[0].path, axes[1].path), across, up, table, tuple(refused))
