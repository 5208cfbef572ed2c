"""What the maker has seen the bait in hand do: plain data in SI."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

By = Literal["eye", "measured"]
# Quantities that can be seen, with their unit and the relative doubt of a look, one standard
# deviation (common practice, no source). A verdict's doubt is that of the speed it was seen at.
SEEABLE: dict[str, str] = {
    "start_speed": "m/s",
    "flap_frequency": "Hz",
    "stroke": "m",
    "sink_rate": "m/s",
    "cast_distance": "m",
    "verdict": "",
}
BY_EYE: dict[str, float] = {
    "start_speed": 0.15,
    "flap_frequency": 0.10,
    "stroke": 0.20,
    "sink_rate": 0.10,
    "cast_distance": 0.10,
    "verdict": 0.10,
}
AT_A_SPEED = ("flap_frequency", "stroke", "verdict")
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
