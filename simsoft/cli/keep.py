"""An answer kept in the folder it was asked for: page, text, JSON, CSV."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

from simsoft.report.folder import add_to_list
from simsoft.report.html.sheet import Sheet, write_sheet


def keep_answer(
    directory: Path, stem: str, sheet: Sheet, text: str, body: str, case: str = ""
) -> str:
    """Write an answer into its folder and return the note about it.

    Parameters
    ----------
    directory : Path, existing
    stem : str, of the files' names
    sheet : Sheet
    text : str, as on the terminal
    body : str, JSON
    case : str, text of the case

    Raises
    ------
    OutputError
        If a file cannot be written.
    """
    made = datetime.now(UTC).isoformat(timespec="seconds")
    written = write_sheet(directory, stem, sheet, text, body, case, made)
    for path in written:
        add_to_list(directory, path)
    return f"wrote {', '.join(path.name for path in written)} to {directory}"
