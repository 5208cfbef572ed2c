"""A sweep from start to finished file: kept as it comes, resumed where it stopped."""

from __future__ import annotations

import hashlib
import json
import time
import warnings
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import Any

from simsoft.case.files import read_tables, read_text
from simsoft.case.model import Case
from simsoft.case.overrides import apply
from simsoft.case.profile import refuse_idle
from simsoft.case.read import from_tables
from simsoft.core.errors import DamageWarning, InputError
from simsoft.core.files import is_damaged
from simsoft.core.machine import cores
from simsoft.design.sweep import hdf5 as file
from simsoft.design.sweep.axis import Axis
from simsoft.design.sweep.journal import Journal, journal
from simsoft.design.sweep.plan import Design, Plan, check_plan, designs
from simsoft.design.sweep.pool import Job, run_jobs
from simsoft.design.sweep.row import Row
from simsoft.design.sweep.runs import RunSpec, run_specs
from simsoft.design.sweep.table import SweepTable, columns_of
from simsoft.design.sweep.task import BaseCase, Labels, Mode, Task, code_digest, contents, key_of

Progress = Callable[[str, float], None]
Runner = Callable[[BaseCase, Iterable[Job]], Iterator[list[Row]]]

KEEP_EVERY = 0.5  # [s] rows wait at most so long before they are kept
KEY = 64  # hexadecimal digits of a run's key
MEASURES = (" unit", " scale")  # named where a value is told in the wrong measure, or in none
LOOKED_UP = 200  # designs whose rows are looked for at a time
CHUNK = {"full": 8, "bands": 1, "fast": 64}
KERNEL = {"full": "advance", "bands": "advance", "fast": "search_start"}  # the last one compiled


@dataclass(frozen=True)
class Sweep:
    """What is swept and how.

    Attributes
    ----------
    base : BaseCase
    case : Case, of the base
    plan : Plan
    specs : tuple of RunSpec, the runs of every design
    mode : 'full', 'bands' or 'fast'
    """

    base: BaseCase
    case: Case
    plan: Plan
    specs: tuple[RunSpec, ...]
    mode: Mode

    @property
    def digest(self) -> str:
        """A digest of everything the finished file depends on."""
        base = self.base
        files = contents(base.name, base.tables)
        stated = [self.plain, base.text, base.tables, files, code_digest()]
        text = json.dumps(stated, default=str)
        return hashlib.sha256(text.encode()).hexdigest()

    @property
    def plain(self) -> dict[str, Any]:
        """The plan as plain data."""
        return {
            "axes": {axis.path: list(axis.values) or [axis.between(0.0), axis.between(1.0)]
                     for axis in self.plan.axes},
            "keep": [f"{link.path}/{link.follows}" for link in self.plan.links],
            "sample": self.plan.sample,
            "seed": self.plan.seed if self.plan.sample is not None else None,
            "mode": self.mode,
            "runs": [[s.overrides, s.after, s.scenarios, s.temperature] for s in self.specs],
        }  # fmt: skip


def read_base(path: str | Path, overrides: Sequence[str] = ()) -> BaseCase:
    """Return the base case of a sweep with its overrides set in the tables themselves."""
    text = read_text(path)
    tables = read_tables(text, str(path))
    tables, problems = apply(tables, overrides)
    if problems:
        raise InputError([f"{path}: {problem}" for problem in problems])
    kept = "\n".join([text.rstrip("\n"), *(f"# set {item}" for item in overrides), ""])
    base = BaseCase(str(path), kept if overrides else text, tables)
    from_tables(base.tables, base.text, base.name)
    return base


def prepare_sweep(
    base: BaseCase, plan: Plan, mode: Mode = "full", *, only_brief: bool = False
) -> Sweep:
    """Return a sweep that is known to make sense; InputError where it does not."""
    case = from_tables(base.tables, base.text, base.name)
    check_plan(plan, base.tables)
    refuse_idle(case, [axis.path for axis in plan.axes])
    # a path that is no key of the case is one clear line now, not a column of refused designs
    first = next(designs(plan, base.tables))
    _, problems = apply(base.tables, first.overrides)
    if problems:
        raise InputError([p.replace("--set", "--vary", 1) for p in problems])
    check_units(base, plan.axes)
    return Sweep(base, case, plan, run_specs(case, only_brief=only_brief), mode)


