"""The versions in a folder, in words: one paragraph each, money summed at the end."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from typing import Any

from simsoft.aquarium.files.history import HistoryNumber
from simsoft.core.quantities import words
from simsoft.design.log import LOOP, Version
from simsoft.report.text.asked import parts_text
from simsoft.report.text.brief import folded
from simsoft.report.text.seen import seen_text
from simsoft.report.units import show, speed_text

PRICED = "hours priced in, in the unit of [shop], by default the resin of one prototype mould"

Measurements = Mapping[str, Sequence[HistoryNumber]]


def log_text(found: Sequence[Version], seen: Measurements | None = None) -> str:
    """Return the versions as text of 80 columns; ``seen`` are measurements by file name."""
    lines: list[str] = []
    for version in found:
        indent = "  " * version.depth
        for index, text in enumerate(_told(version, (seen or {}).get(version.file, []))):
            lines += folded(text, indent + "  " * bool(index), f"{indent}    ")
        lines.append("")
    loops = sum(version.asks == LOOP for version in found)
    money = sum(version.money for version in found)
    kinds = "version" if len(found) == 1 else "versions"
    cost = f"{loops} of them with a mould of their own: {money:.3g} in all, {PRICED}"
    lines += folded(f"{len(found)} {kinds}, {cost}; common practice where [shop] is silent.")
    return "\n".join(lines) + "\n"


def _told(version: Version, measured: Sequence[HistoryNumber]) -> list[str]:
    unit = version.case.length_unit
    origin = version.parent or version.origin
    lost = "" if version.parent or not version.origin else " as it was then, not in this folder"
    texts = [f"{version.file} ({version.digest})" + (f", from {origin}{lost}" if origin else "")]
    if version.changes:
        texts.append(f"changed: {'; '.join(version.changes)}")
    texts.append(f"sizes and pour: {parts_text(version.case)}")
    if version.made:
        numbers = [
            f"{words(r.quantity)}{_at(r.at.get('speed'), unit)} {show(r, unit)}"
            for r in version.predicted
        ]
        told = "; ".join(numbers) or "nothing that a log tells"
        texts.append(f"predicted {version.made[:10]}: {told}")
    else:
        texts.append("predicted: no run of this text in the folder; simsoft run --out")
    looks = "; ".join(seen_text(look, unit) for look in version.case.seen)
    texts.append(f"seen: {looks or 'nothing yet'}")
    told = "; ".join(_measured(one, unit) for one in measured)
    texts.append(f"measured: {told or 'nothing in the folder'}")
    costs = f" (costs {version.money:.3g})" if version.money else ""
    texts.append(f"asks for: {version.asks or 'nothing'}{costs}")
    return texts


def _measured(one: HistoryNumber, unit: Any) -> str:
    """Return a measured number, with what its comparison said."""
    record = one.record
    value = f"{words(record.quantity)}{_at(record.at.get('speed'), unit)} {show(record, unit)}"
    return f"{value}, {one.judgement}" if one.judgement else value


def _at(speed: Any, unit: Any) -> str:
    return "" if speed is None else f" at {speed_text(float(speed), unit)}"


def log_json(found: Sequence[Version], seen: Measurements | None = None) -> str:
    """Return the versions as one JSON object, SI units; ``seen`` as in `log_text`."""
    rows = [
        {
            "file": version.file,
            "digest": version.digest,
            "parent": version.parent or None,
            "changes": list(version.changes),
            "predicted": [record.as_json() for record in version.predicted],
            "run": version.made or None,
            "seen": [
                {"quantity": s.quantity, "value": s.equals if s.value is None else s.value}
                for s in version.case.seen
            ],
            "measured": [
                {**one.record.as_json(), "judgement": one.judgement or None}
                for one in (seen or {}).get(version.file, [])
            ],
            "asks_for": version.asks or None,
            "money": version.money,
        }
        for version in found
    ]
    return json.dumps({"versions": rows}, indent=2, allow_nan=False)
