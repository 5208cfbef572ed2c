"""The tables of ``validation/RESOLVED.md`` and its picture, from the kept rows.

``python validation/resolved/page.py`` writes both again. The prose stands in ``page.md``.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE))

import blade  # noqa: E402
import flag  # noqa: E402
import page_baits  # noqa: E402
from falls import BALL, BALLS, ball_job  # noqa: E402
from jobs import designs  # noqa: E402
from page_baits import FITS, bait_grid_table, bait_table, set_of  # noqa: E402
from page_bodies import body_table, draw_bodies  # noqa: E402
from tables import MOVES, QUANTILES, Table, best, lines, rows, value  # noqa: E402

from simsoft.engine.uncertainty import MODEL_ERROR, SOFT_ERROR, ModelError  # noqa: E402

PAGE = HERE.parent / "RESOLVED.md"
PICTURE = HERE / "sweeps.png"
COMPARED = {"strouhal": "beat", "stroke_d": "stroke", "sweep_d": "edges", "drag": "drag"}
OF_ERROR = {"strouhal": "flap_frequency", "stroke_d": "stroke", "sweep_d": "edge_to_edge"}
# What books and papers say of the textbook runs: value, source, column of results.csv.
BOOK = (
    ("ball-100-12", "drag", 1.087, "sphere, Re 100, 12 cells; Clift, Grace & Weber 1978"),
    ("ball-100-16", "drag", 1.087, "the same, 16 cells"),
    ("ball-100-24", "drag", 1.087, "the same, 24 cells"),
    ("ball-300", "drag", 0.655, "sphere, Re 300, 20 cells; Johnson & Patel 1999 (from memory)"),
    ("cylinder-100", "strouhal", 0.165, "cylinder, Re 100, 20 cells; Williamson 1989 (memory)"),
    ("cylinder-100", "drag", 1.33, "the same; mean of published values (from memory)"),
    ("disc-thin", "drag", 1.12, "disc 0.08 D thick; Roos & Willmarth 1971 (from memory)"),
    ("plate-thin", "drag", 1.17, "square plate 0.08 b thick; Hoerner 1965"),
)  # fmt: skip


def book_table(results: Table) -> str:
    """Return the textbook runs beside their sources."""
    body = []
    for run, column, expected, source in BOOK:
        found = value(results[run][column])
        body.append(
            [source, column, expected, f"{found:.4g}", f"{100 * (found / expected - 1):+.1f} %"]
        )
    return lines(("case", "what", "published", "here", "error"), body)


def grid_table(results: Table) -> str:
    """Return the same tails on 16, 24 and 36 cells a diameter."""
    trios = (
        ("hung 6 mm", "grid-deep-16", "offset-6", "grid-deep-36"),
        ("centred", "grid-centred-16", "offset-0", "grid-centred-36"),
        ("hung, 1.5 mm thick", "grid-thin-16", "thick-1.5", "grid-thin-36"),
        ("hung 2 mm", "", "offset-2", "fine-offset-2"),
        ("hung 4 mm", "", "offset-4", "fine-offset-4"),
        ("hung, 2 mm thick", "", "thick-2", "fine-thick-2"),
        ("hung, 4.5 mm thick", "", "thick-4.5", "fine-thick-4.5"),
        ("hung, 0.4 m/s", "", "speed-0.4", "fine-speed-0.4"),
        ("hung, 0.7 m/s", "", "speed-0.7", "fine-speed-0.7"),
    )

    def cell(run: str) -> str:
        row = results.get(run)
        return f"{value(row['strouhal']):.3f}, {value(row['stroke_d']):.2f}" if row else "-"

    body = [[name, *(cell(run) for run in runs)] for name, *runs in trios]
    return lines(("tail", "16 cells", "24 cells", "36 cells"), body)


def sweep_table(results: Table, reduced: Table, prefix: str) -> str:
    """Return one sweep about the base tail, the reduced model beside it."""
    body = []
    for run, row in results.items():
        if run.startswith(prefix):
            other = reduced.get(run, {})
            moved = value(other.get("stroke_d")) > 0.02
            body.append(
                [
                    run.removeprefix(prefix), row["word"],
                    f"{value(row['strouhal']):.3f}", f"{value(row['stroke_d']):.2f}",
                    f"{value(row['roll_deg']):.0f}", f"{value(row['roll_phase_deg']):.0f}",
                    f"{value(row['fold_back_deg']):.0f}", f"{value(row['drag']):.2f}",
                    f"{value(other['strouhal']):.3f}, {value(other['stroke_d']):.2f}"
                    if moved else "still",
                ]
            )  # fmt: skip
    head = (prefix.strip("-"), "does", "f D/U", "stroke/D", "roll, deg", "roll leads, deg",
            "fold-back, deg", "drag/qA", "reduced: f D/U, stroke/D")  # fmt: skip
    return lines(head, sorted(body, key=lambda r: float(r[0])))


def ramp_table(results: Table, reduced_start: dict[str, str]) -> str:
    """Return the starts on slow ramps up and down; 0.6 m/s is the speed at ratio one."""
    body = []
    for run, row in results.items():
        if run.startswith("ramp-") and run != "ramp-swim":
            _, offset, thickness = run.split("-")
            up, down = (0.6 * value(row[c]) for c in ("start_up", "start_down"))
            body.append([offset, thickness, f"{up:.2f}", f"{down:.2f}", reduced_start.get(run, "")])
    head = ("offset, mm", "thickness, mm", "starts, going up, m/s", "stops, going down, m/s",
            "reduced start, m/s")  # fmt: skip
    return lines(head, body)


def sway_table(results: Table) -> str:
    """Return the side force on discs that sway, yaw and rock."""
    body, known = [], {row["run"]: row for row in designs() if row["family"] == "solid"}
    for run, row in results.items():
        if run in known and known[run]["motion"].split()[:1] in (["sway"], ["yaw"], ["rock"]):
            numbers = [f"{value(row[c]):.2f}" for c in ("in_phase", "out_of_phase", "drag")]
            row = known[run]
            body.append([row["set"].removeprefix("disc "), row["motion"], row["cells"], *numbers])
    head = ("thickness/D", "motion: f D/U, D or rad, deg", "cells", "with the motion",
            "with its velocity", "mean drag/qA")  # fmt: skip
    return lines(head, sorted(body))


def both_beat(results: Table, reduced: Table, sealed: str) -> list[str]:
    """Return the runs, sealed or open, that beat by the resolved flow and by the reduced model."""
    return [
        run for run, row in reduced.items()
        if row["sealed"] == sealed and run in results and results[run]["word"] != "failed"
        and value(row["stroke_d"]) > 0.5 * MOVES and value(results[run]["stroke_d"]) > 0.5 * MOVES
    ]  # fmt: skip


def ratios(results: Table, reduced: Table, sealed: str, column: str) -> np.ndarray:
    """Return resolved over reduced of the runs that both call beating."""
    runs = both_beat(results, reduced, sealed)
    found = np.array([resolved_as(results[r], reduced[r], column) / value(reduced[r][column])
                      for r in runs])  # fmt: skip
    return found[np.isfinite(found) & (found > 0.0)]


def resolved_as(resolved: dict[str, str], reduced: dict[str, str], column: str) -> float:
    """Return a resolved number, its sweep from edge to edge along the main motion.

    The table of the resolved runs has the sweep from side to side alone. Along the main motion it
    is the stroke and the paddle's own extent, which is taken as in the reduced beat.
    """
    if column != "sweep_d":
        return value(resolved[column])
    return value(resolved["stroke_d"]) + value(reduced["sweep_d"]) - value(reduced["stroke_d"])


def inside(
    results: Table, reduced: Table, sealed: str, column: str, errors: ModelError = MODEL_ERROR
) -> tuple[int, int]:
    """Return how many of those runs lie within the model's error, and how many there are."""
    low, high = errors[OF_ERROR[column]]
    found = ratios(results, reduced, sealed, column)
    return int(((found >= low) & (found <= high)).sum()), len(found)


