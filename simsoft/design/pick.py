"""Pick: one value changed so that the brief is met with the best pass probability.

Every candidate is run forward with the same sample of everything that scatters; no response
surface stands in between. Where a run has to be marched, candidates that miss the brief with all
inputs in their middle are not sampled: they are never picked. The pick is run again with bands.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from simsoft.case.overrides import apply
from simsoft.case.read import from_tables
from simsoft.core.arrays import Array
from simsoft.core.errors import InputError
from simsoft.design.brief import Finding
from simsoft.design.case_tables import quantities, value_at
from simsoft.design.cost import COSTS, asks_for
from simsoft.design.paired import Change, changes
from simsoft.design.scatter import scatter_of
from simsoft.design.sweep.axis import Axis
from simsoft.design.sweep.row import Row
from simsoft.design.sweep.run import Progress, Runner, solve_tasks
from simsoft.design.sweep.task import Base, Task
from simsoft.design.tolerance import (
    CLIPPED,
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

# Values with so nearly the best pass probability may be kept as well: judgement, less than the
# sample of 64 leaves in doubt about any of them.
KEEP_WITHIN = 0.10
SURE = 0.80  # chance from which a smaller change is preferred to a surer one (judgement)


@dataclass(frozen=True)
class Candidate:
    """One value of one axis.

    Attributes
    ----------
    value : str, as it stands in the case
    middle : Sample, with every input in its middle
    chance : Probability, of meeting the brief when everything scatters; None if not sampled
    changes : tuple of Change, from the bait in hand, by the same samples
    """

    value: str
    middle: Sample
    chance: Probability | None
    changes: tuple[Change, ...] = ()


@dataclass(frozen=True)
class Pick:
    """The best single change along one axis.

    Attributes
    ----------
    axis : Axis
    before : str, the case's own value, empty where it states none
    best : Candidate or None, None where no value meets the brief in its middle
    keep : tuple of str, lowest and highest value about the best with nearly its probability
    nearest : Candidate, closest to meeting the brief; the best one where there is one
    candidates : list of Candidate, in the order of the axis
    """

    axis: Axis
    before: str
    best: Candidate | None
    keep: tuple[str, str]
    nearest: Candidate
    candidates: list[Candidate]

    @property
    def least(self) -> Candidate | None:
        """The smallest change that meets the brief as often as ``SURE``; None where none does."""
        own = _size(self.before)
        good = [
            (abs(size[0] - own[0]), c)
            for c in self.candidates
            if c.middle.passes and _share(c) >= SURE
            for size in [_size(c.value)]
            if own is not None and size is not None and size[1] == own[1]
        ]
        return min(good, key=lambda pair: pair[0])[1] if good and own is not None else None

    @property
    def chosen(self) -> Candidate:
        """What is advised: the smallest change that does it, else the surest, else the nearest."""
        return self.least or self.best or self.nearest

    @property
    def cost(self) -> str:
        """What the change asks for: a new pour, another rig, or one more mould."""
        return asks_for(self.axis.path)

    @property
    def reason(self) -> Finding | None:
        """The clause that the nearest candidate misses most, None where nothing is missed."""
        missed = [f for f in self.nearest.middle.findings if f.verdict not in ("meets", "go")]
        return min(missed, key=lambda finding: finding.bands, default=None)


def pick(
    trial: Trial,
    axes: Sequence[Axis],
    samples: int,
    seed: int,
    directory: Path,
    runner: Runner,
    progress: Progress | None = None,
) -> list[Pick]:
    """Return the best value of every axis, each changed alone, by forward runs.

    Parameters
    ----------
    trial : Trial
    axes : sequence of Axis, with values
    samples : int, forward runs of each candidate
    """
    tried = [_laid_out(trial, axis, value, samples, seed) for axis in axes for value in axis.values]

    hand = hand_trial(trial)

    def solved(
        label: str, around: Trial, wanted: Sequence[Sequence[list[Task]]]
    ) -> list[list[list[Row]]]:
        told = None if progress is None else _labelled(progress, label)
        tasks = [task for one in wanted for task in one]
        rows = iter(solve_tasks(around.base, tasks, directory, runner, told))
        return [[next(rows) for _ in tasks] for tasks in wanted]

    def judged(label: str, wanted: Sequence[Sequence[list[Task]]]) -> list[_Judged]:
        draws = [one.shares(len(tasks)) for one, tasks in zip(tried, wanted, strict=True)]
        alike = [
            [draw_of(one.around or trial, hand, draw) for draw in rows]
            for one, rows in zip(tried, draws, strict=True)
        ]
        before = solved(f"{label}, bait in hand", hand, [
            [tasks_at(hand, draw) for draw in rows] for rows in alike
        ])  # fmt: skip
        after = solved(label, trial, wanted)
        return [
            _judge(one.around or trial, hand, rows, new, own, old)
            for one, rows, new, own, old in zip(tried, draws, after, alike, before, strict=True)
        ]

    middles = judged("middles", [one.middle for one in tried])
    cheap = trial.mode == "fast"
    wanted = [
        one.samples if cheap or any(s.passes for s in middle.samples) else []
        for one, middle in zip(tried, middles, strict=True)
    ]
    scattered = judged("scatter", wanted)
    found = list(map(_candidate, tried, middles, scattered))
    result, start = [], 0
    for axis in axes:
        end = start + len(axis.values)
        result.append(choose(axis, _before(trial, axis), found[start:end]))
        start = end
    return result


@dataclass(frozen=True)
class _Judged:
    """Samples judged, and what the brief's numbers do from the bait in hand."""

    samples: list[Sample]
    changes: tuple[Change, ...]


