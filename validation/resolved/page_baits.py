"""What the page says of baits on their soft bodies, and of the coefficients set by them."""

from __future__ import annotations

import csv
from collections.abc import Callable
from pathlib import Path

import numpy as np
from jobs import designs
from tables import MOVES, QUANTILES, Table, lines, over_coarse, rows, value

FITS = {"": "together", "_DISCS": "discs", "_TAILS": "tails", "_BAITS": "baits"}
HERE = Path(__file__).parent
PICTURE = HERE / "against.png"
# Column, label, ends of the axes, and the tolerances that were wanted of a line of equality.
DRAWN: tuple[
    tuple[str, str, tuple[float, float], Callable[[np.ndarray], list[np.ndarray]]], ...
] = (
    ("strouhal", "f D/U", (0.0, 0.4), lambda x: [0.9 * x, 1.1 * x]),
    ("stroke_d", "stroke/D", (0.0, 1.5), lambda x: [0.75 * x, 1.25 * x]),
    ("fold_back_deg", "fold-back, deg", (0.0, 60.0), lambda x: [x - 3.0, x + 3.0]),
)


def bait_table(results: Table, reduced: Table) -> str:
    """Return the baits on their soft bodies, resolved first, then reduced."""
    known, body = {row["run"]: row for row in designs()}, []
    for run, other in reduced.items():
        if run not in results:
            continue
        fine = results.get(f"fine-{run}")
        row = fine or results[run]
        pairs = [
            f"{value(row[c]):.{n}f}, {value(other[c]):.{n}f}".replace("nan", "-")
            for c, n in (("strouhal", 3), ("stroke_d", 2), ("fold_back_deg", 0), ("drag", 2))
        ]
        swings = ", ".join(f"{value(row[c]):.2f}" for c in ("sway_d", "heave_d"))
        sealed = "yes" if other["sealed"] == "1" else ""
        cells = "36" if fine else "24"
        speed = known[run]["speed_mps"]
        body.append([run, sealed, speed, cells, row["word"], *pairs, swings])
    head = ("bait", "sealed", "m/s", "cells", "does", "f D/U", "stroke/D", "fold-back, deg",
            "drag/qA", "sway, heave/D (resolved)")  # fmt: skip
    return lines(head, body)


def bait_grid_table(results: Table) -> str:
    """Return what 36 cells find over what 24 find, of the baits that beat on both."""
    found, body = over_coarse(results), []
    for column, word in (("strouhal", "rate"), ("stroke_d", "stroke"), ("drag", "drag")):
        over = found[column]
        body.append([word, len(over), *(f"{q:.2f}" for q in np.quantile(over, QUANTILES))])
    return lines(("36 over 24 cells", "baits", "10 %", "50 %", "90 %"), body)


def third_grid_table(results: Table) -> str:
    """Return the baits that were run on three grids."""
    body = []
    for run, finest in rows("third_grid.csv").items():
        grids = (("24", results[run]), ("36", results[f"fine-{run}"]), (finest["cells"], finest))
        for cells, row in grids:
            numbers = (f"{value(row[c]):.2f}" for c in ("stroke_d", "sway_d", "heave_d", "drag"))
            lean = f"{value(row['fold_back_deg']):.1f}"
            body.append([run, cells, f"{value(row['strouhal']):.3f}", *numbers, lean])
    head = ("bait", "cells", "f D/U", "stroke/D", "sway/D", "heave/D", "drag/qA", "fold-back, deg")
    return lines(head, body)


def long_table(results: Table) -> str:
    """Return the long runs beside the usual ones of the same grid."""
    body = []
    for run, row in rows("long.csv").items():
        if value(row["stroke_d"]) > MOVES:
            usual = f"{value(results[run]['stroke_d']):.2f}"
            strokes = (f"{value(row[c]):.2f}" for c in ("stroke_d", "stroke_error_d"))
            shown = [usual, *strokes, f"{value(row['strouhal']):.3f}"]
            swings = ", ".join(f"{value(row[c]):.2f}" for c in ("sway_d", "heave_d"))
            sealed = "yes" if row["sealed"] == "1" else ""
            body.append([run, sealed, row["length"], *shown, swings])
    head = ("bait", "sealed", "D/U", "stroke/D in 50 D/U", "in the long run", "its error", "f D/U",
            "sway, heave/D")  # fmt: skip
    return lines(head, body)


def body_load_table() -> str:
    """Return what soft body, stem's end and paddle feel, resolved first, then reduced."""
    body = []
    with (HERE / "body_loads.csv").open(encoding="utf-8") as file:
        for row in csv.DictReader(file):
            pairs = [f"{row[c]}, {row[f'{c}_reduced']}" for c in ("body", "end")]
            body.append([row["run"], row["axis"], *pairs])
    return lines(("bait", "axis", "soft body and stem", "its last three lengths"), body)


def set_of(run: str) -> str:
    """Return the coefficients that a set of runs asks for, as words; the rim force of one set."""
    row = rows("coefficients.csv")[run]
    if run != "together":
        return row["rim_force"]
    named = (f"{name.replace('_', ' ')} {number}" for name, number in row.items() if name != "run")
    return ", ".join(named)


def draw(results: Table, tails: Table, baits: Table) -> None:
    """Draw rate, stroke and fold-back of tails and baits, reduced against resolved.

    Sealed runs are filled; the grey lines stand at the tolerances that were wanted.
    """
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    figure = Figure(figsize=(11.0, 4.0), dpi=110, layout="constrained")
    FigureCanvasAgg(figure)
    for axes, (column, label, ends, wanted) in zip(figure.subplots(1, 3), DRAWN, strict=True):
        line = np.array(ends)
        axes.plot(line, line, color="#666666", lw=0.8)
        for edge in wanted(line):
            axes.plot(line, edge, color="#b9bec4", lw=0.8)
        for table, colour, name in ((tails, "#1d4e89", "held at the stem"),
                                    (baits, "#e07a1f", "on a soft body")):  # fmt: skip
            for sealed in ("0", "1"):
                runs = [r for r, row in table.items() if row["sealed"] == sealed and r in results]
                there, here = ([np.nan_to_num(value(t[r][column])) for r in runs]
                               for t in (results, table))  # fmt: skip
                face = colour if sealed == "1" else "none"
                word = f"{name}{', sealed' if sealed == '1' else ''}"
                axes.scatter(there, here, s=18, facecolors=face, edgecolors=colour, label=word)
        axes.set(xlim=ends, ylim=ends, xlabel=f"{label}, resolved", ylabel=f"{label}, reduced")
    figure.axes[0].legend(frameon=False, fontsize=8, loc="upper left")
    figure.savefig(PICTURE)
