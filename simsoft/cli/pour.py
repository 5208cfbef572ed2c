"""``simsoft pour``: the pour card of a case for the maker's pot."""

from __future__ import annotations

import json
from dataclasses import asdict

import click

from simsoft import __version__
from simsoft.cli import complete
from simsoft.core.errors import InputError

POINTS = (0.05, 20.0)  # Shore points that 1 % of softener takes off


@click.command()
@click.argument("case", shell_complete=complete.files)
@click.option("--pot", metavar="VOLUME", required=True, help='Size of the pot, such as "500 ml".')
@click.option("--base", metavar="SHORE", help='Compound as bought, such as "60 OO".')
@click.option(
    "--softener",
    metavar="POINTS",
    type=click.FloatRange(*POINTS),
    help="Shore points that 1 % takes off.",
)
@click.option(
    "--set",
    "overrides",
    metavar="PATH=VALUE",
    multiple=True,
    help="Change.",
    shell_complete=complete.paths,
)
@click.option("--out", metavar="DIR", help="Where the card is kept; default CASE_sweep.")
@click.option("--json", "as_json", is_flag=True, help="One JSON object on stdout, SI.")
@click.option("--quiet", is_flag=True, help="No notes on stderr.")
def pour(
    case: str,
    pot: str,
    base: str | None,
    softener: float | None,
    overrides: tuple[str, ...],
    out: str | None,
    as_json: bool,
    quiet: bool,
) -> int:
    """What goes into a pot for a CASE, how many baits it pours, and the cautions."""
    from simsoft.case.read import load
    from simsoft.cli.design import print_shown, results_directory
    from simsoft.cli.keep import keep_answer
    from simsoft.core.files import made_directory
    from simsoft.design.pour import Softener, pour_card
    from simsoft.report.html.pour import pour_sheet
    from simsoft.report.text.pour import pour_text

    checked = load(case, overrides)
    volume = _volume(pot)
    soft, asked = None, ""
    if base is not None or softener is not None:
        if base is None or softener is None:
            raise InputError('--base and --softener go together: --base "60 OO" --softener 1.4')
        soft = Softener(_points(base, checked.material.hardness_scale), softener)
        asked = (
            f"{softener:g} points a per cent by mass, from {base.strip()}, by your own two pours"
        )
    try:
        card = pour_card(checked, volume, soft)
    except InputError as error:
        lines = [x if x.startswith("--") else f"{case}: {x}" for x in error.problems]
        raise InputError(lines) from None
    directory = made_directory(results_directory(case, out))
    body = json.dumps(
        {"simsoft": __version__, "case": checked.title, "pour": asdict(card)},
        indent=1,
        allow_nan=False,
    )
    text = pour_text(checked.title, card, asked)
    notes = [f"warning: {warning}" for warning in checked.warnings]
    sheet = pour_sheet(checked.title, card, asked)
    notes.append(keep_answer(directory, "pour", sheet, text, body, checked.text))
    return print_shown(body if as_json else text, notes, quiet)


def _volume(text: str) -> float:
    """Return the size of the pot [m^3]."""
    from simsoft.case import units
    from simsoft.design.pour import POT

    try:
        found = units.parse(text, "m^3")
    except units.QuantityError as problem:
        raise InputError(f"--pot: {text!r} {problem}; write it as '500 ml'") from None
    if not POT[0] <= found <= POT[1]:
        raise InputError(
            f"--pot: {text!r} is no size of a pot; {1e6 * POT[0]:g} ml to {1e3 * POT[1]:g} l"
        )
    return found


def _points(text: str, scale: str | None) -> float:
    """Return Shore points on the scale of the case."""
    from simsoft.case import units

    try:
        found, points = units.parse_durometer(text)
    except units.QuantityError as problem:
        raise InputError(f"--base: {text!r} {problem}; write it as '60 OO'") from None
    if scale is not None and found != scale:
        raise InputError(f"--base: {text!r} is on scale {found}, the case on {scale}")
    return points