def words_inside(results: Table, reduced: Table, errors: ModelError) -> str:
    """Return how many runs lie within the model's error, as words."""
    return "; ".join(
        "{} {} of {}".format(name, *inside(results, reduced, sealed, column, errors))
        for column, word in (("strouhal", "beat"), ("stroke_d", "stroke"), ("sweep_d", "edges"))
        for sealed, name in (("0", f"{word}, open"), ("1", f"{word}, sealed"))
    )


def model_table(results: Table, reduced: Table) -> str:
    """Return how far the reduced model is off, on the open rows and on the sealed ones."""
    body = []
    for column, word in COMPARED.items():
        for sealed, name in (("0", "open"), ("1", "sealed")):
            found = ratios(results, reduced, sealed, column)
            low, middle, high = np.quantile(found, QUANTILES)
            body.append([word, name, len(found), f"{low:.2f}", f"{middle:.2f}", f"{high:.2f}"])
    return lines(("resolved over reduced", "rows", "number", "10 %", "50 %", "90 %"), body)


def right_table(results: Table, reduced: Table) -> str:
    """Return how often the reduced model tells moving from still, and how close it comes."""
    body = []
    for sealed, name in (("0", "open"), ("1", "sealed")):
        runs = [r for r, row in reduced.items() if row["sealed"] == sealed and r in results]
        moves = [[value(t[r]["stroke_d"]) > MOVES for r in runs] for t in (reduced, results)]
        wrong = [int(sum(a and not b for a, b in zip(*pair, strict=True)))
                 for pair in (moves, moves[::-1])]  # fmt: skip
        rate, stroke, edges = (ratios(results, reduced, sealed, c) for c in OF_ERROR)
        folds = [value(reduced[r]["fold_back_deg"]) - value(results[r]["fold_back_deg"])
                 for r in runs]  # fmt: skip
        near = np.mean(np.abs(np.array(folds)[np.isfinite(folds)]) <= 3.0)
        wide = (np.mean(np.abs(width - 1) <= 0.25) for width in (stroke, edges))
        close = (np.mean(np.abs(rate - 1) <= 0.1), *wide, near)
        right = len(runs) - sum(wrong)
        body.append([name, len(runs), right, *wrong, *(f"{share:.0%}" for share in close)])
    head = ("rows", "tails", "right", "moves, resolved still", "still, resolved moves",
            "rate within 10 %", "stroke within 25 %", "edges within 25 %",
            "fold-back within 3 deg")  # fmt: skip
    return lines(head, body)


