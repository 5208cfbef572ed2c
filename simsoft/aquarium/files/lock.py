"""A prediction written down before the test: dated, hashed, and checked again afterwards."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from simsoft.aquarium.columns import LARGEST as MOST
from simsoft.case.files import read_bytes
from simsoft.case.wording import printable
from simsoft.core.errors import InputError
from simsoft.results.record import Record, Value

LARGEST = 50_000_000  # bytes
NUMBERS = ("speed", "head_wind", "frequency", "temperature", "salinity", "mode")  # conditions
LONGEST = 2000  # characters of a text
KIND = "locked prediction"


@dataclass(frozen=True)
class Lock:
    """A locked prediction.

    Attributes
    ----------
    made : datetime, UTC
    case_hash, own_hash : str, SHA-256 in hexadecimal of the case text and of the whole lock
    title : str
    version : str, of simsoft
    records : tuple of Record
    """

    made: datetime
    case_hash: str
    own_hash: str
    title: str
    version: str
    records: tuple[Record, ...]


def text_hash(text: str) -> str:
    """Return the SHA-256 of a text as hexadecimal; line ends do not count."""
    return hashlib.sha256("\n".join(text.splitlines()).encode()).hexdigest()


def lock_text(
    title: str, case_text: str, version: str, records: tuple[Record, ...], now: datetime
) -> str:
    """Return the text of a lock file: a JSON object with its own hash as the last key."""
    body: dict[str, Any] = {
        "kind": KIND,
        "made": now.astimezone(UTC).isoformat(timespec="seconds"),
        "simsoft": version,
        "case": title,
        "case_sha256": text_hash(case_text),
        "records": [record.as_json() for record in records],
    }
    body["sha256"] = _own_hash(body)
    return json.dumps(body, allow_nan=False, indent=1) + "\n"


def _own_hash(body: dict[str, Any]) -> str:
    plain = {key: value for key, value in body.items() if key != "sha256"}
    packed = json.dumps(plain, sort_keys=True, separators=(",", ":"), allow_nan=False)
    return hashlib.sha256(packed.encode()).hexdigest()


def read_lock(path: str | Path) -> Lock:
    """Return a locked prediction whose hash fits its content.

    Raises
    ------
    InputError
        The file is no lock, is damaged, or was changed after it was written.
    """
    shown = printable(str(path))
    data = read_bytes(path, "a locked prediction", LARGEST)
    try:
        body = json.loads(data.decode("utf-8-sig"))
        if not isinstance(body, dict) or body.get("kind") != KIND:
            raise ValueError
        if body["sha256"] != _own_hash(body):
            raise InputError(f"{shown}: was changed after it was locked; its hash does not fit")
        records = tuple(_record(item) for item in body["records"])
        made = datetime.fromisoformat(body["made"])
        return Lock(
            made=made.replace(tzinfo=made.tzinfo or UTC),
            case_hash=_word(body["case_sha256"]),
            own_hash=_word(body["sha256"]),
            title=_word(body["case"]),
            version=_word(body["simsoft"]),
            records=records,
        )
    except (ValueError, KeyError, TypeError, AttributeError, OverflowError, RecursionError):
        raise InputError(
            f"{shown}: is not a locked prediction; `simsoft compare CASE --lock FILE` writes one"
        ) from None


def _record(item: dict[str, Any]) -> Record:
    return Record(
        _word(item["scenario"]),
        _word(item["part"]),
        _word(item["quantity"]),
        _value(item["value"]),
        _value(item["low"]),
        _value(item["high"]),
        _word(item["unit"]),
        _word(item["basis"]),
        {_word(key): _condition(key, value) for key, value in item["at"].items()},
        None if item.get("reason") is None else _word(item["reason"]),
    )


def _word(value: Any) -> str:
    """Return a text of a lock; ValueError where it is none that can be shown."""
    if not isinstance(value, str) or not value.isprintable() or len(value) > LONGEST:
        raise ValueError
    return value


def _number(value: Any) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not abs(value) <= MOST:
        raise ValueError
    return float(value)


def _value(value: Any) -> Value:
    if value is None or isinstance(value, str):
        return value if value is None else _word(value)
    return tuple(map(_number, value)) if isinstance(value, list) else _number(value)


def _condition(key: str, value: Any) -> float | int | str:
    if isinstance(value, str) and key not in NUMBERS:
        return _word(value)
    return value if isinstance(value, bool | int) and abs(value) <= MOST else _number(value)


def locked_before(lock: Lock, measured_on: str) -> bool | None:
    """Return whether a lock is older than a measurement's date (ISO); None where it cannot be told.

    A date without a time of day that is the day of the lock tells nothing.
    """
    try:
        when = datetime.fromisoformat(measured_on)
    except ValueError:
        return None
    if len(measured_on.strip()) <= 10:
        same = lock.made.date() == when.date()
        return None if same else lock.made.date() < when.date()
    return lock.made < (when if when.tzinfo else when.replace(tzinfo=UTC))
