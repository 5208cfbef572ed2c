"""``simsoft log``: the versions of a design in a folder."""

from __future__ import annotations

import click

from simsoft.cli import complete


@click.command()
@click.argument("directory", metavar="DIR", shell_complete=complete.folders)
@click.option("--json", "as_json", is_flag=True, help="One JSON object on stdout, SI units.")
@click.option("--quiet", is_flag=True, help="No notes on stderr.")
def log(directory: str, as_json: bool, quiet: bool) -> int:
    """List the cases in DIR: ancestry, sizes, pour, prediction, what was seen, money."""
    from simsoft.design.log import versions
    from simsoft.report.text.log import log_json, log_text

    found, skipped = versions(directory)
    click.echo((log_json(found) if as_json else log_text(found)).rstrip("\n"))
    if not quiet:
        for note in skipped:
            click.echo(f"warning: {note}", err=True)
    return 0
