"""``simsoft keys``: what a case may say, as a list, key by key, or as a JSON Schema for editors."""

from __future__ import annotations

from collections.abc import Sequence
from textwrap import wrap
from typing import TYPE_CHECKING

import click

from simsoft.cli import complete
from simsoft.cli.console import terminal_columns
from simsoft.core.errors import InputError

if TYPE_CHECKING:
    from simsoft.case.keys import Key

WIDTH = 100


@click.command()
@click.argument("key", required=False, shell_complete=complete.case_keys)
@click.option("--schema", is_flag=True, help="The JSON Schema of a case, for editors.")
@click.option("--out", metavar="FILE", help="Write it to a file instead of stdout.")
def keys(key: str | None, schema: bool, out: str | None) -> int:
    """List the keys of a case; with a KEY or a word of a meaning, say what it may be."""
    from simsoft.case.keys import all_keys

    if schema and key is not None:
        raise InputError("--schema is of all keys; leave the KEY out")
    if schema:
        from simsoft.case.json_schema import schema_text

        text = schema_text()
    elif key is None:
        text = _list(all_keys())
    else:
        text = _told(key)
    if out is None:
        click.echo(text, nl=False)
        return 0
    from simsoft.core.files import write_text

    click.echo(f"wrote {write_text(out, text)}", err=True)
    return 0


def _told(word: str) -> str:
    """Return what a key means and may be, or a line for each key that a word stands for."""
    from simsoft.case.keys import find, keys_about

    try:
        return "\n".join(_one(found) for found in find(word))
    except InputError:
        spoken = keys_about(word)
        if not spoken:
            raise
        return f"No key is called {word}. These are about it:\n\n{_list(spoken)}"


def _list(found: Sequence[Key]) -> str:
    """Return one line a key, tables above their keys."""
    width = max(len(key.path) for key in found)
    lines: list[str] = []
    for key in found:
        table = key.form in ("table", "list")
        if table and lines:
            lines.append("")
        unit = "" if key.limit is None else key.limit.unit
        mark = "*" if key.needed else " "
        name = key.example if table else key.path
        head = f"{mark} {name:<{width}}  {unit:<9}  "
        first, *more = wrap(key.meaning, WIDTH - len(head)) or [""]
        lines += [f"{head}{first}".rstrip(), *(" " * len(head) + line for line in more)]
    lines += ["", "* is needed where its table stands. `simsoft keys KEY` says what it may be."]
    return "\n".join(lines) + "\n"


def _one(key: Key) -> str:
    """Return what one key means and may be."""
    from simsoft.case.keys import WRITTEN, allowed, usual

    unit = "" if key.limit is None else key.limit.unit
    told = (
        ("written as", WRITTEN[key.form]),
        ("unit", f"{unit}, or another of its kind" if unit else ""),
        ("allowed", allowed(key)),
        ("usual", usual(key)),
        ("example", _line(key)),
        ("default", key.default or ("none, it is needed" if key.needed else "none")),
    )
    width = terminal_columns(WIDTH)
    lines = [key.path, *wrap(key.meaning, width, initial_indent="  ", subsequent_indent="  ")]
    for name, text in told:
        if text:
            head = f"  {name:<12}"
            behind = " " * len(head)
            lines += wrap(text, width, initial_indent=head, subsequent_indent=behind)
    return "\n".join(lines) + "\n"


def _line(key: Key) -> str:
    if key.form in ("table", "list"):
        return key.example
    return f"{key.path.split('.')[-1]} = {key.example}"
