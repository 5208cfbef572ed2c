"""Numbers with units as a person writes them, varied without losing a digit."""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation

_QUANTITY = re.compile(
    r"\s*(?P<number>[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*(?P<unit>\S.*)?", re.ASCII
)
DIGITS = 9  # significant digits of a number that was computed, not written


@dataclass(frozen=True)
class Quantity:
    """A number and its unit text, ``unit`` empty for a bare number."""

    number: Decimal
    unit: str

    @property
    def text(self) -> str:
        """The quantity as it stands in a case file, without quotes."""
        return _number_text(self.number) + (f" {self.unit}" if self.unit else "")

    def times(self, factor: float) -> Quantity:
        """Return the quantity multiplied by a plain number."""
        return computed(float(self.number) * factor, self.unit)


def read_quantity(text: str) -> Quantity | None:
    """Return a quantity such as ``"2.4 mm"`` or ``"46 OO"``; None where there is no number."""
    match = _QUANTITY.fullmatch(text)
    if match is None:
        return None
    try:
        number = Decimal(match["number"])
    except InvalidOperation:
        return None
    return Quantity(number, (match["unit"] or "").strip())


def computed(number: float, unit: str) -> Quantity:
    """Return a computed number as a quantity, rounded to nine significant digits."""
    return Quantity(Decimal(f"{number:.{DIGITS}g}"), unit)


def _number_text(number: Decimal) -> str:
    """Return a decimal without trailing zeros and, where it can be, without an exponent."""
    plain = number.normalize()
    text = f"{plain:f}"
    return text if len(text) <= 20 else str(plain)
