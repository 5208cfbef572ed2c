"""What differs between two runs: keys of the case, records that moved, verdicts."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from typing import Any, NamedTuple

from simsoft.case.overrides import apply
from simsoft.design.brief import judge
from simsoft.results.record import Record, Value
from simsoft.results.result import RunResult

SHARE = 0.1  # of the wider of both bands: a smaller move is none
WITHOUT_BAND = 0.01  # relative, where neither has a band
ABOUT_NUMBERS = ("energy_residual", "momentum_residual", "discretisation_error", "doubt")
SET = "# set "  # how the text of a case records an override
MOULDED = ("parts.", "body.")  # keys that a mould is cut by,
NOT_MOULDED = (  # but for these
    *("loads", "model", "density", "salt_fraction", "microballoon_fraction", "air_fraction"),
    *("microballoon_density", "drag_factor", "cross_drag", "axial_drag", "skin_friction"),
    *("set_angle", "set_fraction", "bending", "name", "flexible", "stiff_from", "stiff_to"),
)
HOOKED = "rig.hook."
CLEARANCES = ("hook_clearance", "hook_contact")

Key = tuple[str, str, str, tuple[tuple[str, Any], ...]]


class Moved(NamedTuple):
    """A record that moved.

    Attributes
    ----------
    before, after : Record or None, None where only the other run has one
    share : float or None, the move over the wider band, None where there is none to compare with
    """

    before: Record | None
    after: Record | None
    share: float | None


class Difference(NamedTuple):
    """What differs between two runs.

    Attributes
    ----------
    keys : tuple of (key, before, after), as the cases have them, None for a key that is not there
    records : tuple of Moved
    verdicts : tuple of (clause, before, after), None for a clause that is not there
    hooked : bool, a run tells how far it clears a hook
    """

    keys: tuple[tuple[str, Any, Any], ...]
    records: tuple[Moved, ...]
    verdicts: tuple[tuple[str, str | None, str | None], ...]
    hooked: bool = False

    @property
    def is_one(self) -> bool:
        """Whether anything differs."""
        return bool(self.keys or self.records or self.verdicts)

    @property
    def mould(self) -> tuple[str, ...]:
        """The changed keys that ask for another mould."""
        return tuple(key for key, _, _ in self.keys if _moulded(key))

    @property
    def hook(self) -> tuple[str, ...]:
        """The changed keys of the hook."""
        return tuple(key for key, _, _ in self.keys if key.startswith(HOOKED))

    @property
    def clearances(self) -> tuple[Moved, ...]:
        """The moved records of hook clearance and contact."""
        return tuple(m for m in self.records if _either(m).quantity in CLEARANCES)


def run_difference(before: RunResult, after: RunResult) -> Difference:
    """Return what differs between two runs."""
    keys = _changed(_flat(_tables(before.case.text)), _flat(_tables(after.case.text)))
    found = [
        {f.clause.name: f.verdict for f in judge(r.case, r.records, banded=True)}
        for r in (before, after)
    ]
    hooked = any(r.quantity in CLEARANCES for run in (before, after) for r in run.records)
    moved = tuple(_moved(before, after))
    return Difference(tuple(keys), moved, tuple(_changed(*found)), hooked)


def _either(moved: Moved) -> Record:
    record = moved.after if moved.before is None else moved.before
    assert record is not None
    return record


def _moulded(key: str) -> bool:
    pieces = key.split(".")
    return key.startswith(MOULDED) and not any(piece in NOT_MOULDED for piece in pieces)


def _tables(text: str) -> dict[str, Any]:
    """Return the tables of a case's text, the overrides at its end set."""
    lines = text.rstrip().splitlines()
    last = next(
        (i for i, line in enumerate(reversed(lines)) if not line.startswith("#")), len(lines)
    )
    sets = [line.removeprefix(SET) for line in lines[len(lines) - last :] if line.startswith(SET)]
    try:
        tables = tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return {"text": text}
    return apply(tables, sets)[0]


def _flat(value: Any, path: str = "") -> dict[str, Any]:
    """Return tables as one of dotted keys; entries of lists of tables go by name or number."""
    if isinstance(value, dict):
        found: dict[str, Any] = {}
        for key, inner in value.items():
            found |= _flat(inner, f"{path}.{key}" if path else key)
        return found
    if isinstance(value, list) and value and all(isinstance(entry, dict) for entry in value):
        found = {}
        for number, entry in enumerate(value):
            label = entry.get("name", entry.get("quantity", number))
            same = f"{path}.{label}"
            found |= _flat(
                entry, f"{same}#{number}" if f"{same}.{next(iter(entry))}" in found else same
            )
        return found
    return {path: value}


def _changed(before: Mapping[str, Any], after: Mapping[str, Any]) -> Iterator[tuple[str, Any, Any]]:
    for key in dict.fromkeys([*before, *after]):
        pair = before.get(key), after.get(key)
        if pair[0] != pair[1]:
            yield key, *pair


def _by_key(result: RunResult) -> dict[Key, Record]:
    return {
        (r.scenario, r.part, r.quantity, tuple(sorted(r.at.items()))): r
        for r in result.records
        if r.quantity not in ABOUT_NUMBERS
    }


def _moved(before: RunResult, after: RunResult) -> Iterator[Moved]:
    first, second = _by_key(before), _by_key(after)
    for key in dict.fromkeys([*first, *second]):
        a, b = first.get(key), second.get(key)
        if a is None or b is None:
            yield Moved(a, b, None)
            continue
        share = _share(a, b)
        if share is None and a.value != b.value:
            yield Moved(a, b, None)
        elif share is not None and share > SHARE:
            yield Moved(a, b, share)


def _share(before: Record, after: Record) -> float | None:
    """Return a move over the wider band, None where there are no numbers to compare.

    Without a band a move is told in shares of ``WITHOUT_BAND`` of the number, so that ``SHARE``
    serves for both.
    """
    a, b = before.value, after.value
    if isinstance(a, tuple) and isinstance(b, tuple) and len(a) == len(b):
        size = max((abs(x) for x in (*a, *b)), default=0.0)
        gap = max((abs(x - y) for x, y in zip(a, b, strict=True)), default=0.0)
        return SHARE * gap / (WITHOUT_BAND * size) if size else 0.0
    if not isinstance(a, int | float) or not isinstance(b, int | float):
        return None
    width = max(_width(before), _width(after))
    gap = abs(b - a)
    if width > 0.0:
        return gap / width
    size = max(abs(a), abs(b))
    return SHARE * gap / (WITHOUT_BAND * size) if size else 0.0


def _width(record: Record) -> float:
    """Return the width of a band, of one that is open upward twice its lower half."""
    value, low, high = (_number(x) for x in (record.value, record.low, record.high))
    if value is None or low is None:
        return 0.0
    return 2.0 * (value - low) if high is None else high - low


def _number(value: Value) -> float | None:
    return float(value) if isinstance(value, int | float) else None
