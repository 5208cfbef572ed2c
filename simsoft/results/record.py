"""Records: one predicted quantity each, with its band, its basis and its conditions."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Any

Value = float | tuple[float, ...] | str | None

AT_MOST = "upper bound"  # what the basis of a number says, and why, that may lie anywhere below
UNTRUSTED = "not to be trusted"  # what the basis of a number says, and why, past its model's range
# What the basis of a paddle tail's number says where soft body ahead bends with its stem.
ON_SOFT_BODY = "its stem goes on in soft body"
COARSE = "; screening: coarse rod, no march"  # ends the basis of what is screened on such a mesh
BY_LOOK = "given what was seen of the bait in hand"


@dataclass(frozen=True)
class Record:
    """One answer.

    Attributes
    ----------
    scenario, part, quantity : str
    value, low, high : float, tuple of float, str or None
        SI base units, angles in degrees; ``None`` where there is none (see ``reason``).
    unit : str, "" for a dimensionless number or a word
    basis : str, model and provenance; says 'screening' where it is one
    at : dict, conditions in SI (for example ``{"speed": 0.2}``)
    reason : str or None, why there is no value
    """

    scenario: str
    part: str
    quantity: str
    value: Value
    low: Value
    high: Value
    unit: str
    basis: str
    at: dict[str, float | int | str] = field(default_factory=dict)
    reason: str | None = None

    def __post_init__(self) -> None:
        for item in (self.value, self.low, self.high):
            numbers = item if isinstance(item, tuple) else (item,)
            if any(isinstance(x, float) and not math.isfinite(x) for x in numbers):
                raise ValueError(f"record {self.quantity!r} holds a number that is not finite")
        if self.value is None and self.reason is None:
            raise ValueError(f"record {self.quantity!r} has no value and no reason")

    def as_json(self) -> dict[str, Any]:
        """Return the contract's JSON object; ``reason`` only where there is one."""
        body: dict[str, Any] = {
            "scenario": self.scenario,
            "part": self.part,
            "quantity": self.quantity,
            "value": self.value,
            "low": self.low,
            "high": self.high,
            "unit": self.unit,
            "basis": self.basis,
            "at": dict(self.at),
        }
        if self.reason is not None:
            body["reason"] = self.reason
        return body


def record_of(body: dict[str, Any]) -> Record:
    """Return the record of one JSON object."""
    numbers = {
        key: tuple(body[key]) if isinstance(body[key], list) else body[key]
        for key in ("value", "low", "high")
    }
    return Record(**{**body, **numbers})


def missing(
    scenario: str, part: str, quantity: str, unit: str, basis: str, reason: str, **at: Any
) -> Record:
    """Return a record without a value; ``reason`` says why in one line."""
    return Record(scenario, part, quantity, None, None, None, unit, basis, at, reason)


def bounded_above(basis: str, why: str) -> str:
    """Return the basis of a number that is known only to lie at it or below, and why."""
    return f"{basis}; {AT_MOST}: {why}"


def is_upper_bound(basis: str) -> bool:
    """Tell whether a number's basis says that it lies at it or below."""
    return f"; {AT_MOST}: " in basis


def distrusted(record: Record, why: str) -> Record:
    """Return a record whose basis says that its number is not to be trusted, and why."""
    return replace(record, basis=f"{record.basis}; {UNTRUSTED}: {why}")


def why_untrusted(record: Record) -> str | None:
    """Return why the number of a record is not to be trusted, None where nothing speaks so."""
    return record.basis.partition(f"; {UNTRUSTED}: ")[2] or None


def select(records: Sequence[Record], quantity: str, **at: Any) -> list[Record]:
    """Return the records of one quantity whose conditions contain every item of ``at``."""
    return [
        r
        for r in records
        if r.quantity == quantity and all(r.at.get(key) == value for key, value in at.items())
    ]
