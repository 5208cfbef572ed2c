"""``simsoft sweep``: options to a sweep, a sweep to text and files."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from simsoft import __version__
from simsoft.case.read import load
from simsoft.cli.keep import keep_answer
from simsoft.cli.vary import LEFT_OUT
from simsoft.core.files import made_directory
from simsoft.design import rank as ranking
from simsoft.design.brief import summed
from simsoft.design.own_design import own_design
from simsoft.design.rank import Confirmed, Ranking
from simsoft.design.sweep.axis import read_axis
from simsoft.design.sweep.family import write_family
from simsoft.design.sweep.hdf5 import CSV, H5
from simsoft.design.sweep.plan import Plan, read_link
from simsoft.design.sweep.run import (
    Progress,
    Runner,
    Sweep,
    local_runner,
    prepare_sweep,
    read_base,
    run_sweep,
)
from simsoft.design.sweep.table import SweepTable
from simsoft.design.sweep.task import Mode
from simsoft.report.figures.maps import save_maps
from simsoft.report.html.design import sweep_sheet
from simsoft.report.text.brief import finding_json
from simsoft.report.text.sweep import sweep_text


def sweep_command(
    case: str,
    directory: Path,
    progress: Progress | None,
    *,
    plan: Plan,
    overrides: Sequence[str],
    fast: bool,
    confirm: int,
    workers: int | None,
    scheduler: str | None,
    as_json: bool,
) -> tuple[str, list[str]]:
    """Return the text of a sweep and the notes beside it."""
    mode: Mode = "fast" if fast else "full"
    sweep = prepare_sweep(read_base(case, overrides), plan, mode)
    runner = local_runner(workers, mode)
    if scheduler is not None:
        from simsoft.design.sweep.cluster import cluster_runner

        runner = cluster_runner(scheduler, mode)
    made_directory(directory)
    if progress is not None:
        runs = sweep.plan.count * len(sweep.specs)
        progress(f"{sweep.plan.count} designs: {runs} runs; the best {confirm} with bands", 0.0)
    table, solved = run_sweep(sweep, directory, runner, progress)
    ranked, confirmed = _judged(sweep, table, directory, workers, confirm, progress)
    notes = [f"warning: {warning}" for warning in sweep.case.warnings]
    drawn = save_maps(sweep, table, directory, ranked)
    notes.append(f"wrote {', '.join([H5, CSV, *drawn])} to {directory}")
    body = _json(sweep, table, ranked, confirmed)
    text = sweep_text(sweep, table, ranked, confirmed, solved)
    sheet = sweep_sheet(sweep, table, ranked, confirmed)
    notes.append(keep_answer(directory, "sweep", sheet, text, body, sweep.case.text))
    return body if as_json else text, notes


def family_command(
    case: str, directory: str, plan: Plan, overrides: Sequence[str]
) -> tuple[str, list[str]]:
    """Write the designs of a sweep as case files; return their names and the notes."""
    sweep = prepare_sweep(read_base(case, overrides), plan)
    written = write_family(sweep, overrides, directory)
    left = bool(sweep.case.seen) and not all(load(path).seen for path in written)
    return "\n".join(map(str, written)), [LEFT_OUT] * left


def read_plan(vary: Sequence[str], keep: Sequence[str], sample: int | None, seed: int) -> Plan:
    """Return the plan of a sweep from the options that say it.

    Raises
    ------
    InputError
        An axis or a link cannot be read.
    """
    axes = tuple(read_axis(text) for text in vary)
    return Plan(axes, tuple(read_link(text) for text in keep), sample, seed)


def _judged(
    sweep: Sweep,
    table: SweepTable,
    directory: Path,
    workers: int | None,
    best: int,
    progress: Progress | None,
) -> tuple[Ranking, list[Confirmed]]:
    """Return the designs ranked, and the case as it stands and the best ones with bands."""
    if not sweep.case.brief:
        return ranking.rank(sweep, table), []
    runner: Runner = local_runner(workers, "bands")
    base = ranking.confirm(sweep, [None], directory, runner, progress)
    own = own_design(sweep, base[0].records, directory, local_runner(workers, sweep.mode), progress)
    ranked = ranking.rank(sweep, table, ranking.bands_of(base[0].records), own)
    chosen = [int(index) for index in ranked.order[: max(0, best)]]
    return ranked, base + ranking.confirm(sweep, chosen, directory, runner, progress)


def _json(sweep: Sweep, table: SweepTable, ranked: Ranking, confirmed: Sequence[Confirmed]) -> str:
    body: dict[str, Any] = {
        "simsoft": __version__,
        "case": table.title,
        "plan": table.plan,
        "designs": [
            {
                "values": dict(zip(table.paths, values, strict=True)),
                "status": status,
                **({"reason": reason} if reason else {}),
            }
            for values, status, reason in zip(table.values, table.status, table.reason, strict=True)
        ],
        "looks": dict(ranked.own.looks or {}),
        "ranked": [
            {
                "design": item.index,
                "margin_in_bands": item.score,
                "meets": item.meets,
                "brief": [finding_json(finding) for finding in item.findings],
            }
            for item in ranked.designs()
        ],
        "confirmed": [
            {
                "design": item.index,
                "verdict": summed(item.findings),
                "brief": [finding_json(finding) for finding in item.findings],
                **({"reason": item.reason} if item.reason else {}),
            }
            for item in confirmed
        ],
        "warnings": list(sweep.case.warnings),
    }
    return json.dumps(body, indent=2, allow_nan=False)
