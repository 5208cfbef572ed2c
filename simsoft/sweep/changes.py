"""The single changes looked through: sizes of the first part and the durometer, or an interval."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from simsoft.case.fields import durometer, measure
from simsoft.case.limits import LIMITS, TYPICAL_BY_KIND, TYPICAL_HARDNESS
from simsoft.case.model import Case
from simsoft.sweep.axis import Axis
from simsoft.sweep.tables import quantities, value_at
from simsoft.sweep.text_number import Quantity, computed

STEPS = 17  # candidates of an interval without a step
REACH = (0.6, 1.5)  # times the case's value, where a size is looked for
SOFTER = 16.0  # Shore points to both sides where a durometer is looked for
SIZES = ("thickness", "diameter", "length", "paddle_diameter", "neck_thickness")


def default_axes(case: Case, tables: dict[str, object]) -> list[Axis]:
    """Return the single changes looked through where the user names none.

    Sizes of the first part and the durometer: what costs one more print or one more pour. None
    leaves the sizes that are typical of the trade, where the case itself stands within them.
    """
    axes = []
    if case.parts:
        part = case.parts[0]
        for key in SIZES:
            found = quantities(value_at(tables, f"parts.{part.name}.{key}"))
            if len(found) == 1:
                ends = _sizes(found[0], part.kind, key)
                axes.append(spread(Axis(f"parts.{part.name}.{key}", (), *ends)))
    if case.material.hardness is not None:
        ends = _points(quantities(value_at(tables, "material.durometer"))[0])
        axes.append(spread(Axis("material.durometer", (), *ends)))
    return axes


def _sizes(own: Quantity, kind: str, key: str) -> tuple[Quantity, Quantity]:
    limit = LIMITS[f"parts.{key}"]
    number = float(own.number)
    ends = tuple(number * share for share in REACH)
    typical = TYPICAL_BY_KIND.get((kind, key), limit.typical)
    if typical is not None:
        user = number / measure(own.text, limit)  # user's units in one of the table
        ends = _within(number, ends, (typical[0] * user, typical[1] * user))
    return computed(ends[0], own.unit), computed(ends[1], own.unit)


def _points(own: Quantity) -> tuple[Quantity, Quantity]:
    scale, number = durometer(own.text)
    ends = _within(number, (number - SOFTER, number + SOFTER), TYPICAL_HARDNESS[scale])
    return computed(ends[0], own.unit), computed(ends[1], own.unit)


def _within(
    own: float, ends: tuple[float, ...], typical: tuple[float, float]
) -> tuple[float, float]:
    if not typical[0] <= own <= typical[1]:
        return ends[0], ends[1]
    return max(ends[0], typical[0]), min(ends[1], typical[1])


def spread(axis: Axis) -> Axis:
    """Return an axis with candidates, rounded as a maker would, where it has only ends."""
    if axis.values or axis.low is None or axis.high is None:
        return axis
    low, high = float(axis.low.number), float(axis.high.number)
    step = _round_step((high - low) / (STEPS - 1))
    first = int(np.ceil(low / step - 1e-9))
    last = int(np.floor(high / step + 1e-9))
    values = [computed(i * step, axis.low.unit) for i in range(first, last + 1)]
    if not values:
        values = [axis.low, axis.high]
    return replace(axis, values=tuple(q.text for q in values), low=values[0], high=values[-1])


def _round_step(step: float) -> float:
    """Return the nearest of 1, 2, 5 times a power of ten above a step."""
    power = 10.0 ** np.floor(np.log10(step))
    return float(next(f * power for f in (1.0, 2.0, 5.0, 10.0) if f * power >= step * (1 - 1e-9)))
