"""What changed between two runs, told by what moves both: the doubt that both share cancels."""

from __future__ import annotations

import math
from collections.abc import Iterator

from simsoft.design.paired import ENDS
from simsoft.engine.rows import left_open, move_key
from simsoft.results.changes import RunChange
from simsoft.results.record import Record
from simsoft.results.result import RunResult

TOLD = ("start_speed", "flap_frequency", "stroke", "sink_rate", "natural_frequency")
SAME = 1e-9  # logarithm below which nothing changed


def run_changes(before: RunResult, after: RunResult) -> list[RunChange]:
    """Return what changed of the numbers that makers ask for, both runs with bands.

    Parameters
    ----------
    before, after : RunResult, that still hold how inputs move their numbers
    """
    first = {move_key(record): record for record in before.records}
    pairs = ((first.get(move_key(record)), record) for record in after.records)
    return list(_changes(((a, b) for a, b in pairs if a is not None), before, after))


def _changes(
    pairs: Iterator[tuple[Record, Record]], before: RunResult, after: RunResult
) -> Iterator[RunChange]:
    for old, new in pairs:
        if new.quantity not in TOLD or new.at.get("medium", "water") != "water":
            continue
        if new.at.get("mode", 1) != 1 or not _positive(old) or not _positive(new):
            continue
        rows = [run.moves.get(move_key(r)) for run, r in ((before, old), (after, new))]
        if rows[0] is None or rows[1] is None:
            continue
        middle = math.log(float(new.value) / float(old.value))  # type: ignore[arg-type]
        if abs(middle) < SAME:
            continue
        names = set(rows[0]) | set(rows[1])
        shared = sum((rows[1].get(n, 0.0) - rows[0].get(n, 0.0)) ** 2 for n in names)
        loose = left_open(before.case, after.case, new.quantity, middle)
        width = ENDS * math.hypot(math.sqrt(shared), loose)
        yield RunChange(old, new, middle, width, ENDS * math.hypot(_half(old), _half(new)))


def _positive(record: Record) -> bool:
    return isinstance(record.value, float) and record.value > 0.0


def _half(record: Record) -> float:
    """Return half the logarithm of a band, of one that is open or reaches down to zero its side."""
    value, low, high = (
        x if isinstance(x, float) and x > 0.0 else None
        for x in (record.value, record.low, record.high)
    )
    if value is None:
        return 0.0
    if low is None or high is None:
        end = high if low is None else low
        return 0.0 if end is None else abs(math.log(end / value))
    return 0.5 * math.log(high / low)
