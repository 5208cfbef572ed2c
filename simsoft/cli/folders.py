"""``simsoft compare A/ B/``: two designs by the repeated runs in a folder of each."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from simsoft import __version__
from simsoft.cli.console import progress_bar
from simsoft.cli.said import Said
from simsoft.core.errors import InputError


def compare_folders(folders: Sequence[str], pool: bool, said: Said) -> int:
    """Compare two designs, run by run, and show what the runs settle.

    Raises
    ------
    InputError
        There are not two folders, or one cannot be read.
    """
    if len(folders) != 2:
        raise InputError(f"two folders are compared, one a design; {len(folders)} given")
    if Path(folders[0]).resolve() == Path(folders[1]).resolve():
        raise InputError(f"{folders[0]} and {folders[1]} are one folder; two designs are compared")
    from simsoft.aquarium.files.folder import read_design
    from simsoft.aquarium.two_designs import contrasts, doubtful, unsaid
    from simsoft.report.html.two_designs import two_designs_sheet
    from simsoft.report.text.two_designs import (
        left_out,
        left_unsaid,
        two_designs_json,
        two_designs_page,
    )

    designs = []
    problems: list[str] = []
    with progress_bar(said.quiet) as progress:
        for folder in folders:
            try:
                designs.append(read_design(folder, said.options, pooled=pool, progress=progress))
            except InputError as error:
                problems += error.problems
    if problems:
        raise InputError(problems)
    first, second = designs
    names = first.name, second.name
    if names[0] == names[1]:
        names = folders[0].rstrip("/"), folders[1].rstrip("/")
    found = contrasts(first.runs, second.runs, names)
    notes = [
        f"{name}: {note}"
        for name, one in zip(names, designs, strict=True)
        for note in (
            *one.notes,
            *left_unsaid(unsaid(one.runs)),
            *left_out(doubtful(one.runs)),
        )
    ]
    page = two_designs_page(found, names, notes, said.unit)
    body = two_designs_json(__version__, names, found, notes)
    said.show(page, body, "difference", two_designs_sheet(found, names, notes, said.unit))
    return 0
