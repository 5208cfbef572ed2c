"""The file's own design beside those of a sweep: solved as they are, then given what was seen.

A look is of the bait in hand. It moves the file's own numbers; those of every design beside it are
moved by the same factor, so that both stand on one ground. The runs with bands are given the looks
themselves.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from simsoft.case.model import Case
from simsoft.case.read import from_tables
from simsoft.design.brief import matching
from simsoft.design.in_hand import bait_base
from simsoft.design.sweep.row import DONE, column_of
from simsoft.design.sweep.run import Progress, Runner, Sweep, solve_own
from simsoft.design.sweep.runs import run_specs
from simsoft.design.sweep.table import WATER, filed_records
from simsoft.engine.seen import consistent
from simsoft.results.record import BY_LOOK, UNTRUSTED, Record


@dataclass(frozen=True)
class Own:
    """The file's own design.

    Attributes
    ----------
    hand : tuple of Record, of the bait in hand, whatever was set, given the looks
    looks : mapping of column to the factor by which the looks move its number; empty without any
    bare : tuple of str, names of clauses of whose numbers nobody knows how the looks move them
    reason : str, why there are no records
    """

    hand: tuple[Record, ...] = ()
    looks: Mapping[str, float] | None = None
    bare: tuple[str, ...] = ()
    reason: str = ""


def own_design(
    sweep: Sweep,
    seen: Sequence[Record],
    directory: Path,
    runner: Runner,
    progress: Progress | None = None,
) -> Own:
    """Return the file's own design, solved like those of a sweep.

    Parameters
    ----------
    sweep : Sweep
    seen : sequence of Record, of the case as it stands with bands, given its looks
    directory : Path, where runs are kept
    runner : Runner, in the mode of the sweep
    """
    records, reason = _solved(sweep, directory, runner, progress)
    looks = _factors(seen, records)
    hand = _of_the_file(sweep)
    if hand is not None:
        records, reason = _solved(hand, directory, runner, progress)
    bare = _bare(sweep.case, seen, looks) if looks else ()
    return Own(tuple(with_looks(records, looks)), looks, bare, reason)


def _of_the_file(sweep: Sweep) -> Sweep | None:
    """Return the sweep about the file as written, None where nothing was set."""
    base = bait_base(sweep.base)
    if base.tables == sweep.base.tables:
        return None
    case = from_tables(base.tables, base.text, base.name)
    specs = run_specs(replace(case, brief=sweep.case.brief))
    return replace(sweep, base=base, case=case, specs=specs)


def _solved(
    sweep: Sweep, directory: Path, runner: Runner, progress: Progress | None
) -> tuple[list[Record], str]:
    rows = solve_own(sweep, directory, runner, progress)
    bad = next((row for row in rows if row.status != DONE), None)
    if bad is not None:
        return [], f"the file's own design could not be run: {bad.reason}"
    return filed_records(rows, [spec.temperature for spec in sweep.specs]), ""


def _factors(seen: Sequence[Record], plain: Sequence[Record]) -> dict[str, float]:
    """Return by how much the looks move the numbers of the case, by column."""
    before = {column_of(record): record.value for record in plain}
    found = {}
    for record in seen:
        if BY_LOOK not in record.basis or not isinstance(record.value, float):
            continue
        value = before.get(column_of(record))
        if isinstance(value, float) and value * record.value > 0.0:
            found[column_of(record)] = record.value / value
    return found


def _bare(case: Case, seen: Sequence[Record], looks: Mapping[str, float]) -> tuple[str, ...]:
    """Return the clauses about numbers that the file's own design does not have."""
    return tuple(
        clause.name
        for clause in case.brief
        if clause.equals is None
        and clause.against is None
        and not any(
            isinstance(r.value, float) and (column_of(r) in looks or BY_LOOK not in r.basis)
            for r in matching(clause, case, seen)
        )
    )


def with_looks(records: Sequence[Record], looks: Mapping[str, float] | None) -> list[Record]:
    """Return the records of a design as far as the looks move those of the file.

    Verdicts and beats do not contradict the start that was moved, in each water for itself.
    """
    if not looks:
        return list(records)
    waters: dict[object, list[Record]] = defaultdict(list)
    for record in records:
        waters[record.at.get(WATER)].append(record)
    return [
        moved
        for group in waters.values()
        for moved in consistent(group, [_moved(record, looks) for record in group])
    ]


def _moved(record: Record, looks: Mapping[str, float]) -> Record:
    factor = looks.get(column_of(record))
    if factor is None or not isinstance(record.value, float):
        return record
    basis, mark, why = record.basis.partition(f"; {UNTRUSTED}: ")
    told = f"{basis}; {BY_LOOK}, as the file's own{mark}{why}"
    return replace(record, value=record.value * factor, basis=told)
