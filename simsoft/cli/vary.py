"""``simsoft vary``: a changed case as a new file that says what it came from."""

from __future__ import annotations

from pathlib import Path

import click

from simsoft.cli import complete
from simsoft.core.errors import InputError

LEFT_OUT = "[[seen]] is left out where the bait is another: look at the new one"


@click.command()
@click.argument("case", shell_complete=complete.files)
@click.option(
    "--set",
    "overrides",
    metavar="PATH=VALUE",
    multiple=True,
    required=True,
    help="Change one value.",
    shell_complete=complete.paths,
)
@click.option("--out", metavar="FILE", required=True, help="The new case file.")
def vary(case: str, overrides: tuple[str, ...], out: str) -> int:
    """Write a CASE with values changed as a new file; its first lines say what it came from."""
    from simsoft.case.files import read_text
    from simsoft.case.read import load, loads
    from simsoft.case.rewrite import descendant
    from simsoft.core.files import write_text

    target = Path(out)
    if target.exists():
        raise InputError(f"{target}: exists already; choose another name")
    made = descendant(read_text(case), overrides, case)
    found = loads(made, str(target))
    write_text(target, made)
    click.echo(f"wrote {target}", err=True)
    if load(case).seen and not found.seen:
        click.echo(LEFT_OUT, err=True)
    return 0
