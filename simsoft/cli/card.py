"""``simsoft card``: the pocket card of a run for one reel."""

from __future__ import annotations

from pathlib import Path

import click

from simsoft.cli import complete
from simsoft.core.errors import InputError

TURN = (0.05, 3.0)  # [m] that a reel takes up in a turn; outside it is a slip of the pen
SPOOL = (0.01, 0.2)  # [m]
RATIO = (1.0, 15.0)


@click.command()
@click.argument("directory", metavar="DIR", shell_complete=complete.folders)
@click.option("--turn", metavar="LENGTH", help='Line taken up in a turn, such as "0.7 m".')
@click.option("--spool", metavar="LENGTH", help='Spool over the line, such as "45 mm".')
@click.option("--ratio", metavar="N", type=float, help="Turns of the spool in one of the crank.")
@click.option("--quiet", is_flag=True, help="No notes on stderr.")
def card(
    directory: str, turn: str | None, spool: str | None, ratio: float | None, quiet: bool
) -> int:
    """Write DIR/card.html: crank, speed and beat, seconds to a depth, casts by wind."""
    from simsoft.report.folder import add_to_list
    from simsoft.report.html.card import write_card
    from simsoft.results.hdf5_reader import read_run

    taken = _taken_up(turn, spool, ratio)
    path = write_card(read_run(Path(directory) / "results.h5"), taken, directory)
    add_to_list(Path(directory), path)
    if not quiet:
        click.echo(f"wrote {path}", err=True)
    return 0


def _taken_up(turn: str | None, spool: str | None, ratio: float | None) -> float:
    """Return what the reel takes up in a turn [m]."""
    from simsoft.report.html.card import retrieve_of

    if turn is not None and spool is None and ratio is None:
        return _length("--turn", turn, TURN, "0.7 m")
    if turn is None and spool is not None and ratio is not None:
        if not RATIO[0] <= ratio <= RATIO[1]:
            raise InputError(
                f"--ratio: {ratio:g} is no gear of a reel; {RATIO[0]:g} to {RATIO[1]:g}"
            )
        return retrieve_of(_length("--spool", spool, SPOOL, "45 mm"), ratio)
    raise InputError('the reel is needed: --turn "0.7 m", or --spool "45 mm" with --ratio 6.2')


def _length(option: str, text: str, ends: tuple[float, float], example: str) -> float:
    from simsoft.case import units

    try:
        found = units.parse(text, "m")
    except units.QuantityError as problem:
        raise InputError(f"{option}: {text!r} {problem}; write it as {example!r}") from None
    if not ends[0] <= found <= ends[1]:
        raise InputError(f"{option}: {text!r} is no size of a reel; {ends[0]:g} m to {ends[1]:g} m")
    return found
