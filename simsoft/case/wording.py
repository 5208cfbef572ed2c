"""How problems are worded: the given value, key paths and suggestions."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Sequence
from typing import Any, NamedTuple

_LONGEST = 60
MOST_LINES = 100  # of problems told at once
_NAMED = ("parts", "scenarios", "brief", "rig.weights")  # lists whose entries have names
Place = tuple[str | int, ...]


class Problem(NamedTuple):
    """One complaint: where in the case tables, and the sentence about it."""

    place: Place
    text: str


def printable(text: str) -> str:
    """Return a text that is safe to show on one line of a terminal."""
    return "".join(c if c.isprintable() else f"\\x{ord(c):02x}" for c in text)


def given(value: Any, quoted: bool = False) -> str:
    """Return a given value in backticks on one line, shortened where long.

    A text stands without its quotes unless ``quoted``, for keys where the quotes are the mistake.
    """
    try:
        plain = isinstance(value, str) and value.strip() and not quoted
        text = value if plain else _toml(value)
    except (ValueError, RecursionError):  # integers of thousands of digits, deep nesting
        return "a value too large to show"
    text = printable(text[: 4 * _LONGEST])
    return f"`{text if len(text) <= _LONGEST else text[:_LONGEST] + '…'}`"


def _toml(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return f'"{value}"'
    if isinstance(value, list):
        return "[" + ", ".join(_toml(item) for item in value) + "]"
    if isinstance(value, dict):
        return "{" + ", ".join(f"{key} = {_toml(item)}" for key, item in value.items()) + "}"
    return str(value)


def suggestion(word: str, known: Iterable[str]) -> str:
    """Return ``" (did you mean `x`?)"`` for the nearest known word, or an empty text."""
    written = {one.lower(): one for one in known}
    near = difflib.get_close_matches(word[:100].lower(), list(written), n=1, cutoff=0.65)
    return f" (did you mean `{written[near[0]]}`?)" if near else ""


def unknown_key(key: str, known: Sequence[str]) -> str:
    """Return the complaint about a key that is not in the list."""
    return f"unknown key{suggestion(key, known) or '; allowed are ' + ', '.join(known)}"


def shortened(lines: Sequence[str]) -> list[str]:
    """Cut an endless list of problems; the rest shows once the first ones are mended."""
    rest = len(lines) - MOST_LINES
    return list(lines) if rest <= 0 else [*lines[:MOST_LINES], f"and {rest} more problems"]


def is_name(value: Any) -> bool:
    """Tell whether a value can name a part or a scenario and stand in a PATH."""
    if not isinstance(value, str) or len(value) > 60:
        return False
    return value.replace("-", "a").replace("_", "a").isalnum()


def key_path(place: Place, raw: Any) -> str:
    """Return the path a user would write: entries of lists by name, else by number from 1.

    Parameters
    ----------
    place : tuple
        Keys and list positions from the top of the case.
    raw : object
        The tables as read, to look up names.
    """
    path = ""
    for step in place:
        raw = _child(raw, step)
        if isinstance(step, str):
            shown = given(step)[1:-1]
            path += f".{shown}" if path else shown
        elif path in _NAMED and is_name(_child(raw, "name")):
            path += f".{_child(raw, 'name')}"
        else:
            path += f"[{step + 1}]"
    return path


def _child(raw: Any, step: str | int) -> Any:
    try:
        return raw[step]
    except (KeyError, IndexError, TypeError):
        return None