def worst_table(results: Table, reduced: Table) -> str:
    """Return the tails that the reduced model gets wrong: moving or still, or stroke twofold."""
    body = []
    for run, row in reduced.items():
        here, there = value(row["stroke_d"]), value(results[run]["stroke_d"])
        here, there = np.nan_to_num(here), np.nan_to_num(there)
        apart = max(here, there) > MOVES and not 0.5 < here / max(there, 1e-9) < 2.0
        if apart or (here > MOVES) != (there > MOVES):
            body.append([run, "sealed" if row["sealed"] == "1" else "open", f"{there:.2f}",
                         f"{here:.2f}", row["start_mps"] or "none"])  # fmt: skip
    return lines(("tail", "rows", "resolved stroke/D", "reduced", "reduced start, m/s"), body)


def starts(reduced: Table) -> dict[str, str]:
    """Return the reduced start [m/s] of the ramps' tails, where a sweep has the same tail."""
    same = {"ramp-0-3": "offset-0", "ramp-2-3": "offset-2", "ramp-4-3": "offset-4",
            "ramp-6-3": "offset-6", "ramp-6-1.5": "thick-1.5", "ramp-6-2": "thick-2"}  # fmt: skip
    found = {ramp: reduced[run]["start_mps"] or "none" for ramp, run in same.items()}
    return {
        ramp: start if start == "none" else f"{float(start):.2f}" for ramp, start in found.items()
    }


