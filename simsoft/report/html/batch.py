"""The batch window on paper: measure a pour, find its cell, keep it, change it or melt it down."""

from __future__ import annotations

from simsoft.design.batch import Window, softener_correction
from simsoft.report.html.document import grid, page_section
from simsoft.report.html.markup import Html, tag
from simsoft.report.html.sheet import Cell, Sheet
from simsoft.report.html.spans import map_cells
from simsoft.report.text.batch import (
    RECIPE_HEAD,
    TO_DO,
    batch_lines,
    cell_text,
    law_text,
    mass_text,
    recipe_rows,
)
from simsoft.report.text.sweep import short

SHADE = {"accept": 1.0, "adjust": 0.5, "reject": 0.0}


def batch_sheet(title: str, window: Window) -> Sheet:
    """Return the sheet of a batch window."""
    names = [f"{p:g} {window.scale}{' (drawn)' if p == window.own else ''}" for p in window.shore]
    shades = [[SHADE[word] for word in row] for row in window.words]
    words = [[cell_text(window, i, j) for j in range(len(window.stems))] for i in range(len(names))]
    stem = short(window.path).replace("_", " ")
    what = f"Shore reading by {stem} of the pour"
    drawn = map_cells(window.stems, names, shades, (what, stem, "Shore"), words)
    masses = grid((stem, "soft parts weigh"), [
        [name, mass_text(mass)] for name, mass in zip(window.stems, window.masses, strict=True)
    ])  # fmt: skip
    told = [tag("p", tag("b", word, ": "), text) for word, text in TO_DO.items()]
    mended = recipe_rows(window)
    recipe = [grid(RECIPE_HEAD, mended)] if mended else []
    sections: list[Html] = [
        page_section("window", "Window", drawn),
        page_section("do", "What to do", told, recipe, tag("p", law_text(window))),
        page_section("mass", "Mass", masses, *(tag("p", line) for line in batch_lines(window))),
        page_section("signed", "Batches", _signed()),
    ]
    head = ("shore", "scale", "stem", "do", "pour_next_shore", "mass_kg", "mass_low_kg",
            "mass_high_kg", "more_softener_percent")  # fmt: skip
    rows: list[list[Cell]] = [
        [
            p,
            window.scale,
            stem,
            window.words[i][j],
            window.aims[i][j],
            value,
            low,
            high,
            softener_correction(window, i, j),
        ]
        for i, p in enumerate(window.shore)
        for j, (stem, (low, value, high)) in enumerate(
            zip(window.stems, window.masses, strict=True)
        )
    ]
    good = sum(word == "accept" for row in window.words for word in row)
    every = len(window.shore) * len(window.stems)
    standing = (
        "Every cell is run forward with all else in its middle: at the edge of the window a batch "
        "meets the brief one time in two."
    )
    word = f"{good} of {every} cells do"
    return Sheet(word, "open" if good else "no-go", title, standing, sections, head, rows)


def _signed() -> Html:
    rows = [["", "", "", ""]] * 4
    head = ("date", "Shore reading", "stem and mass", "kept, changed or melted")
    return tag("div", grid(head, rows), class_="sign")
