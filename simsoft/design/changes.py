"""The single changes looked through: sizes of the first part and the durometer, or an interval."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from simsoft.case.fields import number_in_unit, read_durometer
from simsoft.case.limits import LIMITS, TYPICAL_BY_KIND, TYPICAL_HARDNESS, Limit
from simsoft.case.model import Case, Part
from simsoft.case.profile import has_modulus
from simsoft.design.case_tables import quantities, replaced, value_at
from simsoft.design.sweep.axis import Axis
from simsoft.design.sweep.runs import CLEARS, FALLS, FOULS, WEIGHED
from simsoft.design.text_number import Quantity, computed

OF_THE_WHOLE = (*WEIGHED, *FALLS, "cast_distance")
STEPS = 17  # candidates of an interval without a step
REACH = (0.6, 1.5)  # times the case's value, where a size is looked for
SOFTER = 16.0  # Shore points to both sides where a durometer is looked for
SOFTER_MODULUS = (0.5, 2.0)  # times a shop's modulus, where it stands for the durometer
HANGS = (0.0, 0.5)  # times its height, where a paddle is hung below its stem
LEANS, UPRIGHT = 20.0, (70.0, 110.0)  # [deg] to both sides, within what is usual
ROUGH = 7  # candidates of how a paddle hangs and leans
TAPERED = ("thickness", "diameter")  # scaled as a whole where they differ along the part
SCALES = (0.6, 0.7, 0.8, 0.9, 1.0, 1.1, 1.2, 1.3, 1.4, 1.5)
DIGITS = 3  # of a size that was scaled
SIZES = ("thickness", "diameter", "length", "paddle_diameter", "neck_thickness")


def default_axes(case: Case, tables: dict[str, object]) -> list[Axis]:
    """Return the single changes looked through where the user names none.

    Sizes of the first part and the durometer, and where the brief asks how the whole lure weighs,
    falls or flies, its height, salt, weights and hook; where it asks for the hook to stay clear,
    how long its shank is. None leaves the sizes that are typical of the trade, where the case
    itself stands within them.
    """
    axes = []
    if any(clause.quantity in OF_THE_WHOLE for clause in case.brief):
        for path, key in _of_the_whole(case):
            if len(quantities(value_at(tables, path))) == 1:
                axes.append(_around(path, tables, LIMITS[key]))
    shank, clears = "rig.hook.shank", (CLEARS, FOULS)
    asked = any(clause.quantity in clears for clause in case.brief)
    if asked and len(quantities(value_at(tables, shank))) == 1:
        axes.append(_around(shank, tables, LIMITS["hook.shank"], steps=ROUGH))
    if case.parts:
        part = case.parts[0]
        for key in SIZES:
            path = f"parts.{part.name}.{key}"
            numbers = len(quantities(value_at(tables, path)))
            if numbers == 1:
                axes.append(_around(path, tables, LIMITS[f"parts.{key}"], part.kind))
            elif numbers > 1 and key in TAPERED:
                axes.append(_scaled(path, tables, LIMITS[f"parts.{key}"], part.kind))
        axes += _of_the_paddle(part, tables)
    if case.profile is not None and has_modulus(case):
        own = 1e-3 * case.profile.values["youngs_modulus"].value
        low, high = (computed(own * share, "kPa") for share in SOFTER_MODULUS)
        axes.append(spread(Axis("profile_values.youngs_modulus", (), low, high)))
    elif case.material.hardness is not None:
        ends = _points(quantities(value_at(tables, "material.durometer"))[0])
        axes.append(spread(Axis("material.durometer", (), *ends)))
    return axes


def _of_the_paddle(part: Part, tables: dict[str, object]) -> list[Axis]:
    """Return how a paddle hangs, how thick it is and how it leans, whatever the case states."""
    if part.paddle is None:
        return []
    path = f"parts.{part.name}"
    across = ("paddle_diameter", "paddle_height", "length")
    size = next(q[0] for key in across if (q := quantities(value_at(tables, f"{path}.{key}"))))
    shown = number_in_unit(size.text, LIMITS["parts.paddle_diameter"]) / float(
        size.number
    )  # mm a unit
    own, height = (1e3 * x / shown for x in (part.paddle.offset, part.paddle.height))
    deepest = max(own, HANGS[1] * height)
    ends = [(f"{path}.paddle_offset", min(own, HANGS[0]), deepest, size.unit)]
    lean = math.degrees(part.paddle.angle)
    low, high = _within(lean, (lean - LEANS, lean + LEANS), UPRIGHT)
    ends.append((f"{path}.paddle_angle", low, high, "deg"))
    found = [
        spread(Axis(where, (), computed(low, unit), computed(high, unit)), ROUGH)
        for where, low, high, unit in ends
    ]
    if len(quantities(value_at(tables, f"{path}.paddle_thickness"))) == 1:
        thick = f"{path}.paddle_thickness"
        found.insert(1, _around(thick, tables, LIMITS["parts.paddle_thickness"], part.kind))
    return found


def _of_the_whole(case: Case) -> list[tuple[str, str]]:
    """Return path and key of what makes a lure heavier or slower."""
    weights = case.rig.weights if case.rig is not None else ()
    masses = [(f"rig.weights.{weight.name}.mass", "weights.mass") for weight in weights]
    hook = case.rig.hook if case.rig is not None else None
    if hook is not None:
        # a lighter hook of the same size is one of thinner wire
        key = "wire_diameter" if hook.mass is None else "mass"
        masses.append((f"rig.hook.{key}", f"hook.{key}"))
    return [(key, key) for key in ("body.salt_fraction", "body.height")] + masses


def _around(
    path: str, tables: dict[str, object], limit: Limit, kind: str = "", steps: int = STEPS
) -> Axis:
    """Return the axis about the one number that the case states at a path."""
    raw = value_at(tables, path)
    (own,) = quantities(raw)
    number = float(own.number)
    ends: tuple[float, ...] = tuple(number * share for share in REACH)
    typical = TYPICAL_BY_KIND.get((kind, path.rpartition(".")[2]), limit.typical)
    if typical is not None and number:
        user = number / number_in_unit(raw, limit)  # user's units in one of the table
        usual = (typical[0] * user, typical[1] * user)
        # a share of the mixture costs the same to pour whatever it is now
        ends = usual if limit.fraction else _within(number, ends, usual)
    low, high = (computed(end, own.unit) for end in ends)
    return spread(Axis(path, (), low, high), steps)


def _scaled(path: str, tables: dict[str, object], limit: Limit, kind: str) -> Axis:
    """Return an axis that scales a size along the whole part, its taper kept."""
    raw = value_at(tables, path)
    own = quantities(raw)
    values, typical = [], TYPICAL_BY_KIND.get((kind, path.rpartition(".")[2]))
    sizes = [number_in_unit(quantity.text, limit) for quantity in own]
    usual = typical is not None and typical[0] <= min(sizes) <= max(sizes) <= typical[1]
    for share in SCALES:
        ends = share * min(sizes), share * max(sizes)
        if share == 1.0:
            values.append(replaced(raw, own))
        elif not usual or (typical is not None and typical[0] <= ends[0] <= ends[1] <= typical[1]):
            scaled = [computed(float(f"{float(q.number) * share:.{DIGITS}g}"), q.unit) for q in own]
            values.append(replaced(raw, scaled))
    return Axis(path, tuple(values))


def _points(own: Quantity) -> tuple[Quantity, Quantity]:
    scale, number = read_durometer(own.text)
    ends = _within(number, (number - SOFTER, number + SOFTER), TYPICAL_HARDNESS[scale])
    return computed(ends[0], own.unit), computed(ends[1], own.unit)


def _within(
    own: float, ends: tuple[float, ...], typical: tuple[float, float]
) -> tuple[float, float]:
    if not typical[0] <= own <= typical[1]:
        return ends[0], ends[1]
    return max(ends[0], typical[0]), min(ends[1], typical[1])


def spread(axis: Axis, steps: int = STEPS) -> Axis:
    """Return an axis with candidates, rounded as a maker would, where it has only ends."""
    if axis.values or axis.low is None or axis.high is None:
        return axis
    low, high = float(axis.low.number), float(axis.high.number)
    step = _round_step((high - low) / (steps - 1))
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
