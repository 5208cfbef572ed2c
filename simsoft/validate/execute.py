"""Run one condition of a check on the code that users run, and compare."""

from __future__ import annotations

import importlib
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from simsoft.case.model import Case
from simsoft.case.read import load
from simsoft.core.errors import InputError, SolveError
from simsoft.engine.run import run
from simsoft.results.record import Record
from simsoft.validate.check import AllowedDifference, Check, Expected, Measure, Run
from simsoft.validate.compare import CheckRow

Found = float | None
NEEDS = "needs the extra `"  # in what a reader says whose package is not installed


def execute(check: Check, wanted: Run) -> list[CheckRow]:
    """Return the rows of one condition, in the order of the check's measures.

    Parameters
    ----------
    check : Check
    wanted : Run, one of its runs

    Raises
    ------
    InputError
        If the case file or an override is wrong.
    """
    names = [*wanted.expect, *wanted.unlike]
    measures = [m for m in check.measures.values() if m.name in names]
    try:
        case = None if check.case is None else load(check.case, wanted.overrides)
    except InputError as error:
        lacking = next((p for p in error.problems if NEEDS in p), "")
        if not lacking:
            raise
        return _skipped(check, wanted, measures, lacking.partition("reading ")[2])
    failed = ""
    records: Sequence[Record] = ()
    if case is not None and any(m.quantity for m in measures):
        try:
            records = run(case, bands=False).records
        except SolveError as error:
            failed = str(error)
    results: dict[str, Any] = {}
    rows: list[CheckRow] = []
    for measure in measures:
        reason = failed
        if measure.quantity:
            found, reason = from_records(records, measure) if not failed else (None, failed)
            values: list[Found] = [found]
        else:
            key = measure.function
            if key not in results:
                results[key] = _called(measure, case, wanted)
            values, reason = _from_result(results[key], measure)
        for table, unlike in ((wanted.expect, False), (wanted.unlike, True)):
            if measure.name in table:
                rows += _rows(check, wanted, measure, values, table[measure.name], reason, unlike)
    return rows


def _skipped(check: Check, wanted: Run, measures: Sequence[Measure], reason: str) -> list[CheckRow]:
    """Return the rows of a condition that cannot be run for want of an extra."""
    found = []
    for measure in measures:
        for table, unlike in ((wanted.expect, False), (wanted.unlike, True)):
            if measure.name in table:
                target = table[measure.name]
                found += _rows(check, wanted, measure, (), target, f"skipped: {reason}", unlike)
    return [replace(row, skipped=True) for row in found]


def from_records(records: Sequence[Record], measure: Measure) -> tuple[Found, str]:
    """Return the number of the record a measure asks for, or None and why there is none."""
    matching = [
        r
        for r in records
        if r.quantity == measure.quantity
        and all(_same(r.at.get(key), value) for key, value in measure.at.items())
    ]
    conditions = ", ".join(f"{key} {value}" for key, value in measure.at.items())
    if len(matching) < measure.nth:
        which = f"{measure.quantity} at {conditions}" if conditions else measure.quantity
        return None, f"the run has {len(matching)} records of {which}"
    value = matching[measure.nth - 1].value
    if isinstance(value, tuple) and measure.component is not None:
        value = value[measure.component]
    if value is None:
        return None, matching[measure.nth - 1].reason or "no reason given"
    if value in measure.words:
        return float(measure.words.index(str(value))), ""
    if not isinstance(value, int | float):
        return None, f"the record holds {value!r}, where one number is needed"
    return float(value), ""


def _same(stated: object, wanted: object) -> bool:
    if isinstance(stated, int | float) and isinstance(wanted, int | float):
        return bool(np.isclose(stated, wanted, rtol=1e-9, atol=0.0))
    return stated == wanted


def _called(measure: Measure, case: Case | None, wanted: Run) -> list[Any] | str:
    """Return the function's results, one for each value of ``each``; or why it failed."""
    module, _, name = measure.function.partition(":")
    function = getattr(importlib.import_module(module), name)
    first = (case,) if measure.takes_case else ()

    def call(arguments: Mapping[str, Any]) -> Any:
        return function(*first, **arguments) if callable(function) else function

    try:
        if not wanted.each:
            return [call(wanted.arguments)]
        values = wanted.arguments[wanted.each]
        return [call({**wanted.arguments, wanted.each: value}) for value in values]
    except SolveError as error:
        return str(error)


def _from_result(results: list[Any] | str, measure: Measure) -> tuple[list[Found], str]:
    if isinstance(results, str):
        return [], results
    numbers: list[Found] = []
    for result in results:
        try:
            for step in measure.item:
                result = result[step] if isinstance(step, int) else getattr(result, step)
        except IndexError:
            return [], f"the function's result ends before item {step}"
        numbers += [float(x) for x in np.atleast_1d(np.asarray(result, dtype=float))]
    return numbers, ""


def _rows(
    check: Check,
    wanted: Run,
    measure: Measure,
    values: Sequence[Found],
    expected: Expected,
    reason: str,
    unlike: bool,
) -> list[CheckRow]:
    """Return one row for each expected number."""
    targets = expected if isinstance(expected, tuple) else (expected,)
    stated = wanted.scale.get(measure.name, measure.scale)
    scales = stated if isinstance(stated, tuple) else (stated,) * len(targets)
    tolerance: AllowedDifference = wanted.tolerance.get(measure.name, measure.tolerance)
    rows = []
    for i, target in enumerate(targets):
        value = values[i] if i < len(values) else None
        found = None if value is None else measure.offset + scales[i] * value**measure.power
        condition = wanted.condition
        if isinstance(expected, tuple):
            condition = condition.format(wanted.labels[i])
        rows.append(
            CheckRow(
                identity=check.identity,
                what=measure.name,
                condition=condition,
                expected=target,
                found=found,
                tolerance=tolerance,
                source=check.short,
                reason="" if value is not None else reason or "the function gave no such number",
                unlike=unlike,
            )
        )
    return rows
