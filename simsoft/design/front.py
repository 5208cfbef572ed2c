"""The trade-off of start against hook gap: the designs that no other beats in both."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from simsoft.design.brief import Finding

TRADE = ("start_speed", "hook_clearance")


class Traded(NamedTuple):
    """A design by both numbers.

    Attributes
    ----------
    name : str
    start : float [m/s], lower is better
    gap : float [m], larger is better
    good : bool, meets the whole brief in its middle
    """

    name: str
    start: float
    gap: float
    good: bool


def traded(designs: Iterable[tuple[str, Sequence[Finding], bool]]) -> list[Traded]:
    """Return the designs that answer both wishes; ``designs`` are name, findings, good."""
    found = []
    for name, findings, good in designs:
        records = {f.clause.quantity: f.record for f in findings if f.record is not None}
        start, gap = (records[q].value if q in records else None for q in TRADE)
        if isinstance(start, float) and isinstance(gap, float):
            found.append(Traded(name, start, gap, good))
    return found


def front(designs: Sequence[Traded]) -> list[Traded]:
    """Return the designs that no other beats in both, the earliest start first, each pair once."""
    kept: list[Traded] = []
    for one in sorted(designs, key=lambda d: (d.start, -d.gap, not d.good)):
        if not kept or one.gap > kept[-1].gap:
            kept.append(one)
    return kept
