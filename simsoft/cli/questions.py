"""The few questions that matter, asked on a terminal, and the case that the answers make."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from simsoft.case.keys import find
from simsoft.case.read import loads
from simsoft.case.rewrite import with_values
from simsoft.case.starter import KINDS, starter
from simsoft.core.errors import InputError

# Asked in this order where the starter case has them; `*` stands for the name of its part.
ASKED = (
    "title",
    "water.temperature",
    "material.durometer",
    "body.length",
    "parts.*.length",
    "parts.*.width",
    "parts.*.thickness",
    "parts.*.diameter",
    "parts.*.paddle_diameter",
    "parts.*.paddle_offset",
    "scenarios.retrieve.speed",
)


def asked_case() -> str:
    """Ask on the terminal and return the text of the case; Enter keeps what is offered."""
    click.echo("Enter keeps what stands in brackets; everything can be edited later.", err=True)
    kind = click.prompt("What do you make", default="swim-bait", type=click.Choice(KINDS), err=True)
    text = starter(kind)
    for pattern in ASKED:
        text = _asked(text, pattern)
    return text


def asked_file() -> Path:
    """Ask for the name of a new file."""
    while True:
        path = Path(click.prompt("Write it to", default="lure.toml", err=True))
        if not path.exists():
            return path
        click.echo(f"{path} exists already; choose another name", err=True)


def _asked(text: str, pattern: str) -> str:
    """Ask for one value until it is allowed; return the text that holds it."""
    import tomllib

    path, offered = _found(tomllib.loads(text), pattern)
    if offered is None:
        return text
    key = find(pattern.replace(".*", "").replace(".retrieve", ""))[0]
    while True:
        answer = click.prompt(
            f"{key.meaning.rstrip('.')}", default=offered, type=str, err=True
        ).strip()
        if answer == offered:
            return text
        try:
            changed = with_values(text, [f"{path}={_toml(answer, key.form)}"])
            loads(changed, "the answer")
        except InputError as error:
            click.echo(f"  {error.problems[0]}", err=True)
        else:
            return changed


def _found(tables: dict[str, Any], pattern: str) -> tuple[str, str | None]:
    """Return the path and the text of a value of the starter case; None where it has none."""
    room, _, rest = pattern.partition(".")
    if not rest:
        return pattern, str(tables[room])
    wanted, _, key = rest.rpartition(".")
    entries = tables.get(room, {})
    if isinstance(entries, list):
        entry: dict[str, Any] = next((e for e in entries if wanted in ("*", e["name"])), {})
        path = f"{room}.{entry.get('name')}.{key}"
    else:
        entry, path = entries, pattern
    value = entry.get(key)
    if isinstance(value, list):
        return path, ", ".join(map(str, value))
    return path, value if isinstance(value, str) else None


def _toml(answer: str, form: str) -> str:
    """Return an answer as TOML: commas part a list where the key takes one."""
    if form in ("taper", "series") and "," in answer:
        items = ", ".join(f'"{item.strip()}"' for item in answer.split(","))
        return f"[{items}]"
    quoted = answer.replace("\\", "\\\\").replace('"', '\\"')
    return f'"{quoted}"'
