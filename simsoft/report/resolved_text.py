"""The records of a resolved run as a table, the reduced model's beside them."""

from __future__ import annotations

from collections.abc import Sequence

from simsoft.results.record import Record

SHOWN = (
    ("flap_frequency", "rate", 1.0, "Hz"),
    ("stroke", "stroke", 1.0e3, "mm"),
    ("fold_back", "fold-back", 1.0, "deg"),
    ("drag", "drag", 1.0e3, "mN"),
    ("side_force", "side force", 1.0e3, "mN"),
)


def _shown(record: Record | None, scale: float, unit: str) -> str:
    """Return value and band in a unit, or why there is none."""
    if record is None:
        return "-"
    if not isinstance(record.value, float):
        return record.reason or "-"
    low, high = record.low, record.high
    text = f"{scale * record.value:.3g}"
    if isinstance(low, float) and isinstance(high, float):
        text += f" ({scale * low:.3g} to {scale * high:.3g})"
    return f"{text} {unit}"


def same_number(records: Sequence[Record], like: Record) -> Record | None:
    """Return the record of the same part, quantity and speed, None where there is none."""
    speed = like.at["speed"]
    for record in records:
        if (record.quantity, record.part) == (like.quantity, like.part):
            at = record.at.get("speed")
            if isinstance(at, float) and isinstance(speed, float) and abs(at - speed) < 1e-9:
                return record
    return None


def resolved_table(records: Sequence[Record], reduced: Sequence[Record]) -> str:
    """Return one line a quantity and speed; with ``reduced`` a column for the reduced model."""
    words = {quantity: (word, scale, unit) for quantity, word, scale, unit in SHOWN}
    rows = []
    for record in records:
        word, scale, unit = words[record.quantity]
        row = [f"{record.at['speed']:g} m/s", word, _shown(record, scale, unit)]
        if reduced:
            row.append(_shown(same_number(reduced, record), scale, unit))
        rows.append(row)
    if not rows:
        return ""
    head = ["speed", "", "resolved"] + (["reduced model"] if reduced else [])
    widths = [max(len(row[i]) for row in [head, *rows]) for i in range(len(head))]
    lines = ["  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()
             for row in [head, *rows]]  # fmt: skip
    notes = sorted({record.basis for record in records})
    return "\n".join(["", *lines, "", *notes]) + "\n"
