"""Cases to start from: a commented one for each kind of part and a whole lure, and the demos."""

from __future__ import annotations

from collections.abc import Sequence
from importlib import resources
from pathlib import Path
from typing import get_args

import simsoft
from simsoft.case.files import read_text
from simsoft.case.model import PartKind
from simsoft.case.wording import given, suggestion
from simsoft.core.errors import InputError

KINDS: tuple[str, ...] = ("swim-bait", *get_args(PartKind), "lure")


def starter(kind: str) -> str:
    """Return the text of a commented case to start from; it loads as it is.

    Parameters
    ----------
    kind : str
        One of ``KINDS``.

    Raises
    ------
    InputError
        There is no such kind.
    """
    _refuse_unknown(kind, KINDS, "kind of part")
    template = resources.files("simsoft.case") / "templates" / f"{kind}.toml"
    return template.read_text(encoding="utf-8")


def demo_case(name: str, package: Path | None = None) -> str:
    """Return the text of a demo case.

    Parameters
    ----------
    name : str
        Of a file in ``cases/``, with its ending or without.
    package : Path or None, directory of the package; None takes the running one

    Raises
    ------
    InputError
        There is no such demo case, or the demo cases are not there.
    """
    places = demo_files(package)
    stem = name.removesuffix(".toml")
    _refuse_unknown(stem, sorted(places), "demo case")
    return read_text(places[stem])


def demo_files(package: Path | None = None) -> dict[str, Path]:
    """Return the files of the demo cases by name: those of the wheel, or of the checkout.

    Raises
    ------
    InputError
        If neither place holds one.
    """
    package = Path(simsoft.__file__).parent if package is None else package
    folders = (package / "_cases", package.parent / "cases")
    for folder in folders:
        found = {path.stem: path for path in sorted(folder.glob("*.toml"))}
        if found:
            return found
    raise InputError(f"no demo cases are in {folders[0]} or {folders[1]}; install simsoft again")


def _refuse_unknown(name: str, known: Sequence[str], what: str) -> None:
    if name not in known:
        raise InputError(
            f"{given(name)} is no {what}{suggestion(name, known)}; allowed are {', '.join(known)}"
        )
