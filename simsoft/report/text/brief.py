"""The brief in words: what was wanted, the verdict, the number behind it and its margin."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from typing import Any

from simsoft.design.brief import Finding, answered, judge, summed
from simsoft.report.text.width import width
from simsoft.report.units import LengthUnit, decimals, rounded, show, told_in, unit_of
from simsoft.results.result import RunResult


def folded(text: str, first: str = "", later: str = "  ") -> list[str]:
    """Return a sentence broken to the width of prose."""
    return textwrap.wrap(
        text, width(), initial_indent=first, subsequent_indent=later, break_long_words=False,
        break_on_hyphens=False,
    )  # fmt: skip


def brief_answer(result: RunResult) -> list[str]:
    """Return the lines of a run's brief: the verdict first, then clause by clause."""
    findings = judge(result.case, result.records, banded=True)
    if not findings:
        return []
    known = answered(findings)
    verdict = brief_verdict(findings)
    left = len(findings) - len(known)
    if known and left:
        verdict += f"; {left} of {len(findings)} clauses not answered by this run"
    return [f"brief: {verdict}.", *brief_lines(findings, result.case.length_unit)]


def brief_verdict(findings: Sequence[Finding]) -> str:
    """Return the verdict of a brief in capitals, 'so far' where a clause is not answered."""
    return summed(findings).upper().replace("SO FAR", "so far")


def brief_lines(findings: Sequence[Finding], unit: LengthUnit) -> list[str]:
    """Return the lines of every clause: verdict, wish, number with band, margin."""
    return [
        line for finding in findings for line in folded(_clause_text(finding, unit), "  ", " " * 16)
    ]


def finding_json(finding: Finding) -> dict[str, Any]:
    """Return a judged clause as plain data, SI units."""
    body = {
        "clause": finding.clause.name,
        "quantity": finding.clause.quantity,
        "verdict": finding.verdict,
        "margin": finding.margin,
        "unit": finding.clause.unit,
        "record": None if finding.record is None else finding.record.as_json(),
    }
    if finding.reason:
        body["reason"] = finding.reason
    return body


def _clause_text(finding: Finding, unit: LengthUnit) -> str:
    clause = finding.clause
    behind = "" if finding.record is None else show(finding.record, unit)
    text = f"{finding.verdict:<12}  {told_in(clause.name, unit)} ({wish_text(finding, unit)})"
    if behind:
        text += f": {behind}"
    if finding.margin is not None:
        text += f"; {margin_text(finding, unit)}"
    if finding.reason and finding.reason not in behind:
        text += f"; {finding.reason}"
    return text


def clause_name(name: str, unit: LengthUnit) -> str:
    """Return the name of a clause for reading, sizes in the user's unit."""
    return told_in(name.replace("_", " "), unit)


def margin_text(finding: Finding, unit: LengthUnit) -> str:
    """Return how far inside or outside its limit a clause is, nothing where nobody knows."""
    if finding.margin is None:
        return ""
    factor, name = _unit_of(finding, unit)
    gap = abs(finding.margin) * factor
    side = "inside" if finding.margin >= 0 else "outside"
    return " ".join(f"{rounded(gap, decimals(gap) - 1)} {name} {side}".split())


def _unit_of(finding: Finding, unit: LengthUnit) -> tuple[float, str]:
    """Return factor and name of the unit a clause is told in."""
    limits = (finding.clause.at_least, finding.clause.at_most)
    largest = max((abs(limit) for limit in limits if limit is not None), default=0.0)
    return unit_of(finding.clause.quantity, finding.clause.unit, unit, largest)


def wish_text(finding: Finding, unit: LengthUnit) -> str:
    """Return what a clause asks for, in the user's units."""
    clause = finding.clause
    if clause.against is not None:
        within = f" within {100 * clause.within:.3g} %" if clause.against == "same" else ""
        return f"{clause.against} {'as' if within else 'than'} the bait in hand{within}"
    if clause.equals is not None:
        return f"to be '{clause.equals}'"
    factor, name = _unit_of(finding, unit)
    pieces = [
        f"{word} {limit * factor:.4g} {name}".rstrip()
        for word, limit in (("at least", clause.at_least), ("at most", clause.at_most))
        if limit is not None
    ]
    return " and ".join(pieces)
