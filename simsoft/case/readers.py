"""How each kind of key is read, and how it is written: what the schema's tables are made of."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated, Any, Literal, get_args

from pydantic import PlainValidator

from simsoft.case import fields
from simsoft.case.model import Vector

Form = Literal[
    "scalar", "series", "vector", "taper", "curve", "curves", "line", "path", "whole",
    "choice", "switch", "text", "name", "direction", "shares", "durometer",
]  # fmt: skip


@dataclass(frozen=True)
class Read(PlainValidator):
    """The reader of a key with what a user writes there.

    Attributes
    ----------
    form : str, how the value is written
    key : str, row of ``LIMITS`` that holds range and example; empty for words
    words : tuple of str, what a choice allows
    """

    form: Form = "text"
    key: str = ""
    words: tuple[str, ...] = ()


def _of_key(make: Callable[[str], Callable[[Any], Any]], form: Form) -> Callable[[str], Read]:
    """Return what makes the reader of a key, a row of the table of limits."""
    return lambda key: Read(make(key), form=form, key=key)


number = _of_key(fields.scalar_reader, "scalar")
whole = _of_key(fields.whole_reader, "whole")
series = _of_key(fields.series_reader, "series")
vector = _of_key(fields.vector_reader, "vector")
taper = _of_key(fields.taper_reader, "taper")  # a size along a length
profile = _of_key(fields.profile_reader, "taper")  # a largest size, or one along a length
path = _of_key(fields.path_reader, "path")  # points in space


def curve() -> Read:
    """Return the reader of a closed curve."""
    return Read(fields.curves_reader(1), form="curve", key="parts.outline")


def curves() -> Read:
    """Return the reader of several closed curves."""
    return Read(fields.curves_reader(2), form="curves", key="parts.outline")


def line() -> Read:
    """Return the reader of a line of points."""
    return Read(fields.curves_reader(1, fewest=2), form="line", key="parts.outline")


def choice(kind: object) -> Read:
    """Return the reader of one word of a closed list, given as a literal type or a list."""
    known = tuple(kind) if isinstance(kind, list) else get_args(kind)
    return Read(fields.choice_reader(known), form="choice", words=known)


Switch = Annotated[bool, Read(fields.read_switch, form="switch")]
Direction = Annotated[Vector, Read(fields.read_direction, form="direction")]
Name = Annotated[str, Read(fields.read_name, form="name")]
Text = Annotated[str, Read(fields.read_title, form="text")]
FileName = Annotated[str, Read(fields.read_file_name, form="text")]
Shares = Annotated[tuple[float, float], Read(fields.read_shares, form="shares")]
Hardness = Annotated[
    tuple[Literal["OO", "A"], float],
    Read(fields.read_durometer, form="durometer", key="material.durometer"),
]
