"""Comparison of found with published numbers."""

from __future__ import annotations

import math
from dataclasses import dataclass

from simsoft.validate.check import AllowedDifference


@dataclass(frozen=True)
class CheckRow:
    """One line of the table.

    Attributes
    ----------
    identity : str, of the check
    what, condition : str
    expected : float, as published
    found : float or None, none where the run has no such number
    tolerance : AllowedDifference
    source : str, short
    reason : str, why nothing was found
    unlike : bool, the value must lie outside the tolerance
    skipped : bool, an extra that the check needs is not installed
    """

    identity: str
    what: str
    condition: str
    expected: float
    found: float | None
    tolerance: AllowedDifference
    source: str
    reason: str = ""
    unlike: bool = False
    skipped: bool = False

    @property
    def error(self) -> float | None:
        """Signed difference, relative or absolute as the tolerance is; None where none is found."""
        if self.found is None:
            return None
        difference = self.found - self.expected
        return difference / abs(self.expected) if self.tolerance.relative else difference

    @property
    def passed(self) -> bool:
        """Whether the number lies within the tolerance on either side (outside, for `unlike`)."""
        error = self.error
        if error is None or not math.isfinite(error):
            return False
        return (abs(error) <= self.tolerance.size) != self.unlike
