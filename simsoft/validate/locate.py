"""Where the checks are: inside an installed package, beside it in a checkout."""

from __future__ import annotations

from pathlib import Path

import simsoft
from simsoft.core.errors import InputError

EXPECTED_FILE = "expected.toml"
CASE_FILE = "case.toml"


def checks_directory(package: Path | None = None) -> Path:
    """Return the directory that holds one folder for each check.

    Parameters
    ----------
    package : Path or None, directory of the package; None takes the running one

    Raises
    ------
    InputError
        If neither place holds a check.
    """
    package = Path(simsoft.__file__).parent if package is None else package
    places = (package / "_validation", package.parent / "validation")
    for place in places:
        if any(place.glob(f"*/{EXPECTED_FILE}")):
            return place
    raise InputError(
        f"no published checks are in {places[0]} or {places[1]}; install simsoft again, or run "
        "this from a checkout"
    )
