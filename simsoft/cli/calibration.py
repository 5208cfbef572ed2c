"""``simsoft calibrate`` and ``simsoft plan``: files to a profile or a plan, as text and JSON."""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from simsoft import __version__
from simsoft.aquarium.bench.pool import OF_BENCH, bench_values
from simsoft.aquarium.files.designs import is_list, read_designs
from simsoft.aquarium.files.profile_text import profile_text
from simsoft.aquarium.files.read import Options, measure_files
from simsoft.aquarium.files.table import read_table
from simsoft.aquarium.inference.calibrate import Calibration, leave_one_out, profile_values
from simsoft.aquarium.inference.calibrate import calibrate_designs as fit_runs
from simsoft.aquarium.inference.ladder import natural_spread, with_profile_values
from simsoft.aquarium.inference.next_run import advise
from simsoft.aquarium.inference.plan import repeats
from simsoft.aquarium.inference.posterior import disagreements
from simsoft.aquarium.measured import Measured
from simsoft.case.measured import ProfileValue
from simsoft.case.model import Case
from simsoft.case.read import load
from simsoft.core.errors import InputError
from simsoft.engine.uncertainty import INPUT_WORDS
from simsoft.report.html.sheet import Sheet
from simsoft.report.html.tank import calibrated_sheet, planned_sheet
from simsoft.report.text.calibration import (
    calibration_page,
    plan_page,
    poor_model,
    shrinkage_line,
    values_page,
    wrapped,
)

Progress = Callable[[str, float], None]
DIFFERENCES = (0.05, 0.10, 0.20)
LEFT_OUT = " (the runs are left out of it: see above)"


def _read(
    files: Sequence[str], overrides: Sequence[str], options: Options
) -> tuple[list[tuple[Case, list[Measured]]], list[Measured], list[str]]:
    """Return designs with their runs, bench tests, and the measurement files."""
    first, rest = files[0], list(files[1:])
    if first.lower().endswith(".toml"):
        if not rest:
            raise InputError("calibrate needs at least one measurement file after the case")
        found = measure_files(rest, options)
        runs = [m for m in found if m.quantity not in OF_BENCH]
        bench = [m for m in found if m.quantity in OF_BENCH]
        return [(load(first, overrides), runs)], bench, rest
    if not rest and is_list(read_table(first)):
        designs = read_designs(first, overrides, options)
        bench = [m for _, found in designs for m in found if m.quantity in OF_BENCH]
        return designs, bench, [first]
    return [], measure_files(files, options), list(files)


def _rows(
    values: dict[str, ProfileValue],
) -> list[tuple[str, tuple[float, float, float], float | None]]:
    return [(name, (v.value, v.low, v.high), v.frequency) for name, v in values.items()]


def _priors_of(designs: Sequence[tuple[Case, list[Measured]]]) -> list[str]:
    """Return a note where a case brings priors that measurements made already."""
    titles = dict.fromkeys(c.profile.title for c, _ in designs if c.profile is not None)
    return [
        f"the profile {title} is the prior; give no measurement again that it was made from"
        for title in titles
    ]


def calibrate_command(
    files: Sequence[str],
    overrides: Sequence[str],
    options: Options,
    title: str,
    name: str,
    progress: Progress | None,
) -> tuple[str, str, str, Sheet]:
    """Return text, JSON, the profile's text ("" for none) and the page of a calibration.

    Bench tests come first: what they give is the prior that the runs then narrow. Runs whose fit
    is refused are not in the profile.
    """
    designs, bench, sources = _read(files, overrides, options)
    values, notes = bench_values(bench)
    notes += _priors_of(designs)
    idle = [m.run for m in bench if m.quantity not in OF_BENCH]
    if idle:
        notes.append(f"{', '.join(dict.fromkeys(idle))}: not used; a run needs its case before it")
    lines: list[str] = []
    if values:
        lines += ["Bench tests", *values_page(_rows(values))]
    for note in notes:
        lines += wrapped(note)
    lines += [""] if values or notes else []
    result: Calibration | None = None
    refused: list[str] = []
    before = [case for case, _ in designs]
    designs = [(with_profile_values(case, values, title), found) for case, found in designs]
    if any(found for _, found in designs):
        result = fit_runs(designs, progress)
        left = leave_one_out(result) if len(result.designs) > 1 else []
        lines += calibration_page(result, INPUT_WORDS, left)
        refused = poor_model(result)
        if not refused:
            # A run narrows what a bench test said of the same input; both are in the posterior.
            values = {**values, **profile_values(result)}
        lines += ["", "Profile" + LEFT_OUT * bool(refused), *values_page(_rows(values))]
        notes += disagreements(result.posterior, INPUT_WORDS) + refused
    if not values and not refused:
        if idle:
            raise InputError(
                "runs teach something about a case only: give it before them, as in "
                "`simsoft calibrate tail.toml run.csv`"
            )
        raise InputError("the data narrow nothing; a bench test or another run is needed")
    if before:
        spreads = [
            natural_spread(before[0]),
            natural_spread(with_profile_values(before[0], values, title)),
        ]
        if all(s is not None for s in spreads):
            lines += ["", shrinkage_line(*(math.exp(s or 0.0) for s in spreads))]
    text = ""
    if values:
        text = profile_text(
            title, values, sources, __version__, datetime.now(UTC), name=name, notes=notes
        )
    sheet = calibrated_sheet(title, _rows(values), notes, result, INPUT_WORDS)
    return "\n".join(lines) + "\n", _json(title, values, notes, result), text, sheet


def _json(
    title: str,
    values: dict[str, ProfileValue],
    notes: Sequence[str],
    result: Calibration | None,
) -> str:
    body: dict[str, Any] = {
        "simsoft": __version__,
        "case": title,
        "records": [],
        "warnings": list(notes),
        "profile": {name: vars(value) for name, value in values.items()},
    }
    if result is not None:
        posterior = result.posterior
        body["posterior"] = {
            "inputs": list(posterior.names),
            "mean": posterior.mean.tolist(),
            "spread": posterior.spread.tolist(),
            "conflict": posterior.conflict,
            "misfit": posterior.misfit,
            "surrogate_error": off if math.isfinite(off := result.surrogate_error) else None,
        }
    return json.dumps(body, allow_nan=False, indent=1)


def plan_command(
    case: str,
    measurements: Sequence[str],
    overrides: Sequence[str],
    options: Options,
    scatter: float,
    progress: Progress | None,
) -> tuple[str, str, Sheet, str]:
    """Return text, JSON and page of a plan, and the text of its case."""
    loaded = load(case, overrides)
    found = measure_files(measurements, options) if measurements else []
    values, _ = bench_values(found)
    loaded = with_profile_values(loaded, values, Path(case).stem)
    runs = [m for m in found if m.quantity not in OF_BENCH]
    advice = advise(loaded, runs, progress)
    pairs = [(d, repeats(d, scatter)) for d in DIFFERENCES]
    body = {
        "simsoft": __version__,
        "case": loaded.title,
        "records": [],
        "warnings": [],
        "plan": [
            {
                "target": one.target,
                "factor": one.factor,
                "choices": [vars(choice) for choice in one.choices],
                "jumps": list(one.jumps),
            }
            for one in advice
        ],
        "repeats": [{"difference": d, "runs": n} for d, n in pairs],
    }
    sheet = planned_sheet(loaded.title, advice, pairs, INPUT_WORDS)
    told = json.dumps(body, allow_nan=False, indent=1)
    return plan_page(advice, pairs, scatter, INPUT_WORDS), told, sheet, loaded.text
