"""``simsoft log``: the versions of a design in a folder."""

from __future__ import annotations

import click

from simsoft.cli import complete


@click.command()
@click.argument("directory", metavar="DIR", shell_complete=complete.folders)
@click.option("--json", "as_json", is_flag=True, help="One JSON object on stdout, SI units.")
@click.option("--quiet", is_flag=True, help="No notes on stderr.")
def log(directory: str, as_json: bool, quiet: bool) -> int:
    """List the cases in DIR: ancestry, sizes, pour, prediction, looks, measurements, money."""
    from simsoft.aquarium.files.history import measured_of
    from simsoft.design.log import versions
    from simsoft.report.text.log import log_json, log_text

    found, skipped = versions(directory)
    seen, untold = measured_of(directory, {v.file: v.case.text for v in found})
    click.echo((log_json(found, seen) if as_json else log_text(found, seen)).rstrip("\n"))
    skipped += untold
    if not quiet:
        for note in skipped:
            click.echo(f"warning: {note}", err=True)
    return 0
