"""Commands as functions: the same words, the same answers, as objects instead of text.

``simsoft.pick("tail.toml", vary=["parts.tail.thickness=2:3:0.2 mm"], samples=64)`` is what
``simsoft pick tail.toml --vary ... --samples 64 --json`` prints, read back.
"""

from __future__ import annotations

import io
import json
from collections.abc import Sequence
from contextlib import redirect_stdout
from pathlib import Path
from typing import Any

import click

from simsoft import COMMANDS
from simsoft.cli.main import commands
from simsoft.core.errors import InputError, SimsoftError

Value = str | float | int | bool | Path | None


def call(name: str, *words: str | Path, **options: Value | Sequence[Value]) -> Any:
    """Run a command and return its answer.

    Parameters
    ----------
    name : str, one of ``simsoft.COMMANDS``
    words : str or Path, what stands on the command line without a dash: case, files, folders
    options : of the command by name, ``_`` for ``-``; a list repeats one, True sets a flag

    Returns
    -------
    answer : dict, the command's JSON object in SI units

    Raises
    ------
    InputError
        The command, an option or an input is wrong; one line a problem.
    SimsoftError
        The run failed.
    """
    command = commands.commands.get(name) if name in COMMANDS else None
    if command is None:
        raise InputError([f"{name}: no such command; there are {', '.join(COMMANDS)}"])
    asked = {parameter.name for parameter in command.params}
    flags = [flag for key, flag in (("as_json", "--json"), ("quiet", "--quiet")) if key in asked]
    line = [name, *map(str, words), *_spelled(options), *flags]
    printed = io.StringIO()
    try:
        with redirect_stdout(printed):
            status = commands.main(line, prog_name="simsoft", standalone_mode=False)
    except click.UsageError as error:
        raise InputError([f"simsoft {name}: {error.format_message()}"]) from error
    text = printed.getvalue()
    try:
        return json.loads(text)
    except json.JSONDecodeError:
        raise SimsoftError(f"simsoft {name} ended with status {status}: {text.strip()}") from None


def _spelled(options: dict[str, Any]) -> list[str]:
    """Return options as the command line spells them."""
    line: list[str] = []
    for key, value in options.items():
        flag = f"--{key.replace('_', '-')}"
        for one in value if isinstance(value, (list, tuple)) else [value]:
            if one is True:
                line.append(flag)
            elif one is not None and one is not False:
                line += [flag, str(one)]
    return line
