"""The records as the one JSON object other programs read."""

from __future__ import annotations

import json
from typing import Any

from simsoft.design.brief import judge
from simsoft.design.stiffness import stiffness
from simsoft.report.text.asked import asked_texts, stiffness_json
from simsoft.report.text.brief import finding_json
from simsoft.report.text.change import changes_json
from simsoft.report.text.seen import looks_json
from simsoft.report.text.sentences import answer_groups
from simsoft.results.result import RunResult

FORMAT = "simsoft records 1"  # raised when a key changes its meaning or goes


def as_json(result: RunResult, version: str) -> str:
    """Return a run as JSON text, as ``records.schema.json`` beside this module describes it.

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
        "format": FORMAT,
        "simsoft": version,
        "case": result.case.title,
        "asked": asked_texts(result),
        "answer": [
            {
                "scenario": group.scenario,
                "parts": [name for name in group.names if name],
                "answer": group.lead,
                "more": [{"about": label, "sentence": told} for label, told in group.more],
            }
            for group in answer_groups(result)
        ],
        "records": [record.as_json() for record in result.records],
        "warnings": list(result.warnings),
    }
    bends = stiffness(result.case)
    if bends is not None:
        body["stiffness"] = stiffness_json(bends)
    if result.looks:
        body["seen"] = looks_json(result.looks, result.narrowed)
    if result.changes:
        body["changes"] = changes_json(result.changes)
    findings = judge(result.case, result.records, banded=True)
    if findings:
        body["brief"] = [finding_json(finding) for finding in findings]
    return json.dumps(body, allow_nan=False, indent=1)
