"""What the maker has seen the bait in hand do: plain data in SI."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from simsoft.core.quantities import BEAT, QUANTITIES, answered_by

By = Literal["eye", "measured"]
# Quantities that can be seen, with their unit and the relative doubt of a look.
SEEABLE = {row.name: row.unit for row in QUANTITIES.values() if row.by_eye is not None}
BY_EYE = {row.name: row.by_eye for row in QUANTITIES.values() if row.by_eye is not None}
AT_A_SPEED = tuple(name for name in SEEABLE if name in answered_by(BEAT))
GOES, STAYS = ("kicks", "flutters"), ("still",)


@dataclass(frozen=True)
class Seen:
    """One look at the bait in hand.

    Attributes
    ----------
    quantity : str, of the records
    value : float or None [unit of the quantity], None for a verdict
    doubt : float [-], relative, one standard deviation; of a verdict that of its speed
    by : 'eye' or 'measured'
    equals : str or None, the word of a verdict
    scenario, part : str or None, None takes the first that answers
    speed : float or None [m/s]
    temperature : float or None [K], of the water; None for the case's own
    """

    quantity: str
    value: float | None
    doubt: float
    by: By = "measured"
    equals: str | None = None
    scenario: str | None = None
    part: str | None = None
    speed: float | None = None
    temperature: float | None = None
