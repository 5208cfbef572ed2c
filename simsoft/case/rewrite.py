"""Values put back into the text of a case; comments, order and layout stay as they are."""

from __future__ import annotations

import hashlib
import tomllib
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from simsoft.case.files import read_tables, read_text
from simsoft.case.looks import with_own_looks
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

    What was seen of the ancestor is left out as comments where the bait is another; of that bait
    the ancestor with ``--set`` tells. Parameters, result and errors are those of `with_values`.
    """
    origin = Path(name).name
    told = (
        f"What was seen of {origin} is left out: it is of that bait, not of this one.",
        f"simsoft run {origin} with --set of the first lines tells this one given it.",
    )
    changed = with_own_looks(text, with_values(text, overrides, name), name, told)
    digest = hashlib.sha256(text.encode()).hexdigest()[:DIGITS]
    lines = [f"# From {origin} ({digest}):", *(f"#   {item}" for item in overrides)]
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

    What was seen is left in as comments where the bait is another after that.

    Raises
    ------
    InputError
        As `with_values`.
    OutputError
        If the file cannot be written.
    """
    before = read_text(path)
    told = ("What was seen is left out: it is of the bait as it was before values were put back.",)
    changed = with_values(before, overrides, str(path))
    return write_text(path, with_own_looks(before, changed, str(path), told))
