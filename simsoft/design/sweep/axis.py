"""``--vary PATH=VALUES``: what one axis of a sweep runs through."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from simsoft.case.wording import given
from simsoft.core.errors import InputError
from simsoft.design.text_number import Quantity, computed, read_quantity

MOST_VALUES = 10_000
ALLOWED = (
    "PATH=FROM:TO:STEP (2 mm:3 mm:0.1 mm), PATH=FROM:TO (to sample or pick from) "
    "or a list PATH=A,B,C is allowed"
)


@dataclass(frozen=True)
class Axis:
    """One varied value of a case.

    Attributes
    ----------
    path : str, dotted key of the case
    values : tuple of str, as they stand in the case; empty for a bare interval
    low, high : Quantity or None, ends of an interval; None for a list of words
    bound : str, what ended it, where that is not what was asked for
    """

    path: str
    values: tuple[str, ...]
    low: Quantity | None = None
    high: Quantity | None = None
    bound: str = ""

    @property
    def unit(self) -> str:
        """Unit text of a numeric axis, empty for words and bare numbers."""
        return self.low.unit if self.low is not None else ""

    @property
    def numeric(self) -> bool:
        """Whether the axis runs through numbers of one unit."""
        return self.low is not None

    def between(self, share: float) -> str:
        """Return the value at a share 0..1 of the interval, or of the list for words."""
        if self.low is None or self.high is None:
            return self.values[min(int(share * len(self.values)), len(self.values) - 1)]
        start, end = float(self.low.number), float(self.high.number)
        return computed(start + share * (end - start), self.low.unit).text


def number_of(text: str) -> float | None:
    """Return the number of a value such as ``"2.4 mm"``, None for a word."""
    found = read_quantity(text)
    return None if found is None else float(found.number)


def read_axis(text: str) -> Axis:
    """Return the axis of one ``--vary`` option.

    Raises
    ------
    InputError
        The option cannot be read; the line says what is allowed.
    """
    path, equals, values = text.partition("=")
    path, values = path.strip(), values.strip()
    if not equals or not path or not values:
        raise InputError(f"--vary {given(text)[1:-1]}: a path and values are needed; {ALLOWED}")
    pieces = [piece.strip() for piece in values.split(":")]
    if len(pieces) == 1:
        return _list(text, path, [piece.strip() for piece in values.split(",")])
    numbers = [read_quantity(piece) for piece in pieces]
    if len(pieces) > 3 or any(number is None for number in numbers):
        raise InputError(f"--vary {given(text)[1:-1]}: this is no range of numbers; {ALLOWED}")
    return _range(text, path, _one_unit(text, [n for n in numbers if n is not None]))


def _list(text: str, path: str, pieces: list[str]) -> Axis:
    if any(not piece for piece in pieces):
        raise InputError(f"--vary {given(text)[1:-1]}: the list has an empty entry; {ALLOWED}")
    if len(set(pieces)) < len(pieces):
        raise InputError(f"--vary {given(text)[1:-1]}: the list names a value twice")
    numbers = [read_quantity(piece) for piece in pieces]
    found = [number for number in numbers if number is not None]
    if len(found) < len(pieces):
        return Axis(path, tuple(pieces))
    found = _one_unit(text, found)
    ends = sorted(found, key=lambda quantity: quantity.number)
    return Axis(path, tuple(q.text for q in found), ends[0], ends[-1])


def _one_unit(text: str, numbers: list[Quantity]) -> list[Quantity]:
    """Give the last unit to the numbers that stand without one; all must agree."""
    units = {number.unit for number in numbers if number.unit}
    if len(units) > 1:
        raise InputError(
            f"--vary {given(text)[1:-1]}: {' and '.join(sorted(units))} are mixed; one unit is "
            "needed for all values"
        )
    unit = units.pop() if units else ""
    return [Quantity(number.number, unit) for number in numbers]


def _range(text: str, path: str, numbers: list[Quantity]) -> Axis:
    low, high = numbers[0], numbers[1]
    if not low.number < high.number:
        raise InputError(f"--vary {given(text)[1:-1]}: FROM must lie below TO")
    if len(numbers) == 2:
        return Axis(path, (), low, high)
    step = numbers[2].number
    if step <= 0:
        raise InputError(f"--vary {given(text)[1:-1]}: STEP must be above zero")
    count = int((high.number - low.number) / step * (1 + Decimal("1e-9"))) + 1
    if count > MOST_VALUES:
        raise InputError(
            f"--vary {given(text)[1:-1]}: gives {count} values; at most {MOST_VALUES} are allowed"
        )
    values = [Quantity(low.number + i * step, low.unit) for i in range(count)]
    return Axis(path, tuple(q.text for q in values), low, high)
