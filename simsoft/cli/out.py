"""Everything that a run writes into its folder."""

from __future__ import annotations

from pathlib import Path

from simsoft import __version__
from simsoft.core.files import write_text
from simsoft.report.csv import as_csv
from simsoft.report.figures.run import save_all
from simsoft.report.folder import replace_earlier
from simsoft.report.html.page import write_page
from simsoft.report.json import as_json
from simsoft.report.text.run import summary
from simsoft.report.text.width import WIDTH, narrowed
from simsoft.results.hdf5 import write_run
from simsoft.results.hdf5_reader import read_run
from simsoft.results.result import RunResult


def write_all(result: RunResult, directory: Path) -> int:
    """Write a run into its folder, in place of an earlier one, and return the number of files.

    Raises
    ------
    OutputError
        If a file cannot be written.
    """
    stored = write_run(result, directory / "results.h5")
    kept = read_run(stored)
    with narrowed(WIDTH):  # what is kept goes by no terminal
        told = summary(result, kept.created)
    written = [
        write_page(kept, directory),
        stored,
        write_text(directory / "records.json", as_json(result, __version__) + "\n"),
        write_text(directory / "records.csv", as_csv(result.records)),
        write_text(directory / "summary.txt", told),
        *save_all(result, directory),
    ]
    replace_earlier(directory, written)
    return len(written)
