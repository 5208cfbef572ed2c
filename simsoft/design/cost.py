"""One more resin loop, or the aluminium now: what each costs, and when the loop pays.

Material in units of one prototype mould's resin, hours at what the user says an hour is worth.
All defaults are common practice, no source, good to half and double; every one can be stated.
"""

from __future__ import annotations

from dataclasses import dataclass

from simsoft.case.wishes import Mould, Shop

LOOP_MATERIAL, LOOP_HOURS = 1.5, 6.0
METAL_MATERIAL, METAL_HOURS = 2.5, 25.0

RECIPE = ("body.salt_fraction", "body.microballoon_fraction", "body.air_fraction")
MOULDED, METAL = "one resin loop", "a metal mould"
COSTS = ("recipe, now", "rig, now", MOULDED, METAL, "")  # what a change asks for, cheapest first


@dataclass(frozen=True)
class Cost:
    """Costs in the user's unit.

    Attributes
    ----------
    loop : float, one more resin loop
    metal : float, an aluminium mould that has to be made again
    expected : float, of going to metal now: chance of failing times ``metal``
    threshold : float, by which a loop has to lower the chance of failing to pay
    """

    loop: float
    metal: float
    expected: float
    threshold: float

    @property
    def loop_can_pay(self) -> bool:
        """Whether even a loop that removes every doubt would pay."""
        return self.expected > self.loop


def cost(shop: Shop, failing: float) -> Cost:
    """Return the costs of a shop for a chance of failing (0..1)."""

    def given(value: float | None, default: float) -> float:
        return default if value is None else value

    loop = given(shop.loop_material, LOOP_MATERIAL)
    loop += given(shop.loop_hours, LOOP_HOURS) * shop.hour_value
    metal = given(shop.metal_material, METAL_MATERIAL)
    metal += given(shop.metal_hours, METAL_HOURS) * shop.hour_value
    return Cost(loop, metal, failing * metal, loop / metal if metal > 0.0 else float("inf"))


def asks_for(path: str, mould: Mould | None = None) -> str:
    """Return what a change of the value at a path asks for, one of `COSTS`.

    ``mould`` is what the shop's mould is made of: a size of an aluminium one asks for metal again.
    """
    head = path.partition(".")[0]
    if head in ("material", "profile_values") or path in RECIPE:
        return "recipe, now"
    if head == "rig":
        return "rig, now"
    if head not in ("parts", "body"):
        return ""
    return METAL if mould == "aluminium" else MOULDED
