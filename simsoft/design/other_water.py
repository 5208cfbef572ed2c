"""The clauses of a brief that name other water, answered by runs of their own."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from simsoft.case.model import Case
from simsoft.design.sweep.runs import RunSpec, own_water, run_specs, same
from simsoft.design.sweep.table import WATER
from simsoft.engine.jobs import Progress
from simsoft.engine.run import run
from simsoft.results.record import Record
from simsoft.results.result import RunResult

FREEZING = 273.15  # [K]
Changed = Callable[[Sequence[str]], Case]
Solve = Callable[[Case], tuple[Sequence[Record], Sequence[str]]]


def with_other_water(
    result: RunResult, changed: Changed, progress: Progress | None = None, *, bands: bool = True
) -> RunResult:
    """Return a run with the answers to the clauses that name other water added.

    Parameters
    ----------
    result : RunResult, in the case's own water
    changed : function of overrides returning the case with these on top of its own
    progress : function of a label and the share done, or None
    bands : bool

    Returns
    -------
    result : RunResult
        Its new records carry ``water_temperature`` [K] among their conditions and are of
        quantities that a clause asks for in that water.
    """

    def solve(case: Case) -> tuple[Sequence[Record], Sequence[str]]:
        found = run(case, progress, bands=bands)
        return found.records, [w for w in found.warnings if w not in result.warnings]

    records, warnings = other_water(result.case, changed, solve)
    return replace(
        result,
        records=(*result.records, *records),
        warnings=(*result.warnings, *warnings),
    )


def other_water(case: Case, changed: Changed, solve: Solve) -> tuple[list[Record], list[str]]:
    """Return what clauses of a brief that name other water ask for, and the warnings about it.

    Parameters
    ----------
    case : Case, with its brief
    changed : function of overrides returning the case with these on top of its own
    solve : function of a case returning its records and warnings
    """
    records: list[Record] = []
    warnings: list[str] = []
    for spec in run_specs(case, only_brief=True):
        if spec.temperature is not None:
            found, told = solve(_cut(spec, changed))
            asked = _asked(case, spec.temperature)
            records += [_filed(r, spec.temperature) for r in found if r.quantity in asked]
            warnings += [f"in water of {spec.temperature - FREEZING:.3g} degC: {w}" for w in told]
    return records, warnings


def _cut(spec: RunSpec, changed: Changed) -> Case:
    """Return the case in the other water, with the scenarios that answer its clauses."""
    case = changed((*spec.overrides, *spec.after))
    kept = tuple(
        replace(s, wanted_sink_rate=None, wanted_attitude=None)
        for s in case.scenarios
        if spec.scenarios is None or s.name in spec.scenarios
    )
    return replace(case, scenarios=kept)


def _asked(case: Case, temperature: float) -> set[str]:
    """Return the quantities that clauses ask for in water of a temperature [K]."""
    return {
        clause.quantity
        for clause in case.brief
        if not own_water(clause, case) and same(clause.temperature or 0.0, temperature)
    }


def _filed(record: Record, temperature: float) -> Record:
    return replace(record, at={**record.at, WATER: temperature})
