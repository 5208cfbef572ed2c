"""One run of a sweep: what it depends on, its key, and how it is solved."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path
from typing import Any, Literal

from simsoft import __version__
from simsoft.case.model import Case
from simsoft.case.overrides import apply
from simsoft.case.read import from_tables
from simsoft.core.errors import InputError, SimsoftError
from simsoft.design.sweep.row import DONE, FAILED, REFUSED, Row, cells
from simsoft.results.record import Record

Mode = Literal["full", "bands", "fast"]
Labels = tuple[tuple[str, tuple[float, ...]], ...]
NOT_PHYSICS = ("title", "brief", "shop", "length_unit")  # keys that change no number
NOT_IN_DIGEST = ("report", "design", "validate", "aquarium", "cli", "__main__.py", "guide")


@dataclass(frozen=True)
class BaseCase:
    """The case every run of a sweep starts from.

    Attributes
    ----------
    name : str, of the file, for messages
    text : str
    tables : dict, as read from TOML
    """

    name: str
    text: str
    tables: dict[str, Any]


@dataclass(frozen=True)
class Task:
    """One run.

    Attributes
    ----------
    overrides : tuple of str
    scenarios : tuple of str or None, names of the scenarios to solve; None for all
    mode : 'full' (no bands), 'bands' or 'fast' (screening)
    labels : tuple of pairs (scenario, speeds [m/s]); the speeds under which the answers of a
        scenario are filed, in ascending order, where the speeds themselves were moved; no
        speeds at all leave the speed out of the conditions
    """

    overrides: tuple[str, ...]
    scenarios: tuple[str, ...] | None = None
    mode: Mode = "full"
    labels: Labels = ()


@lru_cache(maxsize=1)
def code_digest() -> str:
    """Return a digest of the sources that the numbers come from."""
    package = Path(__file__).parents[2]
    digest = hashlib.sha256(__version__.encode())
    for source in sorted(package.rglob("*.py")):
        inside = source.relative_to(package)
        if inside.parts[0] not in NOT_IN_DIGEST:
            digest.update(str(inside).encode() + source.read_bytes())
    for name in ("task.py", "row.py", "screening.py"):
        source = Path(__file__).with_name(name)
        if source.exists():
            digest.update(source.read_bytes())
    return digest.hexdigest()


def contents(name: str, tables: dict[str, Any]) -> dict[str, str]:
    """Return digests of the files that a case of this name refers to, by the name it gives them.

    A profile or an outline written anew under its old name is another case.
    """
    named = [tables.get("profile")]
    parts = tables.get("parts")
    for part in parts if isinstance(parts, list) else []:
        named.append(part.get("outline_file") if isinstance(part, dict) else None)
    body = tables.get("body")
    named.append(body.get("mesh") if isinstance(body, dict) else None)
    found = {}
    for entry in named:
        if isinstance(entry, str):
            path = Path(name).parent / entry
            # a file that cannot be read is told of by the reader of the case
            with suppress(OSError, ValueError):
                state = path.stat()
                found[entry] = _digest_of(path, state.st_mtime_ns, state.st_size)
    return found


@lru_cache(maxsize=64)
def _digest_of(path: Path, _changed: int, _size: int) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()


def key_of(base: BaseCase, task: Task) -> str:
    """Return the digest of everything the answer of a run depends on."""
    tables = {k: v for k, v in base.tables.items() if k not in NOT_PHYSICS}
    try:
        resolved, problems = apply(tables, task.overrides)
    except RecursionError:
        resolved, problems = {}, ["nested too deeply"]
    stated = [
        resolved,
        problems,
        contents(base.name, resolved),
        task.scenarios,
        task.mode,
        task.labels,
        code_digest(),
    ]
    text = json.dumps(stated, sort_keys=True, default=str)
    return hashlib.sha256(text.encode()).hexdigest()


def case_of(base: BaseCase, task: Task) -> Case:
    """Return the checked case of a run, its scenarios cut down to those asked for."""
    case = from_tables(base.tables, base.text, base.name, task.overrides)
    # a recipe is many runs of its own and no answer about the design
    kept = tuple(
        replace(s, wanted_sink_rate=None, wanted_attitude=None)
        for s in case.scenarios
        if task.scenarios is None or s.name in task.scenarios
    )
    return replace(case, scenarios=kept)


def solve_task(base: BaseCase, task: Task, key: str) -> Row:
    """Return the row of one run; a failure is a row with its reason, not a stop."""
    try:
        case = case_of(base, task)
    except InputError as error:
        return Row(key, REFUSED, error.problems[0])
    try:
        records = _records(case, task)
    except InputError as error:  # seen only once the lure is put together
        return Row(key, REFUSED, error.problems[0])
    except SimsoftError as error:
        return Row(key, FAILED, " ".join(str(error).split()))
    except Exception as error:  # whatever one design does, the others go on
        words = " ".join(str(error).split())[:300]
        return Row(key, FAILED, f"{type(error).__name__}: {words}" if words else repr(error))
    return Row(key, DONE, "", cells(_filed(records, case, task)))


def _records(case: Case, task: Task) -> Sequence[Record]:
    if task.mode == "bands":
        from simsoft.engine.run import run

        return run(case).records
    from simsoft.design.sweep.screening import marched_records, screening_records

    return screening_records(case) if task.mode == "fast" else marched_records(case)


def _filed(records: Sequence[Record], case: Case, task: Task) -> list[Record]:
    """Return the records with their speeds replaced by those they are filed under."""
    labels = dict(task.labels)
    moved = {
        s.name: dict(zip(sorted(s.speeds), labels[s.name], strict=False))
        for s in case.scenarios
        if s.name in labels
    }
    result = []
    for record in records:
        speed = record.at.get("speed")
        if record.scenario in moved and speed is not None:
            at = {k: v for k, v in record.at.items() if k != "speed"}
            filed = moved[record.scenario].get(float(speed))
            if filed is not None:
                at["speed"] = filed
            record = replace(record, at=at)
        result.append(record)
    return result
