"""``simsoft batch``: the window of Shore, stem and mass in which a pour is kept."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path

from simsoft import __version__
from simsoft.cli.keep import keep_answer
from simsoft.core.files import made_directory
from simsoft.design.batch import batch_window
from simsoft.design.sweep.run import Progress, local_runner, read_base
from simsoft.design.tolerance import make_trial
from simsoft.report.html.batch import batch_sheet
from simsoft.report.text.batch import batch_text


def batch_command(
    case: str,
    directory: Path,
    progress: Progress | None,
    *,
    overrides: Sequence[str],
    softener: float | None = None,
    workers: int | None,
    as_json: bool,
) -> tuple[str, list[str]]:
    """Return the text of a batch window and the notes beside it."""
    base = read_base(case, overrides)
    trial = make_trial(base)
    made_directory(directory)
    window = batch_window(base, directory, local_runner(workers, trial.mode), progress, softener)
    title = trial.case.title
    body = json.dumps(
        {"simsoft": __version__, "case": title, "window": asdict(window)},
        indent=1,
        allow_nan=False,
    )
    text = batch_text(title, window)
    notes = [f"warning: {warning}" for warning in trial.case.warnings]
    sheet = batch_sheet(title, window)
    notes.append(keep_answer(directory, "batch", sheet, text, body, trial.case.text))
    return body if as_json else text, notes
