"""What was seen of the bait in hand as JSON text and back, as a results file keeps it."""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Sequence
from typing import Any

from simsoft.case.model import Seen
from simsoft.results.record import Record, record_of
from simsoft.results.result import Look


def looks_text(looks: Sequence[Look], narrowed: Sequence[tuple[str, float]]) -> str:
    """Return looks, and what is left of the doubt of each input, as JSON text.

    Parameters
    ----------
    looks : sequence of Look
    narrowed : sequence of (name, share)
    """
    body = {
        "looks": [dataclasses.asdict(look) for look in looks],
        "narrowed": [list(pair) for pair in narrowed],
    }
    return json.dumps(body, allow_nan=False)


def looks_of(text: str) -> tuple[tuple[Look, ...], tuple[tuple[str, float], ...]]:
    """Return the looks and shares that ``looks_text`` wrote.

    Raises
    ------
    ValueError, KeyError, TypeError
        If the text is none of these.
    """
    body = json.loads(text)
    looks = tuple(
        Look(**{**look, "seen": Seen(**look["seen"]), **_records(look)}) for look in body["looks"]
    )
    return looks, tuple((str(name), float(share)) for name, share in body["narrowed"])


def _records(look: dict[str, Any]) -> dict[str, Record | None]:
    return {key: None if look[key] is None else record_of(look[key]) for key in ("before", "after")}
