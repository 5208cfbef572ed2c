"""``simsoft cad``: the case's sizes, its cavity, its shot and its costs, to text and files."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any

from simsoft import __version__
from simsoft.case.read import from_tables
from simsoft.cli.cad_shapes import write_shapes
from simsoft.core.files import made_directory, write_text
from simsoft.design.cad import cavity, csv_text, json_text, parameters, shot
from simsoft.design.cost import Cost, cost
from simsoft.design.sweep.run import Progress, local_runner, read_base
from simsoft.design.sweep.task import BaseCase
from simsoft.design.tolerance import (
    Probability,
    as_plain,
    given_looks,
    make_trial,
    points,
    probability,
)
from simsoft.design.tolerance import run_samples as sampled
from simsoft.report.text.cad import cad_text

PARAMETERS, CAVITY, ALL = "parameters.csv", "cavity.csv", "cad.json"
PARAMETRIC = "parameters.json"


def cad_command(
    case: str,
    directory: Path,
    progress: Progress | None,
    *,
    overrides: Sequence[str],
    samples: int,
    seed: int,
    workers: int | None,
    as_json: bool,
    shapes: bool = False,
) -> tuple[str, list[str]]:
    """Write the tables and return the text and the notes beside it."""
    base = read_base(case, overrides)
    checked = from_tables(base.tables, base.text, base.name)
    sizes, cut, poured = parameters(base.tables), cavity(checked, base.tables), shot(checked)
    made_directory(directory)
    chance: Probability | None = None
    costs: Cost | None = None
    if checked.brief:
        chance = _chance(base, samples, seed, directory, workers, progress)
        costs = cost(checked.shop, 1.0 - chance.value)
    body: dict[str, Any] = {
        "simsoft": __version__,
        "case": checked.title,
        "parameters": [asdict(p) for p in sizes],
        "cavity": [asdict(p) for p in cut],
        "shot": asdict(poured)
        | {"plate_mass": poured.plate_mass, "plate_volume": poured.plate_volume},
        "pass_probability": None if chance is None else as_plain(chance),
        "cost": None if costs is None else asdict(costs),
    }
    text = json.dumps(body, indent=2, allow_nan=False)
    write_text(directory / PARAMETERS, csv_text(sizes))
    write_text(directory / CAVITY, csv_text(cut))
    write_text(directory / ALL, text + "\n")
    write_text(directory / PARAMETRIC, json_text(sizes))
    notes = [f"warning: {warning}" for warning in checked.warnings]
    notes.append(f"wrote {PARAMETERS}, {PARAMETRIC}, {CAVITY} and {ALL} to {directory}")
    if shapes:
        notes += write_shapes(checked, base.tables, case, directory)
    if as_json:
        return text, notes
    return cad_text(checked.title, sizes, cut, poured, chance, costs), notes


def _chance(
    base: BaseCase,
    samples: int,
    seed: int,
    directory: Path,
    workers: int | None,
    progress: Progress | None,
) -> Probability:
    trial = given_looks(make_trial(base), samples, seed, directory, workers, progress)
    shares = points(trial, samples, seed)
    runner = local_runner(workers, trial.mode)
    return probability([s.passes for s in sampled(trial, shares, directory, runner, progress)])
