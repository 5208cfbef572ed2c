"""``simsoft freeze``: the sheet that is signed before metal is cut."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path

from simsoft import __version__
from simsoft.case.model import Case
from simsoft.case.overrides import apply
from simsoft.case.read import from_tables
from simsoft.core.files import made_directory, write_text
from simsoft.design.brief import judge
from simsoft.design.freeze import freeze_of, open_reasons
from simsoft.design.other_water import with_other_water
from simsoft.design.sweep.run import Progress, read_base
from simsoft.design.tolerance import as_plain
from simsoft.engine.run import run
from simsoft.report.html.freeze import FILE, NOT_READY, READY, freeze_sheet
from simsoft.report.text.brief import brief_answer, folded
from simsoft.results.hdf5 import write_run
from simsoft.results.hdf5_reader import read_run


def freeze_command(
    case: str,
    directory: Path,
    progress: Progress | None,
    *,
    overrides: Sequence[str],
    samples: int,
    seed: int,
    workers: int | None,
    as_json: bool,
) -> tuple[str, list[str]]:
    """Write the sheet and return the text and the notes beside it."""
    base = read_base(case, overrides)
    made_directory(directory)
    known = freeze_of(base, directory, samples, seed, workers, progress)

    def changed(more: Sequence[str]) -> Case:
        return from_tables(apply(base.tables, more)[0], base.text, base.name)

    result = with_other_water(run(changed(()), progress), changed, progress)
    stored = read_run(write_run(result, directory / "results.h5"))
    path = write_text(directory / FILE, freeze_sheet(stored, known))
    reasons = open_reasons(judge(result.case, result.records, banded=True), known)
    notes = [*(f"warning: {warning}" for warning in result.warnings), f"wrote {path}"]
    word = NOT_READY if reasons else READY
    if as_json:
        body = {
            "simsoft": __version__,
            "case": result.case.title,
            "ready": not reasons,
            "reasons": reasons,
            "pass_probability": as_plain(known.chance),
            "durometers": [{"points": p, "meets": m} for p, m in known.window],
        }
        return json.dumps(body, indent=2, allow_nan=False), notes
    lines = [f"{word} for metal: {result.case.title}"]
    lines += [line for reason in reasons for line in folded(reason, "  ", "    ")]
    return "\n".join([*lines, "", *brief_answer(result)]) + "\n", notes
