"""Study: how wide the bands of the demos are, and what a measured modulus takes off them.

A strip of the compound that rings down tells its modulus. The same demo is run as it is and with
the factor between its modulus and the durometer's formula stated, at its usual value, so that the
numbers stay and the durometer's part of their bands goes.
"""

from __future__ import annotations

import math
import statistics
from collections.abc import Sequence
from dataclasses import dataclass, replace

from simsoft.properties.material import DEFAULTS
from simsoft.results.record import Record
from simsoft.validate.studies.tools import ABSENT, demo, solve_cases, table

DEMOS = ("swim_97", "paddle_100", "winter_80", "ribbon_150", "curl_grub_75")
# Quantity: its words, and the ratio of high to low that was wanted with the modulus known.
QUANTITIES = {
    "start_speed": ("start", 1.4),
    "flap_frequency": ("rate", None),
    "stroke": ("stroke", 2.0),
    "edge_to_edge": ("edge to edge", None),
}


@dataclass(frozen=True)
class Widths:
    """Ratios of high to low of one demo's bands, by quantity; infinite where low is nothing."""

    demo: str
    stated: dict[str, tuple[float, ...]]
    measured: dict[str, tuple[float, ...]]


def study() -> list[Widths]:
    """Run the demos with bands, their durometer alone and their modulus measured."""
    plain = [demo(name) for name in DEMOS]
    known = [
        replace(case, material=replace(case.material, static_factor=DEFAULTS.static_factor))
        for case in plain
    ]
    solved = solve_cases([*plain, *known], bands=True)
    pairs = zip(DEMOS, solved[: len(plain)], solved[len(plain) :], strict=True)
    return [widths_of(name, a.records, b.records) for name, a, b in pairs]


def widths_of(name: str, stated: Sequence[Record], measured: Sequence[Record]) -> Widths:
    """Return the widths of a demo's bands from its records, as it is and measured."""
    return Widths(name, _ratios(stated), _ratios(measured))


def _ratios(records: Sequence[Record]) -> dict[str, tuple[float, ...]]:
    found: dict[str, list[float]] = {quantity: [] for quantity in QUANTITIES}
    for record in records:
        value, low, high = record.value, record.low, record.high
        at_rest = record.at.get("state") == "rest"
        if record.quantity not in found or at_rest or not isinstance(value, float) or not value:
            continue
        closed = isinstance(low, float) and isinstance(high, float) and low > 0.0
        found[record.quantity].append(high / low if closed else math.inf)  # type: ignore[operator]
    return {quantity: tuple(ratios) for quantity, ratios in found.items()}


def medians(widths: Sequence[Widths], measured: bool) -> dict[str, float]:
    """Return the median ratio of all demos by quantity."""
    sides = [w.measured if measured else w.stated for w in widths]
    found = {q: [ratio for side in sides for ratio in side[q]] for q in QUANTITIES}
    return {q: statistics.median(ratios) if ratios else math.nan for q, ratios in found.items()}


def section(widths: Sequence[Widths]) -> str:
    """Return the study as Markdown."""
    head = ["demo", *(f"{words}: durometer, measured" for words, _ in QUANTITIES.values())]
    rows = [
        [w.demo, *(f"{_told(w.stated[q])}, {_told(w.measured[q])}" for q in QUANTITIES)]
        for w in widths
    ]
    both = medians(widths, False), medians(widths, True)
    rows.append(["all", *(", ".join(_told((side[q],)) for side in both) for q in QUANTITIES)])
    wanted = [
        f"{words} {both[1][q]:.2f} (wanted {limit:g})"
        for q, (words, limit) in QUANTITIES.items()
        if limit is not None
    ]
    return (
        "## Width of the bands\n\nHigh over low of the bands, medians over the speeds of each demo "
        "at which it moves; first as the case is, with its durometer alone, then with the modulus "
        "told by a strip of the compound that rings down. None where nothing moves; no end where "
        f"low is nothing. With the modulus known the medians are: {', '.join(wanted)}. What is "
        "left is for the most part the model's own error against the resolved flow "
        f"(`RESOLVED.md`).\n\n{table(head, rows)}\n"
    )


def _told(ratios: tuple[float, ...]) -> str:
    middle = statistics.median(ratios) if ratios else math.nan
    if math.isnan(middle):
        return ABSENT
    return f"{middle:.2f}" if math.isfinite(middle) else "no end"
