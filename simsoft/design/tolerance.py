"""Pass probability: the brief judged over plain forward runs of a low-discrepancy sample."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from simsoft.case.model import Case
from simsoft.case.read import from_tables
from simsoft.case.wishes import Clause
from simsoft.core.arrays import Array
from simsoft.core.errors import InputError
from simsoft.design.brief import Finding, judge, meets, score
from simsoft.design.distribution import Group, Scatter
from simsoft.design.in_hand import (
    DRAWS_A_SAMPLE,
    InHand,
    bait_base,
    can_screen_look,
    look_at,
    own_inputs,
)
from simsoft.design.scatter import scatter_of
from simsoft.design.sweep.row import DONE, Row
from simsoft.design.sweep.run import Progress, Runner, solve_tasks
from simsoft.design.sweep.runs import MARCHED, STARTS, RunSpec, run_specs
from simsoft.design.sweep.table import filed_records
from simsoft.design.sweep.task import BaseCase, Labels, Mode, Task
from simsoft.results.record import Record

CLIPPED = 4.0  # half bands: margins beyond it count as this, so that no sample rules alone
# What the fast mode may decide alone: strokes, fold-back and rates past the start need a march.
SCREENED = STARTS


@dataclass(frozen=True)
class Sample:
    """One sample judged.

    Attributes
    ----------
    findings : list of Finding, empty where the run failed
    passes : bool
    margin : float, smallest margin in half bands, clipped
    reason : str, why the run failed
    """

    findings: list[Finding]
    passes: bool
    margin: float
    reason: str = ""


@dataclass(frozen=True)
class Trial:
    """How a case is tried: what scatters, and how every sample is run.

    Attributes
    ----------
    base : BaseCase
    case : Case
    inputs : list of Scatter
    specs : tuple of RunSpec
    mode : 'fast' or 'full'
    in_hand : InHand or None, what was seen of the bait in hand
    """

    base: BaseCase
    case: Case
    inputs: list[Scatter]
    specs: tuple[RunSpec, ...]
    mode: Mode
    in_hand: InHand | None = None


def make_trial(base: BaseCase, *, full: bool = False, only: Group | None = None) -> Trial:
    """Return the trial of a case; InputError where it has no brief."""
    case = from_tables(base.tables, base.text, base.name)
    if not case.brief:
        raise InputError(
            f"{base.name}: there is no [[brief]]; say what is wanted, such as quantity = "
            '"start_speed" and at_most = "0.3 m/s"'
        )
    inputs = [item for item in scatter_of(case, base.tables) if only in (None, item.group)]
    if not inputs:
        raise InputError(f"{base.name}: nothing of the group {only!r} scatters")
    mode: Mode = "full" if full or not can_decide_fast(case) else "fast"
    return Trial(base, case, inputs, run_specs(case, only_brief=True), mode)


def given_looks(
    trial: Trial,
    count: int,
    seed: int,
    directory: Path,
    workers: int | None,
    progress: Progress | None = None,
) -> Trial:
    """Return the trial with its draws given what was seen of the bait in hand.

    What was seen is asked of the file as it stands, whatever was set. Nothing changes without
    ``[[seen]]``.

    Parameters
    ----------
    trial : Trial
    count, seed : int, samples that `points` will be asked for, and their seed
    directory : Path, where runs are kept
    workers : int or None, processes
    """
    if not trial.case.seen:
        return trial
    base = bait_base(trial.base)
    hand = from_tables(base.tables, base.text, base.name)
    inputs = [item for item in scatter_of(hand, base.tables) if item.name in _names(trial)]
    cheap = all(can_screen_look(hand, seen) for seen in hand.seen)
    drawn = _sobol(len(inputs), count * (DRAWS_A_SAMPLE if cheap else 1), seed)
    shares = np.vstack([np.full((1, len(inputs)), 0.5), drawn])
    found = look_at(base, inputs, shares, _power(count), directory, workers, progress)
    return replace(trial, inputs=[*trial.inputs, *own_inputs(found.owns)], in_hand=found)


def _names(trial: Trial) -> set[str]:
    return {item.name for item in trial.inputs}


def can_decide_fast(case: Case) -> bool:
    """Tell whether the fast mode answers every clause of a brief well enough."""
    paddles = bool(case.parts) and all(part.paddle is not None for part in case.parts)
    return paddles and all(
        clause.quantity in SCREENED or clause.quantity not in MARCHED for clause in case.brief
    )


def points(trial: Trial, count: int, seed: int) -> Array:
    """Return a scrambled Sobol sample (count, inputs) of shares, rounded up to a power of two.

    What was seen of the bait in hand leaves of it what explains it.
    """
    drawn = _sobol(len(trial.inputs), count, seed)
    return drawn if trial.in_hand is None else trial.in_hand.draws(trial.inputs, drawn)


def _sobol(inputs: int, count: int, seed: int) -> Array:
    from scipy.stats import qmc

    power = int(np.log2(_power(count)))
    return np.asarray(qmc.Sobol(inputs, scramble=True, rng=seed).random_base2(power))


def _power(count: int) -> int:
    return int(2 ** max(0, int(np.ceil(np.log2(count)))))


def tasks_at(trial: Trial, shares: Sequence[float], design: Sequence[str] = ()) -> list[Task]:
    """Return the runs of one sample of a design, one for each water of the brief."""
    overrides: list[str] = []
    warmer, faster = 0.0, 1.0
    for item, share in zip(trial.inputs, shares, strict=True):
        value = item.at(float(share))
        overrides += item.write(value)
        if item.kind == "temperature":
            warmer = value
        elif item.kind == "speed":
            faster = value
    return [_task(trial, spec, [*design, *overrides], warmer, faster) for spec in trial.specs]


def _task(trial: Trial, spec: RunSpec, overrides: list[str], warmer: float, faster: float) -> Task:
    nominal = trial.case.water.temperature if spec.temperature is None else spec.temperature
    changes = [*spec.overrides, *overrides, *spec.after]
    if warmer:
        kelvin = min(max(nominal + warmer, 271.2), 333.0)
        changes.append(f"water.temperature={kelvin:.9g} K")
    labels: Labels = ()
    if faster != 1.0:
        labels = _speeds(trial.base, spec)
        for name, speeds in labels:
            listed = ", ".join(f'"{faster * speed:.9g} m/s"' for speed in speeds)
            changes.append(f"scenarios.{name}.speed=[{listed}]")
    return Task(tuple(changes), spec.scenarios, trial.mode, labels)


def _speeds(base: BaseCase, spec: RunSpec) -> Labels:
    """Return the speeds [m/s] that a run would have by itself, ascending, by scenario."""
    case = from_tables(base.tables, base.text, base.name, spec.overrides)
    return tuple(
        (s.name, tuple(sorted(s.speeds)))
        for s in case.scenarios
        if s.speeds and (spec.scenarios is None or s.name in spec.scenarios)
    )


def run_samples(
    trial: Trial,
    shares: Array,
    directory: Path,
    runner: Runner,
    progress: Progress | None = None,
    design: Sequence[str] = (),
) -> list[Sample]:
    """Return the samples (rows of ``shares``) of a design, solved and judged."""
    tasks = [tasks_at(trial, row, design) for row in shares]
    rows = solve_tasks(trial.base, tasks, directory, runner, progress)
    if not any(clause.against for clause in trial.case.brief):
        return [judge_rows(trial, found, draw) for found, draw in zip(rows, shares, strict=True)]
    hand = hand_trial(trial)
    draws = [draw_of(trial, hand, row) for row in shares]
    before = solve_tasks(
        hand.base, [tasks_at(hand, draw) for draw in draws], directory, runner, progress
    )
    return [
        judge_rows(trial, found, draw, records_at(hand, old, at) or ())
        for found, draw, old, at in zip(rows, shares, before, draws, strict=True)
    ]


def hand_trial(trial: Trial) -> Trial:
    """Return the trial of the bait in hand: the file as it stands, whatever was set."""
    base = bait_base(trial.base)
    case = from_tables(base.tables, base.text, base.name)
    names = _names(trial)
    inputs = [item for item in scatter_of(case, base.tables) if item.name in names]
    inputs += [item for item in trial.inputs if item.kind == "answer"]
    specs = run_specs(replace(case, brief=trial.case.brief), only_brief=True)
    return replace(trial, base=base, case=case, inputs=inputs, specs=specs)


def draw_of(trial: Trial, other: Trial, shares: Sequence[float]) -> list[float]:
    """Return the draw of another trial in which all common inputs are drawn alike."""
    drawn = {item.name: float(s) for item, s in zip(trial.inputs, shares, strict=True)}
    return [drawn.get(item.name, 0.5) for item in other.inputs]


def records_at(trial: Trial, rows: Sequence[Row], shares: Sequence[float]) -> list[Record] | None:
    """Return the records of one draw with the model's own errors, None where a run failed."""
    if any(row.status != DONE for row in rows):
        return None
    found = filed_records(rows, [spec.temperature for spec in trial.specs])
    if trial.in_hand is None:
        return found
    errors = trial.in_hand.errors(trial.inputs, shares)
    return [_erring(record, errors) for record in found]


