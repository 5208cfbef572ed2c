"""Designs tried forward: each with its inputs in the middle, then for a sample of what scatters.

Every design is run with the same sample, drawn alike for the bait in hand beside it; no response
surface stands in between.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from simsoft.case.overrides import apply
from simsoft.case.read import from_tables
from simsoft.case.wishes import Clause
from simsoft.core.arrays import Array
from simsoft.core.errors import InputError
from simsoft.design.brief import NEVER, meets, score
from simsoft.design.paired import Change, changes
from simsoft.design.scatter import scatter_of
from simsoft.design.sweep.row import Row
from simsoft.design.sweep.run import Progress, Runner, solve_tasks
from simsoft.design.sweep.task import BaseCase, Task
from simsoft.design.tolerance import (
    Probability,
    Sample,
    Trial,
    draw_of,
    hand_trial,
    judge_rows,
    points,
    probability,
    records_at,
    tasks_at,
)


@dataclass(frozen=True)
class Candidate:
    """One design tried.

    Attributes
    ----------
    value : str, of the one key that it changes, as it stands in the case
    middle : Sample, with every input in its middle
    chance : Probability, of meeting the brief when everything scatters; None if not sampled
    changes : tuple of Change, from the bait in hand, by the same samples
    missed : tuple of Clause and share, the clause that most of the samples miss; None where all
        meet it or none was judged
    """

    value: str
    middle: Sample
    chance: Probability | None
    changes: tuple[Change, ...] = ()
    missed: tuple[Clause, float] | None = None

    @property
    def share(self) -> float:
        """The chance that it meets the brief, 0 where it was not sampled."""
        return 0.0 if self.chance is None else self.chance.value


@dataclass(frozen=True)
class Bench:
    """Where designs are tried, and how.

    Attributes
    ----------
    trial : Trial
    samples, seed : int, forward runs of each candidate, and the seed of their draw
    directory : Path, where runs are kept
    runner : Runner
    progress : Progress or None
    """

    trial: Trial
    samples: int
    seed: int
    directory: Path
    runner: Runner
    progress: Progress | None = None


@dataclass(frozen=True)
class Tried:
    """One design and its runs; no trial and no runs but the reason where it was refused."""

    value: str
    around: Trial | None
    middle: list[list[Task]]
    samples: list[list[Task]]
    draws: Array
    refused: str = ""

    def shares(self, count: int) -> Sequence[Sequence[float]]:
        """Return the draws of so many runs: the one in the middle, or all of the sample."""
        middle = len(self.middle) and count == 1
        return [[0.5] * self.draws.shape[1]] if middle else list(self.draws)[:count]


@dataclass(frozen=True)
class Judged:
    """Samples judged, and what the brief's numbers do from the bait in hand."""

    samples: list[Sample]
    changes: tuple[Change, ...]


def laid_out(bench: Bench, value: str, design: tuple[str, ...]) -> Tried:
    """Return a design with its runs laid out, or the reason why it cannot be."""
    try:
        moved = around(bench.trial, design)
    except InputError as error:
        return Tried(value, None, [], [], np.zeros((0, 0)), error.problems[0])
    centre = [0.5] * len(moved.inputs)
    draws = points(moved, bench.samples, bench.seed)
    sample = [tasks_at(moved, row, design) for row in draws]
    return Tried(value, moved, [tasks_at(moved, centre, design)], sample, draws)


def around(trial: Trial, design: Sequence[str]) -> Trial:
    """Return the trial of a changed case: what scatters, scatters about the new value."""
    tables, _ = apply(trial.base.tables, design)
    base = BaseCase(trial.base.name, trial.base.text, tables)
    case = from_tables(tables, base.text, base.name)
    names = {item.name for item in trial.inputs}
    inputs = [item for item in scatter_of(case, tables) if item.name in names]
    inputs += [item for item in trial.inputs if item.kind == "answer"]
    return replace(trial, base=base, case=case, inputs=inputs)


def run_and_judge(
    bench: Bench, label: str, tried: Sequence[Tried], wanted: Sequence[Sequence[list[Task]]]
) -> list[Judged]:
    """Return the judgement of the wanted runs of every design, beside the bait in hand.

    Parameters
    ----------
    bench : Bench
    label : str, told with the progress
    tried : sequence of Tried
    wanted : sequence of runs of each, its middle, its sample or nothing
    """
    trial = bench.trial
    hand = hand_trial(trial)
    draws = [one.shares(len(tasks)) for one, tasks in zip(tried, wanted, strict=True)]
    alike = [
        [draw_of(one.around or trial, hand, draw) for draw in rows]
        for one, rows in zip(tried, draws, strict=True)
    ]
    before = _solved(bench, f"{label}, bait in hand", hand, [
        [tasks_at(hand, draw) for draw in rows] for rows in alike
    ])  # fmt: skip
    after = _solved(bench, label, trial, wanted)
    return [
        _judge(one.around or trial, hand, rows, new, own, old)
        for one, rows, new, own, old in zip(tried, draws, after, alike, before, strict=True)
    ]


def _solved(
    bench: Bench, label: str, around: Trial, wanted: Sequence[Sequence[list[Task]]]
) -> list[list[list[Row]]]:
    told = None if bench.progress is None else _labelled(bench.progress, label)
    tasks = [task for one in wanted for task in one]
    rows = iter(solve_tasks(around.base, tasks, bench.directory, bench.runner, told))
    return [[next(rows) for _ in tasks] for tasks in wanted]


def _judge(
    trial: Trial,
    hand: Trial,
    draws: Sequence[Sequence[float]],
    new: Sequence[Sequence[Row]],
    own: Sequence[Sequence[float]],
    old: Sequence[Sequence[Row]],
) -> Judged:
    """Return a candidate's samples beside those of the bait in hand, drawn alike."""
    before = [records_at(hand, rows, draw) or [] for rows, draw in zip(old, own, strict=True)]
    after = [records_at(trial, rows, draw) or [] for rows, draw in zip(new, draws, strict=True)]
    samples = [
        judge_rows(trial, rows, draw, side)
        for rows, draw, side in zip(new, draws, before, strict=True)
    ]
    return Judged(samples, changes(hand.case, trial.case, before, after))


def candidate(tried: Tried, middle: Judged, scattered: Judged) -> Candidate:
    """Return the candidate of its samples."""
    if not middle.samples:
        never = Sample([], False, NEVER, tried.refused)
        return Candidate(tried.value, never, probability([False]))
    middle_sample = middle.samples[0]
    if middle_sample.findings:  # designs that all miss by far are still told apart
        middle_sample = replace(middle_sample, margin=score(middle_sample.findings))
    kept = scattered.samples
    chance = probability([s.passes for s in kept]) if kept else None
    missed = _often_missed(kept)
    return Candidate(tried.value, middle_sample, chance, scattered.changes, missed)


def _often_missed(samples: Sequence[Sample]) -> tuple[Clause, float] | None:
    """Return the clause that most samples miss, and their share of those that were judged."""
    judged = [s.findings for s in samples if s.findings]
    shares = [
        (clause[0].clause, float(np.mean([not meets([f]) for f in clause])))
        for clause in zip(*judged, strict=True)
    ]
    worst = max(shares, key=lambda pair: pair[1], default=None)
    return worst if worst is not None and worst[1] > 0.0 else None


def _labelled(progress: Progress, label: str) -> Progress:
    return lambda text, share: progress(f"{label}: {text}", share)