def _judge(
    trial: Trial,
    hand: Trial,
    draws: Sequence[Sequence[float]],
    new: Sequence[Sequence[Row]],
    own: Sequence[Sequence[float]],
    old: Sequence[Sequence[Row]],
) -> _Judged:
    """Return a candidate's samples beside those of the bait in hand, drawn alike."""
    before = [records_at(hand, rows, draw) or [] for rows, draw in zip(old, own, strict=True)]
    after = [records_at(trial, rows, draw) or [] for rows, draw in zip(new, draws, strict=True)]
    samples = [
        judge_rows(trial, rows, draw, side)
        for rows, draw, side in zip(new, draws, before, strict=True)
    ]
    return _Judged(samples, changes(hand.case, trial.case, before, after))


@dataclass(frozen=True)
class _Tried:
    """One candidate and its runs; no trial and no runs but the reason where it was refused."""

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


def _laid_out(trial: Trial, axis: Axis, value: str, samples: int, seed: int) -> _Tried:
    design = (f"{axis.path}={value}",)
    try:
        moved = around(trial, design)
    except InputError as error:
        return _Tried(value, None, [], [], np.zeros((0, 0)), error.problems[0])
    centre = [0.5] * len(moved.inputs)
    draws = points(moved, samples, seed)
    sample = [tasks_at(moved, row, design) for row in draws]
    return _Tried(value, moved, [tasks_at(moved, centre, design)], sample, draws)


def _candidate(tried: _Tried, middle: _Judged, scattered: _Judged) -> Candidate:
    """Return the candidate of its samples."""
    if not middle.samples:
        never = Sample([], False, -CLIPPED, tried.refused)
        return Candidate(tried.value, never, probability([False]))
    kept = scattered.samples
    chance = probability([s.passes for s in kept]) if kept else None
    return Candidate(tried.value, middle.samples[0], chance, scattered.changes)


def _labelled(progress: Progress, label: str) -> Progress:
    return lambda text, share: progress(f"{label}: {text}", share)


def around(trial: Trial, design: Sequence[str]) -> Trial:
    """Return the trial of a changed case: what scatters, scatters about the new value."""
    tables, _ = apply(trial.base.tables, design)
    base = Base(trial.base.name, trial.base.text, tables)
    case = from_tables(tables, base.text, base.name)
    names = {item.name for item in trial.inputs}
    inputs = [item for item in scatter_of(case, tables) if item.name in names]
    inputs += [item for item in trial.inputs if item.kind == "answer"]
    return replace(trial, base=base, case=case, inputs=inputs)


def _before(trial: Trial, axis: Axis) -> str:
    found = quantities(value_at(trial.base.tables, axis.path))
    return found[0].text if len(found) == 1 else ""


def choose(axis: Axis, before: str, candidates: list[Candidate]) -> Pick:
    """Return the pick among candidates: met in the middle, then the best probability.

    Equal probabilities go to the larger margin in the middle.
    """
    order = sorted(candidates, key=lambda c: (-_share(c), -c.middle.margin))
    good = [c for c in order if c.middle.passes]
    best = good[0] if good else None
    nearest = best or max(candidates, key=lambda c: (c.middle.margin, _share(c)))
    return Pick(axis, before, best, _keep(candidates, best), nearest, candidates)


def _size(text: str) -> tuple[float, str] | None:
    """Return number and unit of a value as a case states it."""
    number, _, unit = text.strip().partition(" ")
    try:
        return float(number), unit
    except ValueError:
        return None


def _share(candidate: Candidate) -> float:
    return 0.0 if candidate.chance is None else candidate.chance.value


def _keep(candidates: list[Candidate], best: Candidate | None) -> tuple[str, str]:
    if best is None:
        return ("", "")
    at = candidates.index(best)

    def near(c: Candidate) -> bool:
        return c.middle.passes and _share(c) >= _share(best) - KEEP_WITHIN

    low = high = at
    while low > 0 and near(candidates[low - 1]):
        low -= 1
    while high < len(candidates) - 1 and near(candidates[high + 1]):
        high += 1
    return candidates[low].value, candidates[high].value


def ranked(picks: Sequence[Pick]) -> list[Pick]:
    """Return picks, the best first.

    Those that are sure enough by cost and then by chance, then the others by chance, then those
    that miss by how far.
    """
    return sorted(
        picks,
        key=lambda p: (
            p.best is None,
            p.least is None,
            COSTS.index(p.cost) if p.least else 0,
            -(_share(p.chosen) if p.best else 0.0),
            -p.nearest.middle.margin,
        ),
    )
