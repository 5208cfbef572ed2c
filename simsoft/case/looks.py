"""Looks and the text of a changed case: what was seen stays with the bait that it was seen of."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Sequence
from typing import Any

from simsoft.case.files import read_tables
from simsoft.case.model import Case
from simsoft.case.read import loads
from simsoft.core.errors import InputError

# What makes a bait; title, wishes, scatter, scenarios and the shop leave it as it is.
BAIT = ("material", "parts", "body", "rig", "profile")
_LOOK = re.compile(r"\s*\[\[\s*(seen|\"seen\"|'seen')\s*\]\]")
_HEAD = re.compile(r"\s*\[")


def with_own_looks(before: str, after: str, name: str, told: Sequence[str]) -> str:
    """Return a changed text without looks that are not of its bait, with comment lines instead.

    Parameters
    ----------
    before, after : str, TOML, of the case that was looked at and of the changed one
    name : str, stands for the file in messages
    told : sequence of str, lines that say whose looks they were

    Raises
    ------
    InputError
        The looks cannot be taken out of the text.
    """
    tables = read_tables(after, name)
    if not tables.get("seen") or _same_bait(before, after, name):
        return after
    lines = [f"# {line}" for line in told]
    kept = {key: value for key, value in tables.items() if key != "seen"}
    for made in (_commented(after, lines), _taken_out(after, lines)):
        if _holds(made, kept):
            return made
    raise InputError(f"{name}: seen: cannot be taken out of this text; edit it by hand")


def _same_bait(before: str, after: str, name: str) -> bool:
    """Tell whether two texts are of one bait, looked at in the same water."""
    try:
        first, second = loads(before, name), loads(after, name)
    except InputError:  # told where the changed text is read
        return False
    return _looked_at(first) == _looked_at(second)


def _looked_at(case: Case) -> list[Any]:
    own_water = any(seen.temperature is None for seen in case.seen)
    return [getattr(case, key) for key in BAIT] + [case.water if own_water else None]


def _commented(text: str, told: Sequence[str]) -> str:
    """Return the text with every line of its ``[[seen]]`` as a comment."""
    return "".join(f"{line}\n" for line in _lines(text, told))


def _lines(text: str, told: Sequence[str]) -> Iterator[str]:
    inside, first = False, True
    for line in text.splitlines():
        if _HEAD.match(line):
            inside = _LOOK.match(line) is not None
            if inside and first:
                yield from told
                first = False
        plain = line.strip()
        yield f"# {line}" if inside and plain and not plain.startswith("#") else line


def _taken_out(text: str, told: Sequence[str]) -> str:
    """Return the text without its ``seen`` in whatever form it stands."""
    import tomlkit

    document = tomlkit.parse(text)
    document.remove("seen")
    return "\n".join([*told, tomlkit.dumps(document)])


def _holds(text: str, wanted: dict[str, Any]) -> bool:
    try:
        return tomllib.loads(text) == wanted
    except tomllib.TOMLDecodeError:
        return False
