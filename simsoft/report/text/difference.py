"""The difference of two runs in words: keys, verdicts, numbers, and what it means for the mould."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence

from simsoft.core.quantities import words
from simsoft.design.difference import Difference, Moved
from simsoft.report.text.brief import folded
from simsoft.report.text.change import change_lines, changes_json
from simsoft.report.text.sentences import clean
from simsoft.report.units import LengthUnit, show, speed_text
from simsoft.results.changes import RunChange
from simsoft.results.record import Record

FREEZING = 273.15  # [K]
DOUBTED = 0.5  # of the band: a smaller move lies inside it, to either side
UNRESOLVED = ", not resolved: the move is smaller than its doubt"


def difference_text(found: Difference, unit: LengthUnit, changed: Sequence[RunChange] = ()) -> str:
    """Return the difference of two runs as text of 80 columns, nothing new where there is none."""
    if not found.is_one:
        return "no difference: same keys, no number moved by a tenth of its band, same verdicts.\n"
    lines: list[str] = []
    for clause, before, after in found.verdicts:
        told = f"{clause}: {before or 'not asked'} -> {after or 'not asked'}"
        lines += folded(clean(f"verdict of {told}"))
    lines += [*folded(_mould(found)), *folded(_hook(found, unit)), ""]
    moves = change_lines(changed, unit)
    lines += [*moves, ""] if moves else []
    if found.keys:
        lines.append("Changed in the case")
        for key, before, after in found.keys:
            told = clean(f"{key}: {_given(before)} -> {_given(after)}")
            lines += folded(told, "  ", "    ")
        lines.append("")
    lines += _numbers(found, unit)
    return "\n".join(lines).rstrip() + "\n"


def _mould(found: Difference) -> str:
    if not found.mould:
        return "Mould: the same one serves; no moulded size changed."
    return f"Mould: another one is needed, for {', '.join(map(clean, found.mould))}."


def _hook(found: Difference, unit: LengthUnit) -> str:
    words_of = (
        [f"the hook itself changed: {', '.join(map(clean, found.hook))}"] if found.hook else []
    )
    nearest = [m for m in found.clearances if m.before and m.after and "spot" not in m.before.at]
    for moved in nearest[:1]:
        assert moved.before is not None
        assert moved.after is not None
        told = f"{show(moved.before, unit)} -> {show(moved.after, unit)}"
        small = moved.share is not None and moved.share < DOUBTED
        words_of.append(f"{_name(moved.before, unit)}: {told}{UNRESOLVED if small else ''}")
    known = "no clearance moved" if found.hooked else "neither run has one"
    return f"Hook: {'; '.join(words_of) or known}."


def _given(value: object) -> str:
    return "not given" if value is None else json.dumps(value, ensure_ascii=False, default=str)


def _numbers(found: Difference, unit: LengthUnit) -> Iterator[str]:
    moved = sorted(found.records, key=lambda m: -(m.share or 0.0))
    compared = [m for m in moved if m.before is not None and m.after is not None]
    if compared:
        yield "Moved by more than a tenth of the band, furthest first"
    for item in compared:
        if not _is_vector(item):
            yield from folded(clean(_told(item, unit)), "  ", "    ")
    vectors = [m for m in compared if _is_vector(m)]
    if vectors:
        names = ", ".join(dict.fromkeys(words(m.before.quantity) for m in vectors if m.before))
        yield from folded(f"and vectors, told by --json: {names}", "  ", "    ")
    for name, side in (("Only before", "before"), ("Only after", "after")):
        alone = [m for m in moved if (m.after if side == "before" else m.before) is None]
        if alone:
            told = [_name(m.before or m.after, unit) for m in alone]  # type: ignore[arg-type]
            yield from folded(clean(f"{name}: {', '.join(told)}"))


def _is_vector(moved: Moved) -> bool:
    return moved.before is not None and isinstance(moved.before.value, tuple)


def _told(moved: Moved, unit: LengthUnit) -> str:
    before, after = moved.before, moved.after
    assert before is not None
    assert after is not None
    return f"{_name(before, unit)}: {show(before, unit)} -> {show(after, unit)}"


def _name(record: Record, unit: LengthUnit) -> str:
    place = " ".join(x for x in (record.scenario, record.part) if x)
    at = [_condition(key, value, unit) for key, value in record.at.items()]
    return " ".join(x for x in (place, words(record.quantity), *at) if x)


def _condition(key: str, value: float | int | str, unit: LengthUnit) -> str:
    if key == "speed":
        return f"at {speed_text(float(value), unit)}"
    if key == "water_temperature":
        return f"in water of {float(value) - FREEZING:.3g} degC"
    return f"{words(key)} {value}"


def difference_json(found: Difference, changed: Sequence[RunChange] = ()) -> str:
    """Return the difference as one JSON object, SI units."""
    body = {
        "keys": [{"key": k, "before": a, "after": b} for k, a, b in found.keys],
        "verdicts": [{"clause": k, "before": a, "after": b} for k, a, b in found.verdicts],
        "records": [
            {
                "before": None if m.before is None else m.before.as_json(),
                "after": None if m.after is None else m.after.as_json(),
                "share": m.share,
            }
            for m in found.records
        ],
        "changes": changes_json(changed),
        "mould": list(found.mould),
        "hook": list(found.hook),
    }
    return json.dumps(body, allow_nan=False, indent=1, default=str)
