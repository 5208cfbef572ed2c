"""How each kind of key is read, and how it is written: what the schema's tables are made of."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal, get_args

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


def number(key: str) -> Read:
    """Return the reader of one number of the table of limits."""
    return Read(fields.scalar_reader(key), form="scalar", key=key)


def whole(key: str) -> Read:
    """Return the reader of a whole number."""
    return Read(fields.whole_reader(key), form="whole", key=key)


def series(key: str) -> Read:
    """Return the reader of one number or a list."""
    return Read(fields.series_reader(key), form="series", key=key)


def vector(key: str) -> Read:
    """Return the reader of three numbers."""
    return Read(fields.vector_reader(key), form="vector", key=key)


def taper(key: str) -> Read:
    """Return the reader of a size along a length."""
    return Read(fields.taper_reader(key), form="taper", key=key)


def profile(key: str) -> Read:
    """Return the reader of a largest size, or of one along a length."""
    return Read(fields.profile_reader(key), form="taper", key=key)


def path(key: str) -> Read:
    """Return the reader of a list of points in space."""
    return Read(fields.path_reader(key), form="path", key=key)


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
