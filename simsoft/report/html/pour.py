"""The pour card on paper: to tape beside the pot."""

from __future__ import annotations

from simsoft.design.pour import Card
from simsoft.report.html.document import grid, page_section
from simsoft.report.html.markup import Html, tag
from simsoft.report.html.sheet import Cell, Sheet
from simsoft.report.text.pour import (
    HEAD,
    cautions,
    filled_text,
    ingredient_rows,
    millilitres,
    softener_text,
    yield_text,
)


def pour_sheet(title: str, card: Card, asked: str) -> Sheet:
    """Return the sheet of a pour card; ``asked`` is the maker's softener in words."""
    sections: list[Html] = [
        page_section(
            "pot", "Into the pot", grid(HEAD, ingredient_rows(card)),
            tag("p", filled_text(card)), tag("p", softener_text(card, asked)),
        ),
        page_section("care", "Care", [tag("p", line, class_="caution") for line in cautions(card)]),
    ]  # fmt: skip
    head = ("pour_of", "ingredient", "mass_kg", "pot_m3", "one_bait_kg", "one_bait_low_kg",
            "one_bait_high_kg", "baits", "baits_low", "baits_high")  # fmt: skip
    rows: list[list[Cell]] = [
        [" ".join(pour.pieces), name, mass, card.pot, pour.one[1], pour.one[0], pour.one[2],
         pour.baits[1], pour.baits[0], pour.baits[2]]
        for pour in card.pours
        for name, mass in pour.ingredients
    ]  # fmt: skip
    fewest = min(pour.baits[1] for pour in card.pours)
    word = f"{fewest} baits a pot of {millilitres(card.pot)}"
    standing = " ".join(yield_text(card, pour) for pour in card.pours)
    return Sheet(word, "open" if fewest else "no-go", title, standing, sections, head, rows)
