"""A checked case as JSON text and back, for files that outlive the case file and its folder."""

from __future__ import annotations

from pydantic import TypeAdapter, ValidationError

from simsoft.case.model import Case


def to_json(case: Case) -> str:
    """Return a checked case as JSON, SI units, every number as it is.

    Returns
    -------
    text : str, from which ``from_json`` makes an equal case
    """
    return TypeAdapter(Case).dump_json(case).decode()


def from_json(text: str) -> Case:
    """Return the case that ``to_json`` wrote.

    Raises
    ------
    ValueError
        If the text is none.
    """
    try:
        return TypeAdapter(Case).validate_json(text)
    except ValidationError as error:
        raise ValueError("not a stored case") from error
