"""Designs ranked by the brief, the best ones confirmed with their bands."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import numpy.typing as npt

from simsoft.case.model import Case
from simsoft.design.brief import OPEN, Bands, Finding, answered, judge, meets, score
from simsoft.design.own_design import Own, with_looks
from simsoft.design.sweep.plan import designs
from simsoft.design.sweep.row import DONE, Row, column_of
from simsoft.design.sweep.run import Progress, Runner, Sweep, solve_designs
from simsoft.design.sweep.runs import RunSpec, run_specs
from simsoft.design.sweep.table import SweepTable, filed_records
from simsoft.design.sweep.task import BaseCase
from simsoft.results.record import Record

DECIMALS = 9  # of a score: rounding must not decide a rank
NO_OWN = Own()


@dataclass(frozen=True)
class Ranked:
    """A design judged.

    Attributes
    ----------
    index : int, of the design
    values : tuple of str, one an axis
    findings : list of Finding, from numbers without bands
    score : float, smallest margin in half bands
    meets : bool, every clause is met by the number itself
    """

    index: int
    values: tuple[str, ...]
    findings: list[Finding]
    score: float
    meets: bool


@dataclass(frozen=True)
class Ranking:
    """The order of the designs that were solved; what is said of each is worked out when asked.

    Attributes
    ----------
    case : Case
    table : SweepTable
    bands : mapping of column to low and high over value, or None
    own : Own, the file's own design, beside which they are judged
    order : array of int, designs, best first; in their own order without a brief
    good : int, how many meet every clause by the number itself
    so_far : int, how many meet every clause that is answered, where one is not
    """

    case: Case
    table: SweepTable
    bands: Bands | None
    own: Own
    order: npt.NDArray[np.int64]
    good: int
    so_far: int = 0

    def __len__(self) -> int:
        return len(self.order)

    def designs(self, most: int | None = None) -> Iterator[Ranked]:
        """Yield the designs judged, best first, at most so many."""
        for index in self.order[:most]:
            yield judged(self.case, self.table, int(index), self.bands, self.own)


def judged(case: Case, table: SweepTable, index: int, bands: Bands | None, own: Own) -> Ranked:
    """Return one design of a table judged by the brief of a case, given what was seen."""
    records = with_looks(table.records(index), own.looks)
    findings = judge(case, records, banded=False, bands=bands, hand=own.hand)
    if own.reason:
        findings = [_told(finding, own.reason) for finding in findings]
    return Ranked(index, table.values[index], findings, score(findings), meets(findings))


def _told(finding: Finding, reason: str) -> Finding:
    """Return a comparison that is not answered with the reason why."""
    unanswered = finding.clause.against is not None and finding.verdict == OPEN
    return replace(finding, reason=reason) if unanswered else finding


def rank(sweep: Sweep, table: SweepTable, bands: Bands | None = None, own: Own = NO_OWN) -> Ranking:
    """Return the order of the designs that were solved.

    Holds two numbers a design: what is said of each would take far more room than the table.
    """
    done = np.array([i for i, status in enumerate(table.status) if status == DONE], dtype=np.int64)
    if not sweep.case.brief:
        return Ranking(sweep.case, table, bands, own, done, 0)
    scores, good, so_far = np.empty(len(done)), 0, 0
    for row, index in enumerate(done):
        found = judged(sweep.case, table, int(index), bands, own)
        scores[row] = -round(found.score, DECIMALS)
        good += found.meets
        so_far += not found.meets and meets(answered(found.findings))
    order = done[np.argsort(scores, kind="stable")]
    return Ranking(sweep.case, table, bands, own, order, good, so_far)


def bands_of(records: Sequence[Record]) -> dict[str, tuple[float, float]]:
    """Return low and high over value of every record with a band, by column."""
    found = {}
    for record in records:
        value, low, high = record.value, record.low, record.high
        if isinstance(value, float) and isinstance(low, float) and value > 0.0:
            top = high if isinstance(high, float) else 2.0 * value - low
            found[column_of(record)] = (low / value, top / value)
    return found


@dataclass(frozen=True)
class Confirmed:
    """A design run again with its bands.

    Attributes
    ----------
    index : int or None, None for the case as it stands
    values : tuple of str
    records : list of Record, with bands
    findings : list of Finding: go, marginal, no-go
    reason : str, why it could not be run
    """

    index: int | None
    values: tuple[str, ...]
    records: list[Record]
    findings: list[Finding]
    reason: str = ""


def changes_of(item: Ranked, hand: Sequence[Record]) -> list[float | None]:
    """Return, clause by clause, the ratio of a design's number to that of the file's own design.

    Both are middles, every input alike, so that what both share cancels; None where one has none.
    """
    own = {column_of(r): r.value for r in hand}
    found: list[float | None] = []
    for finding in item.findings:
        record = finding.record
        before = None if record is None else own.get(column_of(record))
        after = None if record is None else record.value
        both = isinstance(before, float) and isinstance(after, float) and before > 0.0
        found.append(after / before if both else None)  # type: ignore[operator]
    return found


def confirm(
    sweep: Sweep,
    indices: Sequence[int | None],
    directory: Path,
    runner: Runner,
    progress: Progress | None = None,
) -> list[Confirmed]:
    """Run designs again with bands, as far as the brief asks; None is the case as it stands."""
    wanted = {index for index in indices if index is not None}
    last = max(wanted, default=-1)
    chosen = {}
    for design in designs(sweep.plan, sweep.base.tables):
        if design.index in wanted:
            chosen[design.index] = design
        if design.index >= last:
            break
    overrides = [() if i is None else chosen[i].overrides for i in indices]
    specs = run_specs(sweep.case, only_brief=True)
    rows = solve_designs(sweep.base, specs, overrides, "bands", directory, runner, progress)
    return [
        _confirmed(sweep.case, i, () if i is None else chosen[i].values, found, specs)
        for i, found in zip(indices, rows, strict=True)
    ]


def confirm_changes(
    base: BaseCase,
    case: Case,
    changes: Sequence[Sequence[str]],
    directory: Path,
    runner: Runner,
    progress: Progress | None = None,
) -> list[Confirmed]:
    """Run changed cases with bands, as far as the brief asks; values are the changes."""
    specs = run_specs(case, only_brief=True)
    rows = solve_designs(base, specs, changes, "bands", directory, runner, progress)
    return [
        _confirmed(case, None, tuple(change), found, specs)
        for change, found in zip(changes, rows, strict=True)
    ]


def _confirmed(
    case: Case,
    index: int | None,
    values: tuple[str, ...],
    rows: Sequence[Row],
    specs: Sequence[RunSpec],
) -> Confirmed:
    bad = next((row for row in rows if row.status != DONE), None)
    if bad is not None:
        return Confirmed(index, values, [], [], bad.reason)
    temperatures = [spec.temperature for spec in specs]
    records = filed_records(rows, temperatures)
    # a band says nothing about a comparison, the samples of both do: it is not answered here
    return Confirmed(index, values, records, judge(case, records, banded=True))
