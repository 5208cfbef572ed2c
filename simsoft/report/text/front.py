"""The trade-off of start against hook gap in words."""

from __future__ import annotations

from collections.abc import Sequence

from simsoft.design.front import Traded, front
from simsoft.report.units import LengthUnit, user_unit

MOST = 8  # designs named


def front_sentence(designs: Sequence[Traded], unit: LengthUnit) -> str:
    """Return which designs no other beats in both; empty where fewer than two differ."""
    if len({(d.start, d.gap) for d in designs}) < 2:
        return ""
    edge = front(designs)
    told = ", ".join(_one(d, unit) for d in edge[:: max(1, -(-len(edge) // MOST))])
    return (
        f"Start against hook gap, all inputs in their middle: of {len(designs)} designs tried no "
        f"other is better in both than {told}."
    )


def _one(design: Traded, unit: LengthUnit) -> str:
    pace, speed = user_unit("m/s", unit)
    scale, length = user_unit("m", unit)
    misses = "" if design.good else ", misses the brief"
    both = f"{pace * design.start:.2g} {speed}, {scale * design.gap:.2g} {length}"
    return f"{design.name} ({both}{misses})"