def check_units(base: BaseCase, axes: Sequence[Axis]) -> None:
    """Raise InputError where a varied value is no key, has no unit or scale or a wrong one.

    A value that is impossible only as a design is a row with its reason, not a stop.
    """
    for axis in axes:
        # numbers of one axis share their unit; words do not
        values = axis.values if not axis.numeric else [axis.between(0.0)]
        for value in values:
            _check_unit(base, axis.path, value)


def _check_unit(base: BaseCase, path: str, value: str) -> None:
    _, problems = apply(base.tables, [f"{path}={value}"])
    if problems:
        raise InputError([p.replace("--set", "--vary", 1) for p in problems])
    try:
        from_tables(base.tables, base.text, base.name, [f"{path}={value}"])
    except InputError as error:
        wrong = [p for p in error.problems if any(word in p for word in MEASURES)]
        if wrong:
            raise InputError(f"--vary {path}: {wrong[0]}") from None


def tasks_of(sweep: Sweep, design: Design) -> list[Task]:
    """Return the runs of one design."""
    labels = _labels(sweep)
    return [_task(spec, design.overrides, sweep.mode, labels) for spec in sweep.specs]


def _task(spec: RunSpec, overrides: Sequence[str], mode: Mode, labels: Labels) -> Task:
    changes = (*spec.overrides, *overrides, *spec.after)
    return Task(changes, spec.scenarios, mode, labels)


def _labels(sweep: Sweep) -> Labels:
    """Return the labels that keep a sampled speed from making a column of its own."""
    if sweep.plan.sample is None:
        return ()
    paths = {axis.path for axis in sweep.plan.axes}
    return tuple((s.name, ()) for s in sweep.case.scenarios if f"scenarios.{s.name}.speed" in paths)


def local_runner(workers: int | None, mode: Mode) -> Runner:
    """Return the runner on this machine's cores."""
    count = cores() if workers is None else workers

    def runner(base: BaseCase, jobs: Iterable[Job]) -> Iterator[list[Row]]:
        return run_jobs(base, jobs, count, CHUNK[mode], KERNEL[mode])

    return runner


def run_sweep(
    sweep: Sweep, directory: Path, runner: Runner, progress: Progress | None = None
) -> tuple[SweepTable, int]:
    """Solve what is not yet kept, write the finished files, return the table.

    Parameters
    ----------
    sweep : Sweep
    directory : Path, exists
    runner : Runner
    progress : function of a label and the share done

    Returns
    -------
    table : SweepTable
    solved : int, runs that had to be solved; 0 when everything was kept already

    Raises
    ------
    OutputError
        The directory cannot be written (full, read-only, in use); what was done is kept.
    """
    file.check_place(directory)
    target = directory / file.H5
    digest = sweep.digest
    if is_damaged(target):
        text = f"{target}: is damaged, its checksum does not fit; it is written again"
        warnings.warn(text, DamageWarning, stacklevel=2)
    elif file.plan_digest_of(target) == digest:
        try:
            table = file.read_h5(target)
        except InputError as error:
            warnings.warn(f"{error}; it is written again", DamageWarning, stacklevel=2)
        else:
            if not (directory / file.CSV).exists():
                file.write_csv(table, directory / file.CSV)
            return table, 0
    source = (tasks_of(sweep, design) for design in designs(sweep.plan, sweep.base.tables))
    total = sweep.plan.count * len(sweep.specs)
    with journal(directory) as kept:
        keys, solved = _solve(sweep.base, source, total, kept, runner, progress)
        table = _table(sweep, kept, keys)
    file.write_csv(table, directory / file.CSV)
    file.write_h5(table, target, digest)
    return table, solved


def solve_designs(
    base: BaseCase,
    specs: Sequence[RunSpec],
    overrides: Sequence[Sequence[str]],
    mode: Mode,
    directory: Path,
    runner: Runner,
    progress: Progress | None = None,
) -> list[list[Row]]:
    """Return the rows of a few designs, one list a design in the order of ``specs``."""
    tasks = [[_task(spec, design, mode, ()) for spec in specs] for design in overrides]
    return solve_tasks(base, tasks, directory, runner, progress)


def solve_own(
    sweep: Sweep, directory: Path, runner: Runner, progress: Progress | None = None
) -> list[Row]:
    """Return the rows of a sweep's case as it stands, solved and filed as its designs are."""
    labels = _labels(sweep)
    tasks = [_task(spec, (), sweep.mode, labels) for spec in sweep.specs]
    return solve_tasks(sweep.base, [tasks], directory, runner, progress)[0]


