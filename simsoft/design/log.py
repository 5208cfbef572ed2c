"""The versions of a design in a folder: what each came from, was predicted, was seen, and cost."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from simsoft.case.files import read_text
from simsoft.case.model import Case
from simsoft.case.read import loads
from simsoft.core.errors import InputError
from simsoft.design.asked import short_digest
from simsoft.design.cost import COSTS, MOULDED, asks_for, cost
from simsoft.results.hdf5_reader import read_run
from simsoft.results.record import Record

LOOP = "one more mould"
TOLD = ("start_speed", "flap_frequency", "sink_rate", "hook_clearance", "cast_distance")
_ORIGIN = re.compile(r"# From (?P<name>.+) \((?P<digest>[0-9a-f]{12})\):$")
_CHANGE = re.compile(r"#   (?P<change>[\w.-]+=.+)$")


@dataclass(frozen=True)
class Version:
    """One case file of a folder.

    Attributes
    ----------
    file : str, its name
    case : Case, with its sizes, recipe, shop and what was seen of it
    digest : str, short, of its text
    parent : str, file that it came from as that was then; '' where none of the folder is
    origin : str, what its first line says that it came from
    changes : tuple of str, ``PATH=VALUE`` against that
    depth : int, generations above it in the folder
    made : str, date of the newest run of this very text; '' where the folder holds none
    predicted : tuple of Record, of that run
    asks : str, what it asks for against its parent: recipe, rig, a mould; '' for nothing
    money : float, of its mould in the unit of the shop, 0 where it needs no own
    """

    file: str
    case: Case
    digest: str
    parent: str
    origin: str
    changes: tuple[str, ...]
    depth: int
    made: str
    predicted: tuple[Record, ...]
    asks: str
    money: float


def versions(directory: str | Path) -> tuple[list[Version], list[str]]:
    """Return the versions in a folder, children after their parents, and what was left out.

    Predictions are read from ``results.h5`` in the folder and in the folders below it.

    Raises
    ------
    InputError
        The folder is not there or holds no case.
    """
    place = Path(directory)
    if not place.is_dir():
        raise InputError(f"{directory}: there is no such folder")
    cases, skipped = {}, []
    for path in sorted(place.glob("*.toml")):
        try:
            text = read_text(path)
            cases[path.name] = (text, loads(text, str(path)))
        except InputError as problem:
            skipped.append(f"{path.name}: left out, {problem.problems[0]}")
    if not cases:
        raise InputError(f"{directory}: holds no case that can be read")
    runs = _runs(place)
    parents = {name: _parent(text, name, cases) for name, (text, _) in cases.items()}
    return list(_in_order(cases, parents, runs)), skipped


def _in_order(
    cases: dict[str, tuple[str, Case]],
    parents: dict[str, str],
    runs: dict[str, tuple[str, tuple[Record, ...]]],
    parent: str = "",
    depth: int = 0,
) -> Iterator[Version]:
    for name, (text, case) in cases.items():
        if parents[name] != parent:
            continue
        changes = _changes(text)
        asks = _asks(changes) if parent else LOOP
        made, records = runs.get(_digest(case.text), ("", ()))
        yield Version(
            file=name, case=case, digest=short_digest(case), parent=parent,
            origin=_origin(text)[0], changes=changes, depth=depth, made=made,
            predicted=_chosen(records), asks=asks,
            money=_money(case, asks),
        )  # fmt: skip
        yield from _in_order(cases, parents, runs, name, depth + 1)


def _money(case: Case, asks: str) -> float:
    """Return what a mould costs, of the kind that the shop of the case says; nothing without."""
    if asks != LOOP:
        return 0.0
    costs = cost(case.shop, 0.0)
    return costs.metal if case.shop.mould == "aluminium" else costs.loop


def _parent(text: str, own: str, cases: dict[str, tuple[str, Case]]) -> str:
    """Return the file of the folder whose text is what a case came from, '' for none."""
    digest = _origin(text)[1]
    found = (name for name, (body, _) in cases.items() if _digest(body).startswith(digest))
    return next((name for name in found if digest and name != own), "")


def _origin(text: str) -> tuple[str, str]:
    found = _ORIGIN.match(text.partition("\n")[0])
    return (found["name"], found["digest"]) if found else ("", "")


def _changes(text: str) -> tuple[str, ...]:
    if not _origin(text)[1]:
        return ()
    found = []
    for line in text.splitlines()[1:]:
        change = _CHANGE.match(line)
        if change is None:
            break
        found.append(change["change"])
    return tuple(found)


def _asks(changes: Sequence[str]) -> str:
    """Return the dearest that changes ask for."""
    asked = {asks_for(change.partition("=")[0].strip()) for change in changes}
    dearest = max(asked - {""}, key=COSTS.index, default="")
    return LOOP if dearest == MOULDED else dearest


def _runs(place: Path) -> dict[str, tuple[str, tuple[Record, ...]]]:
    """Return date and records of the newest run of each case text, by the text's digest."""
    found: dict[str, tuple[str, tuple[Record, ...]]] = {}
    for path in (place / "results.h5", *sorted(place.glob("*/results.h5"))):
        if not path.exists():
            continue
        stored = read_run(path)
        if stored.created > found.get(stored.digest, ("",))[0]:
            found[stored.digest] = (stored.created, stored.result.records)
    return found


def _chosen(records: Sequence[Record]) -> tuple[Record, ...]:
    """Return the first answered record of each quantity that a log tells."""
    numbers = [r for r in records if isinstance(r.value, float)]
    first = (next((r for r in numbers if r.quantity == name), None) for name in TOLD)
    return tuple(record for record in first if record is not None)


def _digest(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()
