"""Exploring a case: knobs for what a maker can change, and what the solver says of a setting."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Literal, NamedTuple

from simsoft.case.model import Case
from simsoft.case.overrides import apply
from simsoft.case.read import from_tables
from simsoft.core.errors import InputError
from simsoft.design.brief import MEETS, OPEN, Finding, judge
from simsoft.design.case_tables import quantities, value_at
from simsoft.design.changes import default_axes
from simsoft.design.other_water import other_water, with_other_water
from simsoft.design.sweep.runs import CLEARS
from simsoft.design.sweep.screening import marched_records, screening_records
from simsoft.design.sweep.task import BaseCase
from simsoft.design.text_number import computed
from simsoft.results.record import Record, why_untrusted
from simsoft.scenarios.screening import left_to_the_march

How = Literal["screen", "march", "bands"]
WITHOUT_LOOKS = "what was seen of the bait in hand counts with bands alone, not here"
STEPS = 60  # of a knob from end to end
FURTHER = {"paddle_offset": 0.5, "paddle_height": 0.4, "paddle_width": 0.4, "width": 0.4}
AT_REST = "clear at rest; how close it comes over the beat only a march tells"
WARMTHS = {"degC": (1.0, 34.0), "degF": (34.0, 93.0)}  # water that is fished


class Knob(NamedTuple):
    """One value that can be moved.

    Attributes
    ----------
    path : str, as after --set
    unit : str, as the case states it
    low, high, step, value : float [unit]
    """

    path: str
    unit: str
    low: float
    high: float
    step: float
    value: float


class Prediction(NamedTuple):
    """What a setting does.

    Attributes
    ----------
    case : Case
    records : list of Record
    findings : list of Finding, the brief judged
    warnings : tuple of str
    """

    case: Case
    records: list[Record]
    findings: list[Finding]
    warnings: tuple[str, ...]


def knobs(base: BaseCase) -> list[Knob]:
    """Return what can be moved: what `pick` looks through, more of the first part, the water."""
    case = from_tables(base.tables, base.text, base.name)
    found = []
    for axis in default_axes(case, base.tables):
        own = quantities(value_at(base.tables, axis.path))
        if axis.low is not None and axis.high is not None and len(own) == 1:
            ends = (float(axis.low.number), float(axis.high.number))
            found.append(_knob(axis.path, own[0].unit, float(own[0].number), ends))
    known = {knob.path for knob in found}
    for part in case.parts[:1]:
        for key, share in FURTHER.items():
            path = f"parts.{part.name}.{key}"
            own = quantities(value_at(base.tables, path))
            if path not in known and len(own) == 1 and float(own[0].number):
                number = float(own[0].number)
                here = ((1.0 - share) * number, (1.0 + share) * number)
                found.append(_knob(path, own[0].unit, number, (min(here), max(here))))
    own = quantities(value_at(base.tables, "water.temperature"))
    if len(own) == 1 and own[0].unit in WARMTHS:
        found.append(
            _knob("water.temperature", own[0].unit, float(own[0].number), WARMTHS[own[0].unit])
        )
    return found


def _knob(path: str, unit: str, value: float, ends: tuple[float, float]) -> Knob:
    """Return a knob with a round step that holds the case's own value."""
    low, high = min(*ends, value), max(*ends, value)
    raw = (high - low) / STEPS
    power = 10.0 ** math.floor(math.log10(raw))
    step = next(f * power for f in (1.0, 2.0, 5.0, 10.0) if f * power >= raw * (1.0 - 1e-9))
    first = value - step * math.floor((value - low) / step + 1e-9)
    last = value + step * math.floor((high - value) / step + 1e-9)
    return Knob(path, unit, first, last, step, value)


def settings(known: list[Knob], values: Mapping[str, object]) -> list[str]:
    """Return values of knobs as overrides; those at the case's own value are left out.

    Raises
    ------
    InputError
        A value is of no knob, no number, or outside its ends; one line each.
    """
    by_path = {knob.path: knob for knob in known}
    problems, found = [], []
    for path, value in values.items():
        knob = by_path.get(path)
        if knob is None:
            problems.append(f"{path[:60]!r}: is no knob of this case")
            continue
        if not isinstance(value, int | float) or isinstance(value, bool):
            problems.append(f"{path}: is no number")
        elif not knob.low - 1e-9 <= value <= knob.high + 1e-9:
            problems.append(f"{path}: {knob.low:g} to {knob.high:g} {knob.unit} is allowed")
        elif value != knob.value:
            found.append(f"{path}={computed(float(value), knob.unit).text}")
    if problems:
        raise InputError(problems)
    return found


def predict_setting(base: BaseCase, overrides: list[str], how: How) -> Prediction:
    """Return what a case does with its overrides: screened, marched, or marched with bands.

    Raises
    ------
    InputError
        The case refuses the values.
    """
    case = _changed(base, overrides)
    if how == "bands":
        from simsoft.engine.run import run

        result = with_other_water(run(case), lambda more: _changed(base, [*overrides, *more]))
        records, warnings = list(result.records), result.warnings
    else:
        solve = screening_records if how == "screen" else marched_records
        records, warnings = solve(case), case.warnings
        if case.seen:
            warnings = (*warnings, WITHOUT_LOOKS)
        records += other_water(
            case, lambda more: _changed(base, [*overrides, *more]), lambda case: (solve(case), ())
        )[0]
    findings = judge(case, records, banded=how == "bands")
    findings = [_opened(finding, how) for finding in findings]
    return Prediction(case, records, findings, warnings)


def _opened(finding: Finding, how: How) -> Finding:
    """Return a finding as open where its number is none to trust, or only a march can tell it."""
    record = finding.record
    if record is not None and why_untrusted(record) is not None:
        return replace(finding, verdict=OPEN, reason=f"none to trust: {why_untrusted(record)}")
    if how != "screen":
        return finding
    if record is not None and left_to_the_march(record.reason):
        return replace(finding, verdict=OPEN, reason=str(record.reason))
    if finding.clause.quantity == CLEARS and finding.verdict == MEETS:
        return replace(finding, verdict=OPEN, reason=AT_REST)
    return finding


def _changed(base: BaseCase, overrides: Sequence[str]) -> Case:
    tables, problems = apply(base.tables, overrides)
    if problems:
        raise InputError(problems)
    return from_tables(tables, base.text, base.name)
