"""``simsoft new``: a starter case, with the schema that editors complete and check it by."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from simsoft.cli import complete
from simsoft.core.errors import InputError


@click.command()
@click.argument("kind", required=False, shell_complete=complete.kinds)
@click.option(
    "--demo",
    metavar="NAME",
    help="A demo case instead, such as paddle_100.",
    shell_complete=complete.demos,
)
@click.option("--out", metavar="FILE", help="Write to a new file instead of stdout.")
def new(kind: str | None, demo: str | None, out: str | None) -> int:
    """Print a commented starter case of a KIND of part (paddle-tail, curl-tail, ...).

    Alone on a terminal it asks the few questions that matter.
    """
    from simsoft.case.json_schema import LINE
    from simsoft.case.starter import demo_case, starter

    if kind is not None and demo is not None:
        raise click.UsageError("say either the KIND of part, or --demo NAME for a demo case")
    if demo is not None:
        text = demo_case(demo)
    elif kind is not None:
        text = starter(kind)
    elif is_terminal():
        from simsoft.cli.questions import asked_case, asked_file

        text = asked_case()
        out = out or str(asked_file())
    else:
        raise click.UsageError("say either the KIND of part, or --demo NAME for a demo case")
    text = f"{LINE}\n{text}"
    if out is None:
        click.echo(text, nl=False)
        return 0
    written = _write(Path(out), text)
    click.echo(f"wrote {' and '.join(written)}; next: simsoft run {out}", err=True)
    return 0


def is_terminal() -> bool:
    """Tell whether somebody sits there to be asked."""
    return sys.stdin.isatty() and sys.stderr.isatty()


def _write(path: Path, text: str) -> list[str]:
    """Write a new case, and beside it the schema where there is none of this version."""
    from simsoft.case.files import read_text
    from simsoft.case.json_schema import FILE, schema_text
    from simsoft.core.files import write_text

    if path.exists():
        raise InputError(f"{path}: exists already; choose another name")
    written = [str(write_text(path, text))]
    schema, wanted = path.parent / FILE, schema_text()
    if not schema.exists() or read_text(schema) != wanted:
        written.append(str(write_text(schema, wanted)))
    return written
