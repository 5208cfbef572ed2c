"""Hook clearance in the text report: the closest call first, then a table by speed and state.

``records`` are those of one scenario and part, lengths are told in ``length_unit``.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from simsoft.report.units import LengthUnit, band_numbers, rounded, show, speed_text, user_unit
from simsoft.results.record import UNTRUSTED, Record, select, why_untrusted
from simsoft.results.result import Closest, RunResult

QUANTITIES = ("hook_clearance", "hook_contact", "fouling_sides", "body_depth")
STATES = {
    "rest": "at rest",
    "cycle": "over the beat",
    "fall": "over the fall",
    "tumble": "tumbling in the air",
    "free": "swimming free",
    "lift": "on the lift",
    "drop": "on the drop",
    "shake": "shaken",
}
SHOWN = 0.05e-3  # [m] of a depth in the body below which nothing is told
NAME_CELL = 31
CELL = 22


def closest_calls(result: RunResult) -> list[Closest]:
    """Return the closest position of each scenario and part, in the order of the run."""
    worst: dict[tuple[str, str], Closest] = {}
    for item in result.closest:
        key = (item.scenario, item.part)
        if key not in worst or item.margin < worst[key].margin:
            worst[key] = item
    return list(worst.values())


def gap_text(item: Closest, length_unit: LengthUnit = "mm") -> str:
    """Return what a position has to do with the hook, such as 'clears the bend by 3.1 mm'."""
    if item.contact == "clear":
        factor, unit = user_unit("m", length_unit)
        places = 1 if length_unit == "mm" else 3
        return f"clears the {item.spot} by {rounded(factor * item.margin, places)} {unit}"
    return f"{'wraps around' if item.contact == 'wraps' else 'touches'} the {item.spot}"


def hook_sentence(records: Sequence[Record], length_unit: LengthUnit = "mm") -> str | None:
    """Return what the hook has to fear in one sentence, None where nothing was measured.

    Returns
    -------
    sentence : str or None, such as 'clears the bend by 3.1 mm (2.0 to 4.4), closest over the
        beat at 0.4 m/s.'
    """
    every = _overall(records)
    gaps = [record for record in every if why_untrusted(record) is None]
    if not gaps:
        return (
            "leaves its gap to the hook unknown: no shape of it is to be trusted."
            if every
            else None
        )
    closest = min(gaps, key=_margin)
    contact = _contact(records, closest)
    spot = _spot(records, closest)
    where = _where(closest, length_unit)
    if contact == "wraps":
        return f"wraps around the {spot} {where}{_sides(records)}."
    if contact == "touches":
        return f"touches the {spot} {where}{_sides(records)}."
    told = f"clears the {spot} by {show(closest, length_unit)}, closest {where}"
    if isinstance(closest.low, float) and closest.low <= 0.0:
        told += "; it may touch within the band"
    if len(gaps) < len(every):
        told += "; gaps of shapes that run into the body left out"
    return f"{told}."


def body_sentence(records: Sequence[Record], length_unit: LengthUnit = "mm") -> str | None:
    """Return how deep a part's shape runs into the body, None where it keeps out of it."""
    found = [r for r in select(records, "body_depth") if isinstance(r.value, float)]
    deepest = max(found, key=_margin, default=None)
    if deepest is None or _margin(deepest) < SHOWN:
        return None
    size, where = show(deepest, length_unit), _where(deepest, length_unit)
    told = f"its shape runs {size} into the body {where}"
    doubted = any(
        why_untrusted(record) is not None
        for quantity in ("curl_up", "fold_back", "hook_clearance")
        for record in select(records, quantity)
    )
    held = "; the body would hold it off: what hangs on that shape is none to trust"
    return f"{told}{held if doubted else ''}."


def _sides(records: Sequence[Record]) -> str:
    """Return from how many sides the air blows a part onto the hook, where that was looked at."""
    found = select(records, "fouling_sides")
    if not found or not isinstance(found[0].value, float):
        return ""
    share, low, high = found[0].value, found[0].low, found[0].high
    told = f"{100.0 * share:.0f} %"
    if isinstance(low, float) and isinstance(high, float):
        told += f" ({100.0 * low:.0f} to {100.0 * high:.0f})"
    return f", blown onto it from {told} of all sides"


def hook_table(records: Sequence[Record], length_unit: LengthUnit = "mm") -> Iterator[str]:
    """Yield the lines of the table of clearances, nothing where there are none."""
    gaps = _overall(records)
    if not gaps:
        return
    largest = max(abs(_margin(record)) for record in gaps)
    unit = user_unit("m", length_unit)[1]
    yield ""
    yield _row("hook clearance", f"gap [{unit}]", "to the", "")
    for record in gaps:
        told = band_numbers(record, length_unit, largest)[0]
        known = why_untrusted(record) is None
        contact = _contact(records, record) if known else UNTRUSTED
        yield _row(_where(record, length_unit), told, _spot(records, record), contact)


def _overall(records: Sequence[Record]) -> list[Record]:
    """Return the clearances to the whole hook that have a number."""
    found = select(records, "hook_clearance")
    return [r for r in found if "spot" not in r.at and isinstance(r.value, float)]


def _margin(record: Record) -> float:
    assert isinstance(record.value, float)
    return record.value


def _same(records: Sequence[Record], quantity: str, record: Record) -> list[Record]:
    """Return the records of a quantity at the conditions of a record, a spot apart."""
    found = select(records, quantity, **record.at)
    return [r for r in found if r.part == record.part and r.scenario == record.scenario]


def _contact(records: Sequence[Record], record: Record) -> str:
    return str(_same(records, "hook_contact", record)[0].value)


def _spot(records: Sequence[Record], record: Record) -> str:
    spots = [r for r in _same(records, "hook_clearance", record) if "spot" in r.at]
    return str(min(spots, key=_margin).at["spot"])


def _where(record: Record, unit: LengthUnit) -> str:
    state = str(record.at["state"])
    told = STATES.get(state, state)
    speed = float(record.at.get("speed", 0.0))
    return f"{told} at {speed_text(speed, unit)}" if speed > 0.0 else told


def _row(name: str, *cells: str) -> str:
    return f"  {name:<{NAME_CELL}}" + "".join(
        f"{cell:<{width}}" for cell, width in zip(cells, (CELL, 8, 8), strict=True)
    )
