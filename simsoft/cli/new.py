"""``simsoft new``: a starter case, with the schema that editors complete and check it by."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from simsoft.cli import complete
from simsoft.core.errors import InputError

ONE_OF = "say the KIND of part, --demo NAME, or --from MESH; one of them"


@click.command()
@click.argument("kind", required=False, shell_complete=complete.kinds)
@click.option(
    "--demo",
    metavar="NAME",
    help="A demo case instead, such as paddle_100.",
    shell_complete=complete.demos,
)
@click.option("--from", "mesh", metavar="MESH", help="From a bait's STL, 3MF, OBJ, PLY or STEP.")
@click.option("--nose", metavar="AXIS", help="Of the mesh's file, where its nose points: +x ...")
@click.option("--up", metavar="AXIS", help="Of the mesh's file, where its back points: +z ...")
@click.option("--unit", metavar="UNIT", help="Of the mesh's numbers: mm, inch, cm, m.")
@click.option("--out", metavar="FILE", help="Write to a new file instead of stdout.")
def new(kind: str | None, demo: str | None, out: str | None, **drawn: str | None) -> int:
    """Print a commented starter case of a KIND of part (paddle-tail, curl-tail, ...).

    Alone on a terminal it asks the few questions that matter.
    """
    from simsoft.case.json_schema import LINE
    from simsoft.case.starter import demo_case, starter

    mesh = drawn.pop("mesh")
    if sum(choice is not None for choice in (kind, demo, mesh)) > 1:
        raise click.UsageError(ONE_OF)
    if mesh is not None:
        from simsoft.cli.drawn import new_from_mesh

        shown, notes = new_from_mesh(mesh, out, **drawn)
        click.echo(shown, nl=False)
        for note in notes:
            click.echo(note, err=True)
        return 0
    if any(drawn.values()):
        raise click.UsageError("--nose, --up and --unit belong to --from MESH")
    if demo is not None:
        text = demo_case(demo)
    elif kind is not None:
        text = starter(kind)
    elif is_terminal():
        from simsoft.cli.questions import asked_case, asked_file

        text = asked_case()
        out = out or str(asked_file())
    else:
        raise click.UsageError(ONE_OF)
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
