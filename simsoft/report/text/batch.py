"""The text of a batch window."""

from __future__ import annotations

from simsoft.design.batch import Window, into_the_cup, softener_correction
from simsoft.report.text.brief import folded
from simsoft.report.text.sweep import aligned, short

MOST_SOFTENER = 25.0  # [%] more than this is no correction: judgement
RECIPE_HEAD = ("points", "softener of the next pour", "100 g of this pour, melted again")
TO_DO = {
    "accept": "the pour meets the brief with everything else in its middle.",
    "adjust": "the pour misses; at this stem the durometer in the cell does it. Make the next "
    "pour softer or stiffer by the difference; measure again.",
    "reject": "no durometer of the window does it at this stem: the mould or the part is wrong.",
}


def cell_text(window: Window, row: int, column: int) -> str:
    """Return what a cell says: the word, or what to pour next."""
    aim = window.aims[row][column]
    return window.words[row][column] if aim is None else f"-> {aim:g} {window.scale}"


def recipe_rows(window: Window) -> list[list[str]]:
    """Return for every difference of the window what the next pour and this cup need.

    A row holds the difference in points, the softener of the next pour, and what goes into 100 g of
    this pour melted again. Nothing where nobody has poured the two that say so.
    """
    shares: dict[float, float] = {}
    for row in range(len(window.shore)):
        for column in range(len(window.stems)):
            share, aim = softener_correction(window, row, column), window.aims[row][column]
            if share is not None and aim is not None:
                shares[aim - window.shore[row]] = share
    return [_recipe(window, points, share) for points, share in sorted(shares.items())]


def _recipe(window: Window, points: float, share: float) -> list[str]:
    pour = f"{abs(share):.2g} % {'more' if share > 0 else 'less'}"
    if share <= 0.0:
        return [f"{points:+g}", pour, "none makes it stiffer; blend in a stiffer pour"]
    if share >= MOST_SOFTENER:
        return [f"{points:+g}", pour, "too much to stir in; pour anew"]
    softener, salt = into_the_cup(window, share)
    cup = f"stir in {softener:.2g} g" + (f" and {salt:.2g} g of salt" if salt else "")
    return [f"{points:+g}", pour, cup]


def law_text(window: Window) -> str:
    """Return where the law of the softener comes from, or how to find it."""
    if window.softener is None:
        return (
            "Softener: pour one cup plain and one with 10 % more softener by mass, read both after "
            "a day, divide the difference by ten, and give that as --softener: the sheet then "
            "says the recipe."
        )
    return (
        f"Softener: {window.softener:g} points a per cent by mass, from your own two pours. The "
        "line is straight between them; beyond it is a guess. Melting again may change the reading "
        "(common practice, no source): pour a small cup first."
    )


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
                     *(cell_text(window, i, j) for j in range(len(window.stems)))])  # fmt: skip
    rows.append(["soft parts", *(f"{1e3 * value:.3g} g" for _, value, _ in window.masses)])
    lines += ["", *aligned(rows), ""]
    for word, text in TO_DO.items():
        lines += folded(f"{word}: {text}")
    rows = recipe_rows(window)
    if rows:
        lines += ["", *aligned([[*RECIPE_HEAD], *rows]), ""]
    for line in (law_text(window), *batch_lines(window)):
        lines += folded(line)
    return "\n".join(lines) + "\n"
