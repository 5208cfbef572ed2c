"""The text of a pour card."""

from __future__ import annotations

from simsoft.design.pour import LEFT, Card, Pour
from simsoft.report.text.brief import folded
from simsoft.report.text.sweep import aligned

HEAD = ("pour of", "into the pot", "share")
CAUTIONS = (
    "Plastisol at 150 to 177 degC sticks and burns: face shield, heat gloves, long sleeves, closed "
    "shoes, no children near.",
    "Water in the mould or on a tool flashes to steam and throws plastic: dry and warm the mould.",
    "Past 180 degC, or when it yellows, it gives off hydrogen chloride: stop heating, leave, air "
    "the room. Extract fumes to the outside; a dust mask does nothing against them.",
    "Never use the kitchen's oven or microwave. No open flame. Never heat it together with acetal.",
)
POWDER = "Do not breathe salt dust or microballoons, which are fine glass."
SHEET = "The supplier's safety data sheet comes first. Cautions are common practice, no source."


def cautions(card: Card) -> list[str]:
    """Return the cautions that go with a card."""
    fillers = {name for pour in card.pours for name, _ in pour.ingredients}
    return [*CAUTIONS, *([POWDER] if fillers & {"salt", "microballoons"} else []), SHEET]


def grams(mass: float) -> str:
    """Return a mass [kg] in grams: three digits, tenths below ten."""
    return f"{1e3 * mass:.3g} g" if mass < 1.0 else f"{1e3 * mass:.0f} g"


def millilitres(volume: float) -> str:
    """Return a volume [m^3] in ml, four digits at most."""
    return f"{1e6 * volume:.4g} ml"


def ingredient_rows(card: Card) -> list[list[str]]:
    """Return a row for each ingredient of each pour."""
    return [
        [", ".join(pour.pieces) if k == 0 else "", f"{grams(mass)} {name}",
         f"{100.0 * mass / pour.mass:.3g} %"]
        for pour in card.pours
        for k, (name, mass) in enumerate(pour.ingredients)
    ]  # fmt: skip


def yield_text(card: Card, pour: Pour) -> str:
    """Return how many baits a pot gives, or how large a pot one plate needs."""
    low, value, high = (grams(mass) for mass in pour.one)
    name = ", ".join(pour.pieces)
    weight = f"In one bait {name} weigh {value} ({low} to {high})."
    if pour.plates[1] == 0:
        needed = card.pot * pour.plate / (pour.mass * (1.0 - LEFT))
        return (
            f"None: one pour takes {grams(pour.plate)} and the pot holds {grams(pour.mass)}. A pot "
            f"of {millilitres(needed)} fills it. {weight}"
        )
    of = "" if len(card.pours) == 1 else f" the {name} of"
    baits = f"{pour.baits[1]} ({pour.baits[0]} to {pour.baits[2]})"
    if card.cavities == 1:
        told = f"A pot pours{of} {baits} baits, {grams(pour.plate)} each with runner."
    else:
        told = (
            f"A pot makes{of} {pour.plates[1]} ({pour.plates[0]} to {pour.plates[2]}) pours of "
            f"{card.cavities} cavities, {grams(pour.plate)} each with runner: {baits} baits."
        )
    return f"{told} {weight}"


def filled_text(card: Card) -> str:
    """Return how far the pot is filled, and what is taken off."""
    return (
        f"Fill a pot of {millilitres(card.pot)} with {millilitres(card.filled * card.pot)}, "
        f"measured cold: hot plastisol swells and is stirred. {100.0 * LEFT:.0f} % stays in pot "
        f"and injector, {100.0 * card.runner_share:.0f} % of the parts goes into the runner, which "
        "melts again (common practice, no source)."
    )


def softener_text(card: Card, asked: str) -> str:
    """Return where the softener comes from, or how it would be reckoned."""
    if any(name == "softener" for pour in card.pours for name, _ in pour.ingredients):
        return f"Softener: {asked}. Pour a small cup first and read it after a day."
    return (
        "Compound is what sets to the durometer of the case. To bring a firmer one there, give "
        'its reading and your softener\'s: --base "60 OO" --softener 1.4.'
    )


def pour_text(title: str, card: Card, asked: str) -> str:
    """Return the whole text.

    Parameters
    ----------
    title : str, of the case
    card : Card
    asked : str, the maker's softener in words; empty where none was given
    """
    lines = folded(f"{title}: pour card for a pot of {millilitres(card.pot)}.")
    for pour in card.pours:
        lines += folded(yield_text(card, pour))
    lines += ["", *aligned([[*HEAD], *ingredient_rows(card)]), ""]
    lines += [line for text in (filled_text(card), softener_text(card, asked))
              for line in folded(text)]  # fmt: skip
    lines += ["", *(line for text in cautions(card) for line in folded(text))]
    return "\n".join(lines) + "\n"
