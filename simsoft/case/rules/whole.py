"""What goes with what in body and rig, and what a whole case must hold."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from simsoft.case import units
from simsoft.case.wording import Place, Problem, given

# Keys that make a hook's path from a few sizes.
_GENERATED = ("gap", "shank", "bend", "point", "offset", "eye")
# Names in the records that no part or weight may take.
_TAKEN = {"body": ("body",), "hook": ("rig", "hook")}
# Fillers past this share leave no compound around them: common practice, no source.
MOST_FILLER = 0.7
_SLACK = 1.0 + 1e-9  # sizes equal but for rounding


def check_whole(raw: dict[str, Any]) -> list[Problem]:
    """Return the problems of body, rig, and of what a case as a whole needs.

    Parameters
    ----------
    raw : dict
        The tables as the user wrote them; what cannot be read is skipped.
    """
    found = [*_contents(raw), *_names(raw)]
    if isinstance(raw.get("body"), dict):
        found += _body(raw["body"])
    hook = _entry(raw, "rig", "hook")
    if isinstance(hook, dict):
        found += _hook(hook)
    return found


def length_of(value: Any) -> float | None:
    """Return a stated length [m], or None where the field check complains already."""
    try:
        return units.parse(value, "m") if isinstance(value, str) else None
    except units.QuantityError:
        return None


def _entry(raw: dict[str, Any], *place: str) -> Any:
    value: Any = raw
    for key in place:
        value = value.get(key) if isinstance(value, dict) else None
    return value


def _contents(raw: dict[str, Any]) -> Iterator[Problem]:
    """A case is parts with scenarios, or a body or a rig with or without either."""
    yield from _questions(raw)
    if "body" not in raw and "rig" not in raw:
        needed = {"parts": "[[parts]] or a [body]", "scenarios": "[[scenarios]]"}
        for key, what in needed.items():
            if raw.get(key, []) == []:
                how = "`[]` is empty" if key in raw else "missing"
                yield Problem((key,), f"{how}; at least one {what} is needed")
    elif raw.get("parts", []) == [] and isinstance(raw.get("scenarios"), list):
        for number, scenario in enumerate(raw["scenarios"]):
            if not isinstance(scenario, dict) or scenario.get("free") is True:
                continue
            if scenario.get("kind") in ("hold", "retrieve"):
                yield Problem(
                    ("scenarios", number, "kind"),
                    f"{given(scenario['kind'])} asks what flexible parts do; at least one "
                    "[[parts]] is needed",
                )


def _questions(raw: dict[str, Any]) -> Iterator[Problem]:
    """What falls, hops, flies or is towed freely has a body or a rig."""
    if "body" in raw or "rig" in raw:
        return
    scenarios = raw.get("scenarios")
    for number, scenario in enumerate(scenarios if isinstance(scenarios, list) else []):
        if not isinstance(scenario, dict):
            continue
        if scenario.get("kind") in ("sink", "hop", "cast"):
            yield Problem(
                ("scenarios", number, "kind"),
                f"{given(scenario['kind'])} asks what a whole lure does; a [body] or a [rig] "
                "is needed",
            )
        elif scenario.get("free") is True:
            yield Problem(
                ("scenarios", number, "free"),
                "`true` frees a whole lure; a [body] or a [rig] is needed",
            )


def _names(raw: dict[str, Any]) -> Iterator[Problem]:
    """Parts, weights, body and hook stand side by side in the records."""
    seen = {name: name for name, place in _TAKEN.items() if _entry(raw, *place) is not None}
    for place in (("parts",), ("rig", "weights")):
        tables = _entry(raw, *place)
        for number, table in enumerate(tables if isinstance(tables, list) else []):
            label = table.get("name") if isinstance(table, dict) else None
            if not isinstance(label, str):
                continue
            here = f"{'.'.join(place)}[{number + 1}]"
            if label in seen and not (place == ("parts",) and seen[label].startswith("parts")):
                yield Problem(
                    (*place, number, "name"),
                    f"{given(label)} is already the name of {seen[label]}; "
                    "each name is allowed once",
                )
            seen.setdefault(label, here)


def _sizes(value: Any) -> list[float]:
    """Return the sizes [m] of a profile that can be read."""
    if isinstance(value, dict):
        value = value.get("value")
    items = value if isinstance(value, list) else [value]
    return [size for size in map(length_of, items) if size is not None]


def _body(table: dict[str, Any]) -> Iterator[Problem]:
    yield from _together(table, "rib_depth", "rib_pitch")
    yield from _together(table, "slot_width", "slot_height")
    sizes = [*_sizes(table.get("height")), *_sizes(table.get("width"))]
    depth = length_of(table.get("rib_depth"))
    if depth is not None and sizes and 2.0 * depth * _SLACK >= max(sizes):
        yield Problem(
            ("body", "rib_depth"),
            f"{given(table['rib_depth'])} leaves no core; less than half the largest size "
            "is allowed",
        )
    for key, other in (("slot_width", "width"), ("slot_height", "height")):
        size, limit = length_of(table.get(key)), _sizes(table.get(other, table.get("height")))
        if size is not None and limit and size * _SLACK >= max(limit):
            yield Problem(
                ("body", key),
                f"{given(table[key])} cuts through the body; less than its largest {other} "
                "is allowed",
            )
    yield from _slot_ends(table)
    yield from _stiff_length(table)
    yield from _fillers(table)


def _together(table: dict[str, Any], *keys: str) -> Iterator[Problem]:
    for key, other in (keys, keys[::-1]):
        if key in table and other not in table:
            yield Problem(("body", other), f"missing; it is needed beside `{key}`")


def _slot_ends(table: dict[str, Any]) -> Iterator[Problem]:
    for key in ("slot_from", "slot_to"):
        if key in table and "slot_width" not in table:
            yield Problem(
                ("body", key),
                f"{given(table[key])} belongs to a slot; allowed with `slot_width` and "
                "`slot_height` only",
            )
    length, start = length_of(table.get("length")), length_of(table.get("slot_from", "0 mm"))
    end = length_of(table.get("slot_to"))
    if end is not None and length is not None and end > length * _SLACK:
        yield Problem(
            ("body", "slot_to"),
            f"{given(table['slot_to'])} is behind the tail; at most the `length` is allowed",
        )
    if start is not None and end is not None and start >= end:
        yield Problem(
            ("body", "slot_to"),
            f"{given(table['slot_to'])} is not behind `slot_from`; a longer distance from the "
            "nose is needed",
        )
    elif start is not None and end is None and length is not None and start > 0.59 * length:
        yield Problem(("body", "slot_to"), "missing; it is needed for a slot that far back")


def _stiff_length(table: dict[str, Any]) -> Iterator[Problem]:
    length, start, end = (length_of(table.get(k)) for k in ("length", "stiff_from", "stiff_to"))
    if end is not None and length is not None and end > length * _SLACK:
        yield Problem(
            ("body", "stiff_to"),
            f"{given(table['stiff_to'])} is behind the tail; at most the `length` is allowed",
        )
    if start is not None and end is not None and start >= end:
        yield Problem(
            ("body", "stiff_to"),
            f"{given(table['stiff_to'])} is not behind `stiff_from`; a longer distance from the "
            "nose is needed",
        )


def _fillers(table: dict[str, Any]) -> Iterator[Problem]:
    salt, hollow = (_share(table.get(f"{key}_fraction", 0.0)) for key in ("salt", "microballoon"))
    if salt is not None and hollow is not None and salt + hollow > MOST_FILLER:
        yield Problem(
            ("body", "salt_fraction"),
            f"{given(table['salt_fraction'])} and the microballoons leave no compound to hold "
            f"them; together at most {MOST_FILLER:.0%} is allowed",
        )


def _share(value: Any) -> float | None:
    """Return a fraction [-], or None where the field check complains already."""
    try:
        share = units.parse(value, "dimensionless") if isinstance(value, str) else value
    except units.QuantityError:
        return None
    sane = isinstance(share, int | float) and not isinstance(share, bool)
    return float(share) if sane and 0.0 <= share <= 0.6 else None


def _hook(table: dict[str, Any]) -> Iterator[Problem]:
    place: Place = ("rig", "hook")
    if "path" in table:
        for key in _GENERATED:
            if key in table:
                yield Problem(
                    (*place, key),
                    f"{given(table[key])} contradicts `path`, which says it point by point; "
                    "only one of the two is allowed",
                )
        return
    for key in ("gap", "shank"):
        if key not in table:
            yield Problem((*place, key), "missing; a hook needs `gap` and `shank`, or a `path`")
    offset, shank = length_of(table.get("offset")), length_of(table.get("shank"))
    if offset is not None and shank is not None and offset * _SLACK >= shank:
        yield Problem(
            (*place, "offset"),
            f"{given(table['offset'])} leaves no shank; less than the `shank` is allowed",
        )
