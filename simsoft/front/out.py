"""Everything that a run writes into its folder."""

from __future__ import annotations

from pathlib import Path

from simsoft import __version__
from simsoft.files import write_text
from simsoft.report.csv_report import as_csv
from simsoft.report.figures import save_all
from simsoft.report.folder import replace_earlier
from simsoft.report.html.page import write_page
from simsoft.report.json_report import as_json
from simsoft.report.text import summary
from simsoft.result import RunResult
from simsoft.results_file import write
from simsoft.results_reader import read


def write_all(result: RunResult, directory: Path) -> int:
    """Write a run into its folder, in place of an earlier one, and return the number of files.

    Raises
    ------
    OutputError
        If a file cannot be written.
    """
    stored = write(result, directory / "results.h5")
    written = [
        write_page(read(stored), directory),
        stored,
        write_text(directory / "records.json", as_json(result, __version__) + "\n"),
        write_text(directory / "records.csv", as_csv(result.records)),
        write_text(directory / "summary.txt", summary(result)),
        *save_all(result, directory),
    ]
    replace_earlier(directory, written)
    return len(written)
