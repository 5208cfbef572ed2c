"""What a maker may do next, after a run has judged the brief."""

from __future__ import annotations

import shlex
from collections.abc import Sequence

from simsoft.design.brief import GO, MARGINAL, NO_GO, SO_FAR, judge, summed
from simsoft.results.result import RunResult


def next_step(result: RunResult, case: str, overrides: Sequence[str]) -> str | None:
    """Return the command that goes on from the verdict; None where no clause is answered.

    Parameters
    ----------
    result : RunResult
    case : str, path of its file
    overrides : sequence of str, as they were set
    """
    findings = judge(result.case, result.records, banded=True)
    word = summed(findings).removesuffix(f" {SO_FAR}") if findings else ""
    asked = shlex.join([case, *(text for one in overrides for text in ("--set", one))])
    if word == GO:
        return f"next: how often your pours will meet it: simsoft tolerance {asked}"
    if word not in (MARGINAL, NO_GO):
        return None
    change = f"the least change that meets it: simsoft pick {asked}"
    if result.case.seen:
        return f"next: {change}"
    return f"next: write into [[seen]] what the bait in hand does, and run again; or {change}"
