"""Tails behind stiff bodies, resolved and reduced: their table and their panel of the picture."""

from __future__ import annotations

from typing import Any

from tables import Table, lines, value

ORDER = ("slim", "deep", "blunt")
PLACES = [(body, offset) for body in ORDER for offset in (2, 6)]


def body_table(results: Table, reduced: Table) -> str:
    """Return the tails behind bodies, by the resolved flow and by the reduced model."""
    body = []
    for run, row in results.items():
        if not run.startswith("body-"):
            continue
        _, name, offset, speed = run.split("-")
        ours = reduced[run]
        beat = f"{value(ours['strouhal']):.3f}" if ours["strouhal"] else "-"
        body.append([name, offset, speed, row["word"], f"{value(row['strouhal']):.3f}, {beat}",
                     f"{value(row['stroke_d']):.2f}, {value(ours['stroke_d']):.2f}",
                     f"{value(row['paddle_drag']):.3f}"])  # fmt: skip
    head = ("body", "offset, mm", "speed, m/s", "does", "f D/U", "stroke/D", "paddle drag/qA")
    return lines(head, body)


def draw_bodies(axes: Any, results: Table, reduced: Table) -> None:
    """Draw strokes behind bodies, resolved and reduced, at two speeds."""
    for speed, colour in (("0.5", "#1d4e89"), ("0.8", "#e07a1f")):
        runs = [f"body-{body}-{offset}-{speed}" for body, offset in PLACES]
        for table, mark, words in ((results, "o", "resolved"), (reduced, "x", "reduced")):
            strokes = [value(table[run]["stroke_d"]) for run in runs]
            axes.plot(range(len(runs)), strokes, mark, color=colour, label=f"{speed} m/s, {words}")
    axes.set_xticks(range(len(PLACES)), [f"{body}\n{offset} mm" for body, offset in PLACES])
    axes.set_xlabel("body ahead, paddle below the stem")
    axes.grid(True, color="#e3e6e8")
    axes.set_ylim(-0.03, 1.15)
    axes.legend(frameon=False, fontsize=8, ncols=2, loc="upper center")
