"""Commented starter cases, one for each kind of part and one for a whole lure."""

from __future__ import annotations

from importlib import resources
from typing import get_args

from simsoft.case.model import PartKind
from simsoft.case.wording import given, suggestion
from simsoft.errors import InputError

KINDS: tuple[str, ...] = (*get_args(PartKind), "lure")


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
    if kind not in KINDS:
        raise InputError(
            f"{given(kind)} is no kind of part{suggestion(kind, KINDS)}; "
            f"allowed are {', '.join(KINDS)}"
        )
    template = resources.files("simsoft.case") / "templates" / f"{kind}.toml"
    return template.read_text(encoding="utf-8")
