"""What changed from one run to another, and the JSON text in which a results file keeps it."""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from typing import NamedTuple

from simsoft.results.record import Record, record_of


class RunChange(NamedTuple):
    """One number of two runs.

    Attributes
    ----------
    before, after : Record
    middle : float, logarithm of after over before
    width : float, of its band to either side, which holds eight times in ten
    alone : float, the same where the two are taken as strangers
    """

    before: Record
    after: Record
    middle: float
    width: float
    alone: float

    @property
    def ends(self) -> tuple[float, float, float]:
        """After over before, and the ends of its band."""
        low, high = self.middle - self.width, self.middle + self.width
        return math.exp(self.middle), math.exp(low), math.exp(high)


def changes_text(changes: Sequence[RunChange]) -> str:
    """Return changes as JSON text."""
    rows = [[c.before.as_json(), c.after.as_json(), *c[2:]] for c in changes]
    return json.dumps(rows, allow_nan=False)


def read_changes(text: str) -> tuple[RunChange, ...]:
    """Return the changes that ``changes_text`` wrote.

    Raises
    ------
    ValueError, KeyError, TypeError
        If the text is none of these.
    """
    return tuple(
        RunChange(record_of(before), record_of(after), *map(float, numbers))
        for before, after, *numbers in json.loads(text)
    )
