"""The text of a batch window."""

from __future__ import annotations

from simsoft.design.batch import Window
from simsoft.report.text.brief import folded
from simsoft.report.text.sweep import aligned, short

TO_DO = {
    "accept": "the pour meets the brief with everything else in its middle.",
    "adjust": "the pour misses; at this stem the durometer in the cell does it. Blend the next "
    "pour softer or stiffer by the difference, as the compound's data sheet says; measure again.",
    "reject": "no durometer of the window does it at this stem: the mould or the part is wrong.",
}


def cell_text(window: Window, row: int, column: int) -> str:
    """Return what a cell says: the word, and what to pour next."""
    aim = window.aims[row][column]
    if aim is None:
        return window.words[row][column]
    return f"adjust: {aim:g} {window.scale} ({aim - window.shore[row]:+g})"


def mass_text(mass: tuple[float, float, float]) -> str:
    """Return a mass [kg] with its band in grams."""
    low, value, high = (1e3 * x for x in mass)
    return f"{value:.3g} g ({low:.3g} to {high:.3g})"


def batch_lines(window: Window) -> list[str]:
    """Return what mass tells of a pour."""
    return [
        "Masses are of the soft parts in the case, without hook and weights; weigh ten together. "
        "Lighter than the band: air, short fill or salt left behind. "
        "Heavier: salt from the bottom of the cup, or a thick part.",
        f"One per cent more salt by mass makes them {100.0 * window.salt_step:.2g} % heavier "
        "(ideal mixture).",
    ]


def batch_text(title: str, window: Window) -> str:
    """Return the whole text of a batch window."""
    stem = short(window.path).replace("_", " ")
    lines = folded(f"{title}: batch window, Shore reading by {stem}.")
    rows = [["Shore", *window.stems]]
    for i, p in reversed(list(enumerate(window.shore))):
        own = " <- drawn" if p == window.own else ""
        rows.append([f"{p:g} {window.scale}{own}",
                     *(_short_cell(window, i, j) for j in range(len(window.stems)))])  # fmt: skip
    rows.append(["soft parts", *(f"{1e3 * value:.3g} g" for _, value, _ in window.masses)])
    lines += ["", *aligned(rows), ""]
    for word, text in TO_DO.items():
        lines += folded(f"{word}: {text}")
    for line in batch_lines(window):
        lines += folded(line)
    return "\n".join(lines) + "\n"


def _short_cell(window: Window, row: int, column: int) -> str:
    aim = window.aims[row][column]
    return window.words[row][column] if aim is None else f"-> {aim:g}"