def draw(results: Table, reduced: Table) -> None:
    """Draw strokes against offset and thickness, and behind bodies, resolved and reduced."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    figure = Figure(figsize=(13.0, 3.8), dpi=110, layout="constrained")
    FigureCanvasAgg(figure)
    panels = figure.subplots(1, 3)
    fine = {"offset-": {0: "grid-centred-36", 2: "fine-offset-2", 4: "fine-offset-4",
                        6: "grid-deep-36"},
            "thick-": {1.5: "grid-thin-36", 2: "fine-thick-2", 3: "grid-deep-36",
                       4.5: "fine-thick-4.5"}}  # fmt: skip
    for axes, prefix, label in zip(
        panels[:2], ("offset-", "thick-"), ("paddle below the stem, mm", "paddle thickness, mm"),
        strict=True,
    ):  # fmt: skip
        runs = {float(r.removeprefix(prefix)): r for r in results if r.startswith(prefix)}
        if prefix == "thick-":
            runs[3.0] = "offset-6"
        at = sorted(runs)
        axes.plot(at, [value(results[runs[x]]["stroke_d"]) for x in at], "o-", color="#1d4e89",
                  label="resolved, 24 cells a diameter")  # fmt: skip
        more = fine[prefix]
        axes.plot(list(more), [value(results[r]["stroke_d"]) for r in more.values()], "s",
                  color="#e07a1f", label="resolved, 36 cells")  # fmt: skip
        axes.plot(at, [value(reduced[runs[x]]["stroke_d"]) for x in at], "x--", color="#666666",
                  label="reduced model")  # fmt: skip
        axes.set_xlabel(label)
        axes.set_ylim(-0.02, 0.66)
        axes.grid(True, color="#e3e6e8")
    panels[0].set_ylabel("stroke over paddle diameter, 0.5 m/s")
    panels[0].legend(frameon=False, fontsize=8)
    draw_bodies(panels[2], results, rows("reduced_bodies.csv"))
    figure.savefig(PICTURE)


def fall_table() -> str:
    """Return the falls beside the reduced model's."""
    ours, theirs = rows("fallen.csv"), rows("fallen_reduced.csv")
    body = []
    for run, row in rows("falls.csv").items():
        other = theirs.get(run.removeprefix("fine-"))
        if run not in ours or other is None:
            continue
        here = ours[run]
        pairs = [
            f"{value(here[c]):.{n}f}, {value(other[c]):.{n}f}"
            for c, n in (("sink_mps", 3), ("attitude_deg", 0), ("wobble_deg", 0), ("glide_deg", 0))
        ]
        sealed = "yes" if row["sealed"] == "1" else ""
        body.append([run, sealed, *pairs, f"{abs(value(here['rolled_deg'])):.0f}"])
    head = ("fall", "sealed", "sinks, m/s", "nose down, deg", "wobble, deg", "glides, deg",
            "rolled, deg (resolved)")  # fmt: skip
    return lines(head, body)


def ball_table() -> str:
    """Return the falling balls beside their books."""
    ours, body = rows("fallen.csv"), []
    for run, (_, galileo, book) in BALLS.items():
        if run in ours:
            job = ball_job(run)
            found = value(ours[run]["sink_mps"]) * BALL / job.viscosity
            off = f"{100 * (found / book - 1):+.1f} %"
            body.append([f"{galileo:.0f}", f"{book:.0f}", f"{found:.1f}", off])
    return lines(("Galileo number", "Re of the book", "here", "off"), body)


