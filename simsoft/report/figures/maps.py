"""Maps of a sweep over two axes, with the box of the brief drawn where every clause is met.

Either two varied keys, or one varied key against the speeds of a retrieve.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from simsoft.core.arrays import Array
from simsoft.core.files import whole_file
from simsoft.design.rank import Ranking, rank
from simsoft.design.sweep.axis import number_of
from simsoft.design.sweep.run import Sweep
from simsoft.design.sweep.table import Column, SweepTable
from simsoft.report.text.sweep import short, worth_showing
from simsoft.report.units import speed_text, user_unit

if TYPE_CHECKING:
    from matplotlib.axes import Axes


Line = tuple[Sequence[float], Sequence[float]]

MOST_MAPS = 6
FEWEST = 3  # values of an axis worth a map
MOST_TICKS = 8  # values of an axis that are all written beside it
SPEEDS = "speed"


@dataclass(frozen=True)
class MapGrid:
    """One answer over two axes.

    Attributes
    ----------
    title, unit : str
    across, up : array of numbers, ascending
    across_name, up_name : str, with units
    value : array (up, across), NaN where there is no answer
    good : array (up, across) of bool, where the whole brief is met; all false without one
    """

    title: str
    unit: str
    across: Array
    up: Array
    across_name: str
    up_name: str
    value: Array
    good: npt.NDArray[np.bool_]


def grids(sweep: Sweep, table: SweepTable, ranked: Ranking | None = None) -> list[MapGrid]:
    """Return the maps that a table holds, at most six."""
    if sweep.plan.sample is not None:
        return []
    numeric = [i for i, axis in enumerate(sweep.plan.axes) if axis.numeric]
    wide = [i for i in numeric if len(sweep.plan.axes[i].values) >= FEWEST]
    judged = rank(sweep, table) if ranked is None else ranked
    if len(table.paths) == 2 and len(wide) == 2:
        return list(_over_two(sweep, table, judged))[:MOST_MAPS]
    if len(table.paths) == 1 and len(wide) == 1:
        return list(_over_speed(sweep, table, judged))[:MOST_MAPS]
    return []


def _axis(table: SweepTable, i: int) -> tuple[Array, npt.NDArray[np.intp], str]:
    """Return the ascending values of an axis, the place of every design in them, its name."""
    numbers = np.array([number_of(row[i]) for row in table.values], dtype=float)
    values, place = np.unique(numbers, return_inverse=True)
    return values, place, f"{short(table.paths[i])} [{table.units[i]}]"


def _met(table: SweepTable, ranked: Ranking) -> npt.NDArray[np.bool_]:
    good = np.zeros(table.count, dtype=bool)
    if ranked.case.brief:
        for item in ranked.designs():
            good[item.index] = item.meets
    return good


def _values(column: Column, ranked: Ranking) -> Array:
    """Return the numbers of a column as the ranking judges them, given what was seen."""
    return (ranked.own.looks or {}).get(column.name, 1.0) * np.asarray(column.value, dtype=float)


def _shown(sweep: Sweep, table: SweepTable) -> Iterator[Column]:
    """Yield the columns worth a map, what the brief speaks of first."""
    asked = {(clause.quantity, clause.speed) for clause in sweep.case.brief}

    def rank_of(column: Column) -> int:
        _, _, quantity, _, at = column.parts
        if (quantity, None) in asked or (quantity, at.get(SPEEDS)) in asked:
            return 0
        return 1 if any(quantity == name for name, _ in asked) else 2

    order = sorted(worth_showing(table), key=rank_of)
    for column in order:
        if not column.words and np.isfinite(np.asarray(column.value, dtype=float)).sum() >= FEWEST:
            yield column


def _over_two(sweep: Sweep, table: SweepTable, ranked: Ranking) -> Iterator[MapGrid]:
    across, at_x, x_name = _axis(table, 0)
    up, at_y, y_name = _axis(table, 1)
    good = np.zeros((len(up), len(across)), dtype=bool)
    good[at_y, at_x] = _met(table, ranked)
    for column in _shown(sweep, table):
        _, part, quantity, unit, at = column.parts
        numbers = _values(column, ranked)
        largest = float(np.nanmax(numbers))
        factor, name = user_unit(unit, sweep.case.length_unit, largest)
        value = np.full(good.shape, np.nan)
        value[at_y, at_x] = factor * numbers
        where = ", ".join(
            speed_text(v, sweep.case.length_unit) if k == SPEEDS else f"water {v - 273.15:.3g} degC"
            for k, v in at.items()
            if k in (SPEEDS, "water_temperature")
        )
        title = f"{part} {quantity.replace('_', ' ')}" + (f" at {where}" if where else "")
        yield MapGrid(title, name, across, up, x_name, y_name, value, good)


def _over_speed(sweep: Sweep, table: SweepTable, ranked: Ranking) -> Iterator[MapGrid]:
    up, at_y, y_name = _axis(table, 0)
    met = np.zeros(len(up), dtype=bool)
    met[at_y] = _met(table, ranked)
    groups: dict[tuple[str, str, str, str], dict[float, Column]] = {}
    for column in _shown(sweep, table):
        scenario, part, quantity, unit, at = column.parts
        if set(at) == {SPEEDS}:
            groups.setdefault((scenario, part, quantity, unit), {})[float(at[SPEEDS])] = column
    for (_, part, quantity, unit), columns in groups.items():
        if len(columns) < FEWEST:
            continue
        speeds = np.array(sorted(columns))
        pace, pace_name = user_unit("m/s", sweep.case.length_unit)
        factor, name = user_unit(unit, sweep.case.length_unit)
        value = np.full((len(up), len(speeds)), np.nan)
        for j, speed in enumerate(speeds):
            value[at_y, j] = factor * _values(columns[speed], ranked)
        good = np.repeat(met[:, None], len(speeds), axis=1)
        title = f"{part} {quantity.replace('_', ' ')}"
        yield MapGrid(title, name, pace * speeds, up, f"speed [{pace_name}]", y_name, value, good)


def save_maps(
    sweep: Sweep, table: SweepTable, directory: Path, ranked: Ranking | None = None
) -> list[str]:
    """Draw the maps of a sweep into one picture; return its name, or nothing without maps.

    ``ranked`` says how the designs are judged; without it, by their numbers alone.
    """
    found = grids(sweep, table, ranked)
    if not found:
        return []
    from simsoft.report.figures.canvas import new_figure

    columns = 1 if len(found) == 1 else 2
    rows = -(-len(found) // columns)
    figure = new_figure(5.2 * columns, 3.9 * rows + 0.5, sweep.case.title)
    axes = np.atleast_1d(figure.subplots(rows, columns)).ravel()
    for place, grid in zip(axes, found, strict=False):
        _draw(place, grid)
    for place in axes[len(found) :]:
        place.set_visible(False)
    if any(grid.good.any() for grid in found):
        figure.supxlabel("framed: the whole brief is met by the numbers", fontsize=9)
    elif sweep.case.brief:
        figure.supxlabel("nowhere here is the whole brief met", fontsize=9)
    with whole_file(directory / "maps.png") as temporary:
        figure.savefig(temporary)
    return ["maps.png"]


def _edges(values: Array) -> Array:
    """Return the borders of the cells around ascending values."""
    middle = 0.5 * (values[1:] + values[:-1])
    first, last = 2 * values[0] - middle[0], 2 * values[-1] - middle[-1]
    return np.concatenate([[first], middle, [last]])


def _draw(axes: Axes, grid: MapGrid) -> None:
    from simsoft.report.figures.canvas import GREY, INK

    x, y = _edges(grid.across), _edges(grid.up)
    axes.set_facecolor("#f2f2f2")  # no answer
    mesh = axes.pcolormesh(x, y, np.ma.masked_invalid(grid.value), cmap="cividis")
    bar = axes.figure.colorbar(mesh, ax=axes)
    bar.set_label(grid.unit)
    if grid.value.size <= 60:
        _numbers(axes, grid)
    for colour, width in (("white", 4.0), (INK, 2.0)):
        for piece in _frame(grid.good, x, y):
            axes.plot(*piece, color=colour, linewidth=width, clip_on=False)
    if len(grid.across) <= MOST_TICKS:
        axes.set_xticks(grid.across)
    if len(grid.up) <= MOST_TICKS:
        axes.set_yticks(grid.up)
    axes.set_title(grid.title, fontsize=10)
    axes.set_xlabel(grid.across_name)
    axes.set_ylabel(grid.up_name)
    axes.tick_params(color=GREY)


def _numbers(axes: Axes, grid: MapGrid) -> None:
    """Write the number into every cell, dark on light and light on dark."""
    low, high = np.nanmin(grid.value), np.nanmax(grid.value)
    for i, upper in enumerate(grid.up):
        for j, right in enumerate(grid.across):
            number = grid.value[i, j]
            text = "-" if np.isnan(number) else f"{number:.2g}"
            dark = not np.isnan(number) and number < 0.5 * (low + high)
            axes.text(right, upper, text, ha="center", va="center", fontsize=7,
                      color="white" if dark else "black")  # fmt: skip


def _frame(good: npt.NDArray[np.bool_], x: Array, y: Array) -> Iterator[Line]:
    """Yield the border lines between cells where the brief is met and all others."""
    padded = np.pad(good, 1)
    rows, columns = good.shape
    for i in range(rows):
        for j in range(columns + 1):
            if padded[i + 1, j] != padded[i + 1, j + 1]:
                yield (x[j], x[j]), (y[i], y[i + 1])
    for i in range(rows + 1):
        for j in range(columns):
            if padded[i, j + 1] != padded[i + 1, j + 1]:
                yield (x[j], x[j + 1]), (y[i], y[i])
