"""A prediction written down before the test: dated, hashed, and checked again afterwards."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from simsoft.case.files import read_bytes
from simsoft.case.wording import printable
from simsoft.core.errors import InputError
from simsoft.results.record import Record

LARGEST = 50_000_000  # bytes
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
            made, body["case_sha256"], body["sha256"], body["case"], body["simsoft"], records
        )
    except (ValueError, KeyError, TypeError, UnicodeDecodeError, RecursionError):
        raise InputError(
            f"{shown}: is not a locked prediction; `simsoft compare CASE --lock FILE` writes one"
        ) from None


def _record(item: dict[str, Any]) -> Record:
    def plain(value: Any) -> Any:
        return tuple(value) if isinstance(value, list) else value

    return Record(
        item["scenario"],
        item["part"],
        item["quantity"],
        plain(item["value"]),
        plain(item["low"]),
        plain(item["high"]),
        item["unit"],
        item["basis"],
        dict(item["at"]),
        item.get("reason"),
    )


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
