"""What the maker wants and how it is made: the brief and the shop, as plain data in SI."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from simsoft.core.quantities import QUANTITIES

Mould = Literal["resin", "aluminium"]
# Quantities a brief may speak of, with the unit its limits are kept in (the records' unit).
WISHED = {row.name: row.unit for row in QUANTITIES.values() if row.wished}
SHARES = tuple(row.name for row in QUANTITIES.values() if row.share)
BETTER = {row.name: row.better for row in QUANTITIES.values() if row.better}
ALIKE = 0.10  # relative difference that a hand does not feel (judgement)


@dataclass(frozen=True)
class Clause:
    """One thing the maker wants.

    Attributes
    ----------
    name : str, as shown
    quantity : str, of the records
    unit : str, of the limits
    at_least, at_most : float or None [unit]
    equals : str or None, the word a record must hold
    scenario, part : str or None, None takes every one that answers
    speed : float or None [m/s]
    temperature : float or None [K], of the water; None for the case's own
    at : dict, further conditions of the record
    against : 'better' or 'same', told against the bait in hand, or None
    within : float, relative difference that counts as the same
    """

    name: str
    quantity: str
    unit: str
    at_least: float | None = None
    at_most: float | None = None
    equals: str | None = None
    scenario: str | None = None
    part: str | None = None
    speed: float | None = None
    temperature: float | None = None
    at: dict[str, float | int | str] = field(default_factory=dict)
    against: Literal["better", "same"] | None = None
    within: float = ALIKE


@dataclass(frozen=True)
class Shop:
    """How the part is moulded and what a mould costs; ``None`` means the documented default.

    Attributes
    ----------
    mould : 'resin', 'aluminium' or None where the thickness of the case was measured on parts
    mould_bias : float or None [m], by which a part is thicker across the parting line
    bias_scatter : float or None [m], one standard deviation of that
    bias_corrected : bool, the cavity is cut thinner by the expected bias
    shrinkage, shrinkage_scatter : float or None [-], linear, part against cavity
    cavities : int, in a plate
    runner_share : float or None [-], mass of runner and sprue over that of the parts
    loop_material, loop_hours : float or None, one more resin loop
    metal_material, metal_hours : float or None, the aluminium mould
    hour_value : float, what an hour is worth, in the unit of the materials
    """

    mould: Mould | None = None
    mould_bias: float | None = None
    bias_scatter: float | None = None
    bias_corrected: bool = True
    shrinkage: float | None = None
    shrinkage_scatter: float | None = None
    cavities: int = 1
    runner_share: float | None = None
    loop_material: float | None = None
    loop_hours: float | None = None
    metal_material: float | None = None
    metal_hours: float | None = None
    hour_value: float = 1.0
