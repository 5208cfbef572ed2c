"""``simsoft tolerance``: options to a trial, a trial to text."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from simsoft import __version__
from simsoft.case.profile import refuse_idle
from simsoft.cli.keep import keep_answer
from simsoft.core.files import made_directory
from simsoft.design.chance_map import ChanceMap, chance_map, map_axes
from simsoft.design.distribution import Group
from simsoft.design.paired import Change
from simsoft.design.paired_samples import sample_changes
from simsoft.design.sensitivity import Corner, Effect, SobolIndex, agreement, effects
from simsoft.design.sensitivity import failing_corner as corner_of
from simsoft.design.sensitivity import sobol as sobol_of
from simsoft.design.sweep.run import Progress, local_runner, read_base
from simsoft.design.tolerance import (
    Sample,
    Trial,
    as_plain,
    by_clause,
    convergence,
    given_looks,
    make_trial,
    points,
    probability,
    run_samples,
)
from simsoft.report.html.design import tolerance_sheet
from simsoft.report.text.change import change_json
from simsoft.report.text.tolerance import map_text, tolerance_text

CHECKED = 8  # samples of the screening judged again by the march


def tolerance_command(
    case: str,
    directory: Path,
    progress: Progress | None,
    *,
    overrides: Sequence[str],
    samples: int,
    seed: int,
    full: bool,
    only: Group | None,
    sobol: int,
    vary: Sequence[str],
    workers: int | None,
    as_json: bool,
) -> tuple[str, list[str]]:
    """Return the text of a tolerance run and the notes beside it."""
    base = read_base(case, overrides)
    plain = make_trial(base, full=full, only=only)
    axes = map_axes(vary)
    if axes is not None:
        refuse_idle(plain.case, [axis.path for axis in axes])
    made_directory(directory)
    trial = given_looks(plain, samples, seed, directory, workers, progress)
    runner = local_runner(workers, trial.mode)
    shares = points(trial, samples, seed)
    found = run_samples(trial, shares, directory, runner, progress)
    moved = sample_changes(trial, shares, directory, runner)
    ranked = effects(trial, shares, found)
    corner = corner_of(trial, directory, local_runner(1, trial.mode))
    agreed = None
    if trial.mode == "fast":
        whole = replace(trial, mode="full")
        marcher = local_runner(workers, "full")
        agreed = agreement(trial, whole, min(CHECKED, samples), seed, directory, marcher)
    indices = sobol_of(trial, sobol, seed, directory, runner, progress) if sobol else []
    mapped = None
    if axes is not None:
        mapped = chance_map(trial, axes, samples, seed, directory, runner, progress)
    notes = [f"warning: {warning}" for warning in trial.case.warnings]
    notes += trial.in_hand.told if trial.in_hand is not None else ()
    notes.append(f"runs are kept in {directory}")
    body = _json(trial, found, ranked, corner, indices, mapped, moved)
    text = tolerance_text(trial, found, ranked, corner, agreed, indices, moved)
    text += map_text(mapped)
    sheet = tolerance_sheet(trial, found, ranked, corner, agreed, mapped)
    notes.append(keep_answer(directory, "tolerance", sheet, text, body, trial.case.text))
    return body if as_json else text, notes


def _json(
    trial: Trial,
    samples: Sequence[Sample],
    ranked: Sequence[Effect],
    corner: Corner,
    indices: Sequence[SobolIndex],
    mapped: ChanceMap | None,
    moved: Sequence[Change],
) -> str:
    body: dict[str, Any] = {
        "simsoft": __version__,
        "case": trial.case.title,
        "mode": trial.mode,
        "pass_probability": as_plain(probability([s.passes for s in samples])),
        "clauses": [
            {"clause": clause.name, **as_plain(share)}
            for clause, share in by_clause(trial, samples)
        ],
        "changes": [change_json(change) for change in moved],
        "convergence": [as_plain(step) for step in convergence(samples)],
        "costs": [
            {"input": e.input.name, "group": e.input.group, "share": e.share, "rank": e.rank}
            for e in ranked
        ],
        "corner": {
            "settings": {item.name: value for item, value in corner.settings},
            "passes": corner.sample.passes,
        },
        "sobol": [
            {"input": i.input.name, "first": i.first, "first_95": i.first_ends,
             "total": i.total, "total_95": i.total_ends}
            for i in indices
        ],
        "map": None if mapped is None else {
            "paths": mapped.paths,
            "across": mapped.across,
            "up": mapped.up,
            "share": [[None if c is None else as_plain(c) for c in row] for row in mapped.chance],
            "refused": mapped.refused,
        },
        "warnings": list(trial.case.warnings),
    }  # fmt: skip
    return json.dumps(body, indent=2, allow_nan=False)