def load_table() -> str:
    """Return what the water does to the falling bodies, over the reduced model's laws."""
    sealed = {run: row["sealed"] == "1" for run, row in rows("falls.csv").items()}
    columns = ("slip", "across", "friction", "turning")
    body = [
        [run, "yes" if sealed[run] else "", *(row[c] or "-" for c in columns)]
        for run, row in rows("loads.csv").items()
    ]
    head = ("fall", "sealed", "speed along over across", "force across / bars", "friction C_f",
            "turning moment / potential flow")  # fmt: skip
    return lines(head, body)


def blade_table() -> str:
    """Return the blade that leans with a stream, measured, then resolved."""
    head = ("run", "Re", "cells", *blade.MEASURED)
    found = [[row["run"], row["reynolds"], row["cells"], *(row[c] for c in blade.MEASURED)]
             for row in blade.kept()]  # fmt: skip
    return lines(head, [["measured", "1600", "-", *blade.MEASURED.values()], *found])


def flag_table() -> str:
    """Return the flag as published, then on two grids, of two thicknesses, at two steps."""

    def cell(row: dict[str, str], name: str) -> str:
        error = f" ± {row[f'{name}_error']}" if row[f"{name}_error"] else ""
        return row[name] + error

    body = [[name, "-", "0", "-", f"{told['stroke']:.3f}", f"{told['strouhal']:.3f}", *3 * "-"]
            for name, told in flag.PUBLISHED.items()]  # fmt: skip
    for row in flag.kept():
        thick = f"{value(row['thick']) / value(row['cells']):.3f} ({row['thick']} cells)"
        found = (cell(row, "stroke"), cell(row, "strouhal"), row["drag"], row["twist"] or "-")
        body.append([row["run"], row["cells"], thick, row["step"], *found, row["beats"]])
    head = ("run", "cells", "thickness/L", "step, L/U", "stroke/L", "f L/U", "drag/qA",
            "twist/L", "beats")  # fmt: skip
    return lines(head, body)


def main() -> None:
    """Write the page and its picture."""
    results, reduced = rows("results.csv"), rows("reduced.csv")
    baits = rows("reduced_baits.csv")
    truth = best(results)
    filled = {
        "BOOK": book_table(results),
        "GRID": grid_table(results),
        "OFFSET": sweep_table(results, reduced, "offset-"),
        "THICK": sweep_table(results, reduced, "thick-"),
        "SPEED": sweep_table(results, reduced, "speed-"),
        "BODY": body_table(results, rows("reduced_bodies.csv")),
        "BAITS": bait_table(results, baits),
        "BAITS_GRID": bait_grid_table(results),
        "BAITS_MODEL": model_table(truth, baits),
        "BAITS_RIGHT": right_table(truth, baits),
        "BAITS_INSIDE": words_inside(truth, baits, SOFT_ERROR),
        "BAITS_THIRD": page_baits.third_grid_table(results),
        "BAITS_LONG": page_baits.long_table(results),
        "BODY_LOADS": page_baits.body_load_table(),
        "BLADE": blade_table(),
        "FLAG": flag_table(),
        "BAITS_WORST": worst_table(truth, baits),
        "RAMP": ramp_table(results, starts(reduced)),
        "SWAY": sway_table(results),
        "MODEL": model_table(truth, reduced),
        "RIGHT": right_table(truth, reduced),
        "WORST": worst_table(truth, reduced),
        "INSIDE": words_inside(truth, reduced, MODEL_ERROR),
        **{f"FIT{name}": set_of(run) for name, run in FITS.items()},
        "FALLS": fall_table(),
        "BALLS": ball_table(),
        "LOADS": load_table(),
        "RUNS": str(len(results)),
        "SEALED": str(sum(row["sealed"] == "1" for row in designs())),
    }
    text = (HERE / "page.md").read_text(encoding="utf-8")
    for name, content in filled.items():
        text = text.replace(f"<<{name}>>", content)
    PAGE.write_text(text, encoding="utf-8")
    draw(results, reduced)
    page_baits.draw(truth, reduced, baits)


if __name__ == "__main__":
    main()