def solve_tasks(
    base: BaseCase,
    tasks: Sequence[list[Task]],
    directory: Path,
    runner: Runner,
    progress: Progress | None = None,
) -> list[list[Row]]:
    """Return the rows of tasks; they are kept in the directory's journal and taken from there."""
    total = sum(map(len, tasks))
    with journal(directory) as kept:
        packed, _ = _solve(base, iter(tasks), total, kept, runner, progress)
        keys = list(map(_unpacked, packed))
        found = kept.get([key for names in keys for key in names])
    return [[found[key] for key in names] for names in keys]


def _solve(
    base: BaseCase,
    source: Iterator[list[Task]],
    total: int,
    kept: Journal,
    runner: Runner,
    progress: Progress | None,
) -> tuple[list[bytes], int]:
    """Solve every run without a row; return the keys of every design and the runs solved.

    What is held grows by the keys alone, 32 bytes a run: rows go to the journal.
    """
    begun = time.monotonic()
    solved = 0
    keys: list[bytes] = []
    asked: set[str] = set()
    waiting: list[Row] = []
    last = begun
    try:
        for rows in runner(base, _jobs(base, source, kept, keys, asked)):
            solved += len(rows)
            waiting += rows
            now = time.monotonic()
            if now - last >= KEEP_EVERY:
                kept.put(waiting)
                asked.difference_update(row.key for row in waiting)
                waiting, last = [], now
            if progress is not None:
                _tell(progress, solved, total, now - begun)
    finally:  # an interrupt loses nothing that was solved
        if waiting:
            kept.put(waiting)
    return keys, solved


def _tell(progress: Progress, solved: int, total: int, seconds: float) -> None:
    rate = solved / max(seconds, 1e-9)
    left = max(total - solved, 0) / rate
    shown = f"{left:.0f} s" if left < 120 else f"{left / 60:.0f} min"
    progress(f"{solved} of {total} runs, {rate:.3g} a second, {shown} left", solved / total)


def _packed(names: Sequence[str]) -> bytes:
    """Return hexadecimal keys of one design as bytes, a fifth of the room."""
    return bytes.fromhex("".join(names))


def _unpacked(keys: bytes) -> list[str]:
    text = keys.hex()
    return [text[start : start + KEY] for start in range(0, len(text), KEY)]


def _jobs(
    base: BaseCase,
    source: Iterator[list[Task]],
    kept: Journal,
    keys: list[bytes],
    asked: set[str],
) -> Iterator[Job]:
    """Yield the runs without a row, looked up a few designs at a time; fill in the keys.

    ``asked`` holds the keys that were yielded; those with a row in the journal may leave it.
    """
    while batch := list(islice(source, LOOKED_UP)):
        found = [tuple(key_of(base, task) for task in tasks) for tasks in batch]
        keys += map(_packed, found)
        known = kept.known([key for names in found for key in names])
        # laid out before the first is handed on: keys leave ``asked`` while these wait
        fresh = {
            key: task
            for tasks, names in zip(batch, found, strict=True)
            for task, key in zip(tasks, names, strict=True)
            if key not in known and key not in asked
        }
        asked.update(fresh)
        yield from fresh.items()


def _table(sweep: Sweep, kept: Journal, keys: list[bytes]) -> SweepTable:
    """Return the table of all designs from their rows, in the designs' order."""
    temperatures = [spec.temperature for spec in sweep.specs]

    def rows() -> Iterator[list[tuple[Row, float | None]]]:
        for start in range(0, len(keys), LOOKED_UP):
            part = list(map(_unpacked, keys[start : start + LOOKED_UP]))
            found = kept.get([key for names in part for key in names])
            for names in part:
                yield [(found[k], t) for k, t in zip(names, temperatures, strict=True)]

    columns, status, reason = columns_of(rows(), len(keys))
    plan = sweep.plan
    return SweepTable(
        title=sweep.case.title,
        text=sweep.base.text,
        plan=sweep.plain,
        paths=tuple(axis.path for axis in plan.axes),
        units=tuple(axis.unit for axis in plan.axes),
        values=[design.values for design in designs(plan, sweep.base.tables)],
        status=status,
        reason=reason,
        columns=columns,
    )
