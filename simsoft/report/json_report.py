"""The records as the one JSON object other programs read."""

from __future__ import annotations

import json
from typing import Any

from simsoft.report.brief import finding_json
from simsoft.result import RunResult
from simsoft.sweep.brief import judge


def as_json(result: RunResult, version: str) -> str:
    """Return a run as JSON text: ``simsoft``, ``case``, ``records``, ``warnings``, ``brief``.

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
    body: dict[str, Any] = {
        "simsoft": version,
        "case": result.case.title,
        "records": [record.as_json() for record in result.records],
        "warnings": list(result.warnings),
    }
    findings = judge(result.case, result.records, banded=True)
    if findings:
        body["brief"] = [finding_json(finding) for finding in findings]
    return json.dumps(body, allow_nan=False, indent=1)
