"""Odd but possible values: one warning each, with the range that is typical."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

from simsoft.case.fields import number_in_unit, read_durometer
from simsoft.case.limits import LIMITS, TYPICAL_BY_KIND, TYPICAL_HARDNESS, Limit, range_text
from simsoft.case.model import Case, Part
from simsoft.case.rules.across_keys import sine
from simsoft.case.wording import Place, Problem, given

# A width axis within this angle of square is put square without a word.
_SQUARE = math.radians(1.0)


def oddities(raw: dict[str, Any], case: Case) -> list[Problem]:
    """Return the warnings of a case that is otherwise in order.

    Parameters
    ----------
    raw : dict
        The tables as the user wrote them, checked.
    case : Case
        The same in SI.
    """
    found: list[Problem] = []
    for section in ("water", "material", "numerics", "tolerance", "shop"):
        found.extend(_unusual(raw.get(section, {}), section, (section,)))
    found.extend(_material(raw["material"]))
    found.extend(_whole(raw, case))
    found.extend(_brief(raw, case))
    for number, (table, part) in enumerate(zip(raw.get("parts", []), case.parts, strict=True)):
        place: Place = ("parts", number)
        found.extend(_unusual(table, "parts", place, part.kind))
        found.extend(_unusual(table.get("loads", {}), "loads", (*place, "loads")))
        found.extend(_part(table, part, place))
        if case.body is not None and "body_height" in table:
            text = f"{given(table['body_height'])} has no effect beside [body], which stands ahead"
            found.append(Problem((*place, "body_height"), text))
    for number, table in enumerate(raw.get("scenarios", [])):
        place = ("scenarios", number)
        found.extend(_unusual(table, "scenarios", place))
        found.extend(_speeds(table, place))
    return found


def _brief(raw: dict[str, Any], case: Case) -> Iterator[Problem]:
    """Warn where a clause asks for cold water of a material that cannot feel it."""
    for number, clause in enumerate(case.brief):
        if clause.temperature is not None and case.material.youngs_modulus is not None:
            yield Problem(
                ("brief", number, "temperature"),
                f"{given(raw['brief'][number]['temperature'])} changes the water only: a stated "
                "`youngs_modulus` is the same at every temperature; give `durometer` instead",
            )


def _unusual(
    table: dict[str, Any], section: str, place: Place, kind: str = ""
) -> Iterator[Problem]:
    """Compare every number of a table with its typical range."""
    for key, value in table.items():
        limit = LIMITS.get(f"{section}.{key}")
        if limit is None or not limit.example or key == "durometer":
            continue
        typical = TYPICAL_BY_KIND.get((kind, key), limit.typical)
        if typical is None:
            continue
        items = _items(value)
        if section == "body" and isinstance(value, dict):
            # a table from nose to tail has thin ends; its largest size tells
            numbers = [number_in_unit(item, limit) for item in items]
            items = [items[numbers.index(max(numbers))]]
        odd = [item for item in items if _is_odd(item, limit, typical)]
        if odd:
            yield Problem(
                (*place, key),
                f"{given(odd[0])} is unusual; {range_text(limit, *typical)} is typical",
            )


def _items(value: Any) -> list[Any]:
    if isinstance(value, dict):
        return list(value["value"])
    return value if isinstance(value, list) else [value]


def _is_odd(value: Any, limit: Limit, typical: tuple[float, float]) -> bool:
    number = number_in_unit(value, limit)
    if limit.mirror:
        number = abs(number)
    if limit.off and number == 0:
        return False
    # The margin keeps a value given exactly at the edge, in another unit, from warning.
    margin = 1e-9 * max(map(abs, typical))
    return not typical[0] - margin <= number <= typical[1] + margin


def _whole(raw: dict[str, Any], case: Case) -> Iterator[Problem]:
    """Compare body, hook and weights with the trade's sizes."""
    if case.body is not None:
        table = raw["body"]
        yield from _unusual(table, "body", ("body",), case.body.family)
        fillers = ("salt_fraction", "microballoon_fraction", "air_fraction")
        for key in fillers:
            if "density" in table and key in table:
                yield _without_effect(("body", key), table[key])
        if "microballoon_density" in table and "microballoon_fraction" not in table:
            yield Problem(
                ("body", "microballoon_density"),
                f"{given(table['microballoon_density'])} has no effect without "
                "`microballoon_fraction`",
            )
    rig = raw.get("rig", {})
    yield from _unusual(rig.get("hook", {}), "hook", ("rig", "hook"))
    for number, table in enumerate(rig.get("weights", [])):
        yield from _unusual(table, "weights", ("rig", "weights", number))


def _without_effect(place: Place, value: Any) -> Problem:
    return Problem(
        place,
        f"{given(value)} has no effect, because `density` is given; one of the two is typical",
    )


def _material(table: dict[str, Any]) -> Iterator[Problem]:
    if "durometer" in table:
        scale, points = read_durometer(table["durometer"])
        low, high = TYPICAL_HARDNESS[scale]
        if not low <= points <= high:
            yield Problem(
                ("material", "durometer"),
                f"{given(table['durometer'])} is unusual; {low:g} to {high:g} {scale} is typical",
            )
    if "density" in table and "salt_fraction" in table:
        yield _without_effect(("material", "salt_fraction"), table["salt_fraction"])


def _part(table: dict[str, Any], part: Part, place: Place) -> Iterator[Problem]:
    thickest, widest = max(part.thickness.values), max(part.width.values)
    if part.kind != "leg" and thickest > widest:
        yield Problem(
            (*place, "thickness"),
            f"{given(table['thickness'])} is more than the width; the thickness is the smaller "
            "size, in the direction of bending",
        )
    if max(thickest, widest) > part.length and part.kind != "paddle-tail":
        key = "diameter" if part.kind == "leg" else "width" if widest > part.length else "thickness"
        told = f"{given(table[key])} is" if key in table else f"{1e3 * widest:.3g} mm across are"
        if key not in table:
            key = "outline" if "outline" in table else "outline_file"
        yield Problem(
            (*place, key),
            f"{told} more than the length; a part several times as long as wide is typical",
        )
    if "set_fraction" in table and "set_angle" not in table:
        yield Problem(
            (*place, "set_fraction"),
            f"{given(table['set_fraction'])} has no effect without `set_angle`",
        )
    if part.loads.shedding and part.paddle is None and part.model != "plate":
        yield Problem(
            (*place, "loads", "shedding"),
            f"`true` has no effect on a {part.kind} unless it is solved as a plate",
        )
    yield from _axis(table, part, place)


def _axis(table: dict[str, Any], part: Part, place: Place) -> Iterator[Problem]:
    stated = tuple(map(float, table.get("width_axis", (0.0, 0.0, 1.0))))
    turned = math.asin(min(1.0, sine(stated, part.width_axis)))
    if turned > _SQUARE:
        shown = given(table["width_axis"]) if "width_axis" in table else "`[0, 0, 1]` (the default)"
        square = ", ".join(f"{item:.3g}" for item in part.width_axis)
        yield Problem(
            (*place, "width_axis"),
            f"{shown} is not square to `direction`; it is turned by {math.degrees(turned):.1f} "
            f"degrees to [{square}]",
        )


def _speeds(table: dict[str, Any], place: Place) -> Iterator[Problem]:
    speeds = _items(table.get("speed", []))
    seen: set[float] = set()
    for item in speeds:
        number = number_in_unit(item, LIMITS["scenarios.speed"])
        if number in seen:
            yield Problem((*place, "speed"), f"{given(item)} is given twice; it is run once")
        seen.add(number)
