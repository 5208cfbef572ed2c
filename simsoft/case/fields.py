"""Field types of the case schema: each reads one TOML value into SI and explains what it refuses.

A refusal is a complete sentence part, "`given` what is wrong; what is allowed", so that the reader
only puts the file and the key in front of it.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Sequence
from typing import Any

from pydantic_core import PydanticCustomError

from simsoft.case import units
from simsoft.case.limits import LIMITS, Limit, outside
from simsoft.case.model import Ring, Taper, Vector
from simsoft.case.wording import given, is_name, suggestion

REFUSED = "refused"


def refuse(text: str) -> PydanticCustomError:
    """Return the exception that carries one finished complaint through the schema library."""
    return PydanticCustomError(REFUSED, "{text}", {"text": text})


def number_in_unit(value: Any, limit: Limit) -> float:
    """Return ``value`` as a number in ``limit.unit``; ValueError with the complaint otherwise.

    Parameters
    ----------
    value : object
        A text with a unit, or a bare number where ``limit.unit`` is empty.
    limit : Limit
        The row of the table for this key.
    """
    number = _bare(value, limit) if not limit.unit else _with_unit(value, limit)
    complaint = outside(number, limit)
    if complaint:
        raise ValueError(f"{given(value)} {complaint}")
    return number


def _with_unit(value: Any, limit: Limit) -> float:
    needed = f'a quantity with its unit is needed, such as "{_sample(limit)}"'
    if not isinstance(value, str):
        what = "has no unit" if _is_number(value) else "is not a quantity"
        if isinstance(value, float) and not math.isfinite(value):
            what = "is not a finite number"
        raise ValueError(f"{given(value)} {what}; {needed}")
    try:
        return units.parse(value, limit.unit)
    except units.QuantityError as problem:
        raise ValueError(f"{given(value)} {problem}; {needed}") from None


def _sample(limit: Limit) -> str:
    """Return one plain example; lists of quantities show their first entry."""
    return limit.example.split('"')[1] if '"' in limit.example else limit.example


def _bare(value: Any, limit: Limit) -> float:
    needed = f"a plain number is needed, such as {limit.example}"
    if limit.fraction and isinstance(value, str):
        try:
            return units.parse(value, "dimensionless")
        except units.QuantityError as problem:
            raise ValueError(f"{given(value)} {problem}; {needed}") from None
    if not _is_number(value):
        raise ValueError(f"{given(value, quoted=True)} is not a number; {needed}")
    try:
        number = float(value)
    except OverflowError:
        number = math.inf
    if not math.isfinite(number):
        raise ValueError(f"{given(value)} is not a finite number; {needed}")
    return number


def _is_number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _to_si(number: float, limit: Limit) -> float:
    return units.convert(number, limit.unit, limit.si) if limit.unit else number


def scalar_reader(key: str) -> Callable[[Any], float]:
    """Return the reader of one number of the table ``LIMITS``, to SI."""
    limit = LIMITS[key]

    def read(value: Any) -> float:
        try:
            return _to_si(number_in_unit(value, limit), limit)
        except ValueError as problem:
            raise refuse(str(problem)) from None

    return read


def series_reader(key: str) -> Callable[[Any], tuple[float, ...]]:
    """Return the reader of one number or a list of at least one, to SI."""
    one = scalar_reader(key)

    def read(value: Any) -> tuple[float, ...]:
        if not isinstance(value, list):
            return (one(value),)
        if not value:
            sample = _sample(LIMITS[key])
            raise refuse(f'`[]` is empty; one quantity such as "{sample}" or a list is needed')
        return tuple(one(item) for item in value)

    return read


def vector_reader(key: str) -> Callable[[Any], Vector]:
    """Return the reader of a list of three quantities, to SI."""
    one = scalar_reader(key)
    sample = LIMITS[key].example

    def read(value: Any) -> Vector:
        if not isinstance(value, list) or len(value) != 3:
            raise refuse(
                f"{given(value)} is not a list of three; "
                f"three quantities are needed, such as {sample}"
            )
        return one(value[0]), one(value[1]), one(value[2])

    return read


def read_direction(value: Any) -> tuple[float, float, float]:
    """Read a bare direction of three numbers and normalise it."""
    needed = "three plain numbers not all zero are needed, such as [1, 0, 0]"
    if not isinstance(value, list) or len(value) != 3 or not all(map(_is_number, value)):
        raise refuse(f"{given(value)} is not a direction; {needed}")
    try:
        numbers = [float(item) for item in value]
    except OverflowError:
        numbers = [math.inf]
    largest = max(abs(item) for item in numbers)
    if not all(map(math.isfinite, numbers)) or not 1e-6 <= largest <= 1e6:
        raise refuse(f"{given(value)} is not a direction; {needed}")
    norm = math.hypot(*numbers)
    return numbers[0] / norm, numbers[1] / norm, numbers[2] / norm


def taper_reader(key: str) -> Callable[[Any], Taper]:
    """Return the reader of a size: one value, [root, tip], or a table along the length."""
    one = scalar_reader(key)
    sample = LIMITS[key].example
    needed = (
        f'one size such as "{sample}", [root, tip], or '
        "{ at = [0, 0.5, 1], value = [..] } is needed"
    )

    def read(value: Any) -> Taper:
        if isinstance(value, dict):
            return _table(value, one, needed)
        if isinstance(value, list):
            if len(value) != 2:
                raise refuse(f"{given(value)} is a list of {len(value)}; {needed}")
            return Taper((0.0, 1.0), (one(value[0]), one(value[1])))
        size = one(value)
        return Taper((0.0, 1.0), (size, size))

    return read


def profile_reader(key: str) -> Callable[[Any], float | Taper]:
    """Return the reader of a size whose one value is the largest, spread by a known profile."""
    one, along = scalar_reader(key), taper_reader(key)

    def read(value: Any) -> float | Taper:
        return along(value) if isinstance(value, dict | list) else one(value)

    return read


def curves_reader(depth: int, fewest: int = 3) -> Callable[[Any], tuple[Ring, ...]]:
    """Return the reader of one curve (depth 1) or a list of them (depth 2), in SI.

    ``fewest`` points make a curve: 3 closed ones, 2 a line.
    """
    one = scalar_reader("parts.outline")
    sample = '[["0 mm", "-3 mm"], ["30 mm", "0 mm"], ["0 mm", "3 mm"]]'

    def curve(value: Any) -> Ring:
        pairs = isinstance(value, list) and all(isinstance(p, list) and len(p) == 2 for p in value)
        if not pairs or len(value) < fewest:
            count = "two" if fewest == 2 else "three"
            raise refuse(
                f"{given(value)} is not a curve; at least {count} points such as {sample} "
                "are needed"
            )
        return tuple((one(x), one(y)) for x, y in value)

    def read(value: Any) -> tuple[Ring, ...]:
        if depth == 1:
            return (curve(value),)
        if not isinstance(value, list):
            raise refuse(f"{given(value)} is not a list of curves such as [{sample}]")
        return tuple(curve(item) for item in value)

    return read


def read_shares(value: Any) -> tuple[float, float]:
    """Read where a stretch of a closed curve begins and ends, in shares of its length."""
    fine = isinstance(value, list) and len(value) == 2 and all(map(_is_number, value))
    if not fine or not all(0 <= item <= 1 for item in value) or value[0] == value[1]:
        raise refuse(
            f"{given(value)} is not a stretch of the outline; two different shares of its length "
            "from 0 to 1 are needed, such as [0.9, 0.1], counter-clockwise from the root's middle"
        )
    return float(value[0]), float(value[1])


def path_reader(key: str) -> Callable[[Any], tuple[Vector, ...]]:
    """Return the reader of a list of at least three points."""
    one = vector_reader(key)
    sample = LIMITS[key].example

    def read(value: Any) -> tuple[Vector, ...]:
        if not isinstance(value, list) or len(value) < 3:
            raise refuse(
                f"{given(value)} is not a path; a list of at least three points such as "
                f"{sample} is needed, from the eye to the point of the hook"
            )
        points = tuple(one(item) for item in value)
        if any(here == there for here, there in itertools.pairwise(points)):
            raise refuse(f"{given(value)} holds the same point twice running; leave one out")
        return points

    return read


def _table(value: dict[str, Any], one: Callable[[Any], float], needed: str) -> Taper:
    if set(value) != {"at", "value"}:
        keys = ", ".join(map(given, value)) or "no keys"
        raise refuse(f"a table with {keys} is not a table along the length; {needed}")
    at, sizes = value["at"], value["value"]
    if not isinstance(at, list) or not isinstance(sizes, list):
        raise refuse(f"{given(value)} needs lists for `at` and `value`; {needed}")
    if len(at) != len(sizes) or len(at) < 2:
        raise refuse(
            f"`at` has {len(at)} entries and `value` has {len(sizes)}; "
            "both need the same number, at least two"
        )
    if not all(map(_is_number, at)) or at[0] != 0 or at[-1] != 1 or not _rising(at):
        raise refuse(f"`at` is {given(at)}; plain numbers that rise from 0 to 1 are needed")
    return Taper(tuple(float(item) for item in at), tuple(one(item) for item in sizes))


def _rising(numbers: Sequence[float]) -> bool:
    return all(low < high for low, high in itertools.pairwise(numbers))


def read_durometer(value: Any) -> tuple[str, float]:
    """Read ``"50 OO"`` or ``"10 A"`` into scale and Shore points."""
    needed = 'Shore points with the scale are needed, such as "50 OO" or "10 A"'
    if not isinstance(value, str):
        raise refuse(f"{given(value)} has no scale; {needed}")
    try:
        scale, points = units.parse_durometer(value)
    except units.QuantityError as problem:
        raise refuse(f"{given(value)} {problem}; {needed}") from None
    complaint = outside(points, LIMITS["material.durometer"])
    if complaint:
        raise refuse(f"{given(value)} {complaint}")
    return scale, points


def whole_reader(key: str) -> Callable[[Any], int]:
    """Return the reader of a whole number of the table ``LIMITS``."""
    limit = LIMITS[key]

    def read(value: Any) -> int:
        if not isinstance(value, int) or isinstance(value, bool):
            raise refuse(
                f"{given(value, quoted=True)} is not a whole number; "
                f"one such as {limit.example} is needed"
            )
        complaint = outside(value, limit)
        if complaint:
            raise refuse(f"{given(value)} {complaint}")
        return value

    return read


def read_switch(value: Any) -> bool:
    """Read true or false."""
    if not isinstance(value, bool):
        raise refuse(
            f"{given(value, quoted=True)} is not a switch; true or false is needed, without quotes"
        )
    return value


def choice_reader(words: Sequence[str]) -> Callable[[Any], str]:
    """Return the reader of one word out of a closed list."""
    allowed = "allowed are " + ", ".join(f'"{word}"' for word in words)

    def read(value: Any) -> str:
        if isinstance(value, str) and value in words:
            return value
        near = suggestion(value, words) if isinstance(value, str) else ""
        raise refuse(f"{given(value)} is not known{near}; {allowed}")

    return read


def read_title(value: Any) -> str:
    """Read one line of text."""
    needed = "one line of text in quotes is needed, at most 200 characters"
    if not isinstance(value, str):
        raise refuse(f"{given(value)} is not a text; {needed}")
    if not value.strip() or len(value) > 200 or not value.isprintable():
        raise refuse(f"{given(value)} is empty, too long or not one line; {needed}")
    return value.strip()


def read_file_name(value: Any) -> str:
    """Read the name of a file beside the case."""
    word = read_title(value)
    if any(mark in word for mark in "/\\:") or word.startswith("."):
        raise refuse(
            f"{given(value)} is no plain file name; the name of a file beside the case is allowed"
        )
    return word


def read_name(value: Any) -> str:
    """Read a name that can stand in a PATH."""
    needed = "letters, digits, hyphens and underscores are allowed, at most 60"
    if not isinstance(value, str):
        raise refuse(f"{given(value)} is not a text in quotes; {needed}")
    if not is_name(value):
        raise refuse(f"{given(value)} cannot be a name; {needed}")
    return value