def judge_rows(
    trial: Trial, rows: Sequence[Row], shares: Sequence[float], hand: Sequence[Record] = ()
) -> Sample:
    """Return the judgement of the runs of one sample.

    Parameters
    ----------
    trial : Trial
    rows : sequence of Row, one for each water
    shares : sequence of float, at which it was drawn
    hand : sequence of Record, of the bait in hand at the same draw
    """
    records = records_at(trial, rows, shares)
    if records is None:
        bad = next(row for row in rows if row.status != DONE)
        return Sample([], False, -CLIPPED, bad.reason)
    findings = judge(trial.case, records, banded=False, hand=hand)
    margin = float(np.clip(score(findings), -CLIPPED, CLIPPED))
    return Sample(findings, meets(findings), margin)


def _erring(record: Record, errors: dict[str, float]) -> Record:
    """Return a record with the model's own error in it."""
    error, value = errors.get(record.quantity), record.value
    if error is None or not isinstance(value, float):
        return record
    return replace(record, value=value * float(np.exp(error)))


@dataclass(frozen=True)
class Probability:
    """A share of passes with its confidence interval.

    Attributes
    ----------
    passed, count : int
    low, high : float, Wilson interval at 95 %
    """

    passed: int
    count: int
    low: float
    high: float

    @property
    def value(self) -> float:
        """The share itself."""
        return self.passed / self.count


def probability(passes: Sequence[bool]) -> Probability:
    """Return the share of passes with its Wilson interval at 95 % (scipy.stats.binomtest)."""
    from scipy.stats import binomtest

    passed, count = int(sum(passes)), len(passes)
    ends = binomtest(passed, count).proportion_ci(0.95, method="wilson")
    return Probability(passed, count, float(ends.low), float(ends.high))


def by_clause(trial: Trial, samples: Sequence[Sample]) -> list[tuple[Clause, Probability]]:
    """Return how often each clause is met."""
    return [
        (clause, probability([bool(s.findings) and meets([s.findings[i]]) for s in samples]))
        for i, clause in enumerate(trial.case.brief)
    ]


def convergence(samples: Sequence[Sample]) -> list[Probability]:
    """Return the pass probability of the first eighth, quarter, half, and all of a sample."""
    counts = sorted({max(1, len(samples) // part) for part in (8, 4, 2, 1)})
    return [probability([s.passes for s in samples[:count]]) for count in counts]


def as_plain(found: Probability) -> dict[str, Any]:
    """Return a probability as plain data."""
    return {"passed": found.passed, "of": found.count, "value": found.value,
            "low": found.low, "high": found.high}  # fmt: skip
