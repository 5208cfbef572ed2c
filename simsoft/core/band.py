"""A number with its band: the value, a low and a high, and where the band comes from."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Band:
    """A quantity in SI units with its stated uncertainty.

    Attributes
    ----------
    value, low, high : float
        Central value and the limits that hold it about two times in three.
    basis : str
        Where value and limits come from (source, 'common practice, no source', 'from memory').
    """

    value: float
    low: float
    high: float
    basis: str

    def scaled(self, factor: float) -> Band:
        """Return the band multiplied by a positive factor, basis unchanged."""
        return Band(self.value * factor, self.low * factor, self.high * factor, self.basis)


def exact(value: float, basis: str = "given") -> Band:
    """Return a band of zero width around a value the user states as exact."""
    return Band(value, value, value, basis)
