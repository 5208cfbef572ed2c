"""Values put back into the text of a case; comments, order and layout stay as they are."""

from __future__ import annotations

import hashlib
import tomllib
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from simsoft.case.files import read_tables, read_text
from simsoft.case.overrides import apply, put
from simsoft.core.errors import InputError
from simsoft.core.files import write_text

DIGITS = 12  # of the digest of an ancestor


def with_values(text: str, overrides: Sequence[str], name: str = "<text>") -> str:
    """Return the text of a case with values changed.

    Parameters
    ----------
    text : str, TOML
    overrides : sequence of str, ``PATH=VALUE`` as after ``--set``, in order
    name : str, stands for the file in messages

    Raises
    ------
    InputError
        An override cannot be applied, or the text cannot take it.
    """
    import tomlkit

    wanted, problems = apply(read_tables(text, name), overrides)
    if problems:
        raise InputError([f"{name}: {problem}" for problem in problems])
    document = tomlkit.parse(text)
    for override in overrides:
        put(document, override, _in_line)
    changed = tomlkit.dumps(document)
    if tomllib.loads(changed) != wanted:
        raise InputError(f"{name}: values cannot be put back into this text; edit it by hand")
    return changed


def descendant(text: str, overrides: Sequence[str], name: str) -> str:
    """Return the text of a changed case whose first lines say what it came from.

    Parameters, result and errors are those of `with_values`.
    """
    changed = with_values(text, overrides, name)
    digest = hashlib.sha256(text.encode()).hexdigest()[:DIGITS]
    lines = [f"# From {Path(name).name} ({digest}):", *(f"#   {item}" for item in overrides)]
    return "\n".join([*lines, changed])


def _in_line(value: Any) -> Any:
    """Return a value as an item of one line."""
    import tomlkit

    if not isinstance(value, dict):
        return tomlkit.item(value)
    table = tomlkit.inline_table()
    table.update(value)
    return table


def write_values(path: str | Path, overrides: Sequence[str]) -> Path:
    """Put values back into a case file, whole or not at all, and return its path.

    Raises
    ------
    InputError
        As `with_values`.
    OutputError
        If the file cannot be written.
    """
    return write_text(path, with_values(read_text(path), overrides, str(path)))
