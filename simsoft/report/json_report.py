"""The records as the one JSON object other programs read."""

from __future__ import annotations

import json

from simsoft.result import RunResult


def as_json(result: RunResult, version: str) -> str:
    """Return a run as JSON text: ``simsoft``, ``case``, ``records``, ``warnings``.

    Parameters
    ----------
    result : RunResult
    version : str, of simsoft

    Returns
    -------
    text : str, one object in ASCII without a newline at the end; a missing value is ``null``

    Raises
    ------
    ValueError
        If a number is not finite; a record never holds one, so this is a defect.
    """
    body = {
        "simsoft": version,
        "case": result.case.title,
        "records": [record.as_json() for record in result.records],
        "warnings": list(result.warnings),
    }
    return json.dumps(body, allow_nan=False, indent=1)
