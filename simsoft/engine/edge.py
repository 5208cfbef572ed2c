"""Beats faster than any soft tail's: a rate past the edge is no answer, whatever was computed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from simsoft.case.model import Case
from simsoft.results.record import Record, Value

# Filmed soft tails beat below some 20 Hz (common practice, no source).
FASTEST_BEAT = 50.0  # [Hz]
RATES = ("flap_frequency", "start_frequency")
# What hangs on a rate and is worth as little: by conditions for a beat, without for a start.
WITH_BEAT = ("flap_frequency", "stroke", "edge_to_edge", "side_force", "root_moment")
WITH_START = ("start_frequency", "start_speed")


def withheld(case: Case, records: Sequence[Record]) -> list[Record]:
    """Return the records of one part, numbers of beats past the edge replaced by the reason.

    A case that states a modulus may be another thing than a lure, and keeps them.
    """
    past = [r for r in records if r.quantity in RATES and past_the_edge(case, r.value)]
    found = list(records)
    for record in past:
        reason = (
            f"computed {_rate(record):.3g} Hz, and no soft tail beats faster than "
            f"{FASTEST_BEAT:g} Hz: the model does not hold here, so no number is given"
        )
        beat = record.quantity == "flap_frequency"
        names = WITH_BEAT if beat else WITH_START
        found = [
            _without(r, reason) if r.quantity in names and (not beat or r.at == record.at) else r
            for r in found
            if not (r.quantity == "doubt" and r.at.get("of") in names)
        ]
    return found


def past_the_edge(case: Case, rate: Value) -> bool:
    """Return whether a rate [Hz] that a case gave is no answer."""
    stated = case.material.youngs_modulus is not None
    return not stated and isinstance(rate, float) and rate > FASTEST_BEAT


def _rate(record: Record) -> float:
    return record.value if isinstance(record.value, float) else 0.0


def _without(record: Record, reason: str) -> Record:
    return replace(record, value=None, low=None, high=None, reason=reason)
