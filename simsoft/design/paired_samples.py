"""What a case's settings change, told by the samples of a tolerance and of the bait in hand."""

from __future__ import annotations

from pathlib import Path

from simsoft.core.arrays import Array
from simsoft.design.paired import Change, changes
from simsoft.design.sweep.run import Progress, Runner, solve_tasks
from simsoft.design.tolerance import Trial, draw_of, hand_trial, records_at, tasks_at


def sample_changes(
    trial: Trial, shares: Array, directory: Path, runner: Runner, progress: Progress | None = None
) -> tuple[Change, ...]:
    """Return what every number of the brief does from the bait in hand, the same draws on both.

    Nothing where no clause is told against the bait in hand. Samples that were solved before are
    read from the folder.
    """
    if not any(clause.against for clause in trial.case.brief):
        return ()
    hand = hand_trial(trial)
    sides = []
    for side, draws in (
        (hand, [draw_of(trial, hand, row) for row in shares]),
        (trial, [list(map(float, row)) for row in shares]),
    ):
        tasks = [tasks_at(side, draw) for draw in draws]
        rows = solve_tasks(side.base, tasks, directory, runner, progress)
        sides.append([records_at(side, one, at) or [] for one, at in zip(rows, draws, strict=True)])
    return changes(hand.case, trial.case, *sides)
