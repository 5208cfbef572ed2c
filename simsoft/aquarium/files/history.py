"""What was measured of the versions in a folder: results and comparisons kept beside the cases."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from simsoft.aquarium.compare import grouped
from simsoft.aquarium.files.lock import text_hash
from simsoft.aquarium.files.read import measure_files
from simsoft.core.errors import InputError
from simsoft.results.record import Record

RESULTS, COMPARISON = "results.csv", "comparison.json"
ENDS = ("_", "-")  # what may part the name of a case from the rest of a folder's name


@dataclass(frozen=True)
class HistoryNumber:
    """A measured number of a version.

    Attributes
    ----------
    record : Record, the measurement with its uncertainty as band
    judgement : str, of its comparison with the prediction; '' where there was none
    """

    record: Record
    judgement: str = ""


def measured_of(
    directory: str | Path, cases: Mapping[str, str]
) -> tuple[dict[str, list[HistoryNumber]], list[str]]:
    """Return what was measured of each case of a folder, and what could not be told whose it is.

    ``results.csv`` and ``comparison.json`` are read in the folder and in the folders in it. A
    comparison knows its case by the text. A result belongs to the case that its ``case_id`` names,
    else to the one that its folder is named after.

    Parameters
    ----------
    directory : path
    cases : mapping of file name to the text of the case
    """
    place = Path(directory)
    found: dict[str, list[HistoryNumber]] = {name: [] for name in cases}
    notes: list[str] = []
    for path in _kept(place, COMPARISON):
        _compared(path, cases, found)
    for path in _kept(place, RESULTS):
        shown = str(path.relative_to(place))
        try:
            measured = grouped(measure_files([path]))
        except InputError as problem:
            notes.append(f"{shown}: left out, {problem.problems[0]}")
            continue
        lost = 0
        for m in measured:
            own = _named(str(m.at.get("case_id", "")), cases)
            own = own or (_after(path.parent.name, cases) if path.parent != place else "")
            if not own:
                lost += 1
            elif m.clear and not any(_same(m.record(), seen.record) for seen in found[own]):
                found[own].append(HistoryNumber(m.record()))
        if lost:
            notes.append(
                f"{shown}: {lost} of {len(measured)} numbers are of no version told; name the "
                "folder after the case, or give case_id"
            )
    return found, notes


def _kept(place: Path, name: str) -> list[Path]:
    return [p for p in (place / name, *sorted(place.glob(f"*/{name}"))) if p.is_file()]


def _named(name: str, cases: Mapping[str, str]) -> str:
    return next((file for file in cases if name and name in (file, Path(file).stem)), "")


def _after(folder: str, cases: Mapping[str, str]) -> str:
    """Return the case that a folder is named after, the longest name first."""
    for file in sorted(cases, key=len, reverse=True):
        stem = Path(file).stem
        if folder == stem or any(folder.startswith(f"{stem}{end}") for end in ENDS):
            return file
    return ""


def _compared(path: Path, cases: Mapping[str, str], found: dict[str, list[HistoryNumber]]) -> None:
    """Add what a comparison kept of the very text of a case."""
    try:
        body = json.loads(path.read_text(encoding="utf-8"))
        digest, records, pairs = body["case_sha256"], body["records"], body["comparisons"]
        seen = [
            HistoryNumber(_record(record), str(pair["judgement"]))
            for record, pair in zip(records, pairs, strict=True)
            if isinstance(record["value"], float)
        ]
    except (OSError, ValueError, KeyError, TypeError):
        return  # not a comparison of one case
    for file, text in cases.items():
        if text_hash(text) == digest:
            found[file] += seen


def _record(body: dict[str, Any]) -> Record:
    names = ("scenario", "part", "quantity", "value", "low", "high", "unit", "basis", "at")
    return Record(*(body[name] for name in names))


def _same(one: Record, other: Record) -> bool:
    return one.quantity == other.quantity and one.at.get("speed") == other.at.get("speed")
