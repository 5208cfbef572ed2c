"""The designs of a sweep as case files, each with its ancestry."""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path

from simsoft.case.files import read_text
from simsoft.case.read import loads
from simsoft.case.rewrite import descendant
from simsoft.core.errors import InputError
from simsoft.core.files import made_directory, write_text
from simsoft.design.sweep.plan import Design, designs
from simsoft.design.sweep.run import Sweep

MOST_FILES = 200
_NOT_IN_A_NAME = re.compile(r"[^0-9A-Za-z.]+")
_LONG = re.compile(r"\b\d+\.\d{5,}\b")


def write_family(sweep: Sweep, overrides: Sequence[str], directory: str | Path) -> list[Path]:
    """Write each design of a sweep as a case file, all or none, and return the files.

    Parameters
    ----------
    sweep : Sweep
    overrides : sequence of str, set in the base case already
    directory : path; made where it is not there

    Raises
    ------
    InputError
        A design is refused, a file exists already, or there are too many.
    OutputError
        If a file cannot be written.
    """
    count = sweep.plan.count
    if count > MOST_FILES:
        raise InputError(f"--write: {count} designs; at most {MOST_FILES} are written as files")
    text, name = read_text(sweep.base.name), sweep.base.name
    made: dict[Path, str] = {}
    for design in designs(sweep.plan, sweep.base.tables):
        path = Path(directory) / _file_name(Path(name).stem, design)
        if path.exists() or path in made:
            raise InputError(f"{path}: exists already; choose another folder")
        settings = [*overrides, *map(_readable, design.overrides)]
        made[path] = descendant(text, settings, name)
        loads(made[path], str(path))
    made_directory(directory)
    return [write_text(path, body) for path, body in made.items()]


def _readable(override: str) -> str:
    """Return an override with computed sizes to five figures, as a maker reads them."""
    path, equals, value = override.partition("=")
    return path + equals + _LONG.sub(lambda number: f"{float(number[0]):.5g}", value)


def _file_name(stem: str, design: Design) -> str:
    """Return the name of a design's file: the case's, then its values in order."""
    values = (_NOT_IN_A_NAME.sub("", value) for value in design.values)
    return "_".join([stem, *filter(None, values)]) + ".toml"
