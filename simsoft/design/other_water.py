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
    records = list(result.records)
    warnings = list(result.warnings)
    for spec in run_specs(result.case, only_brief=True):
        if spec.temperature is not None:
            found = _run(spec, changed, progress, bands)
            asked = _asked(result.case, spec.temperature)
            records += [_filed(r, spec.temperature) for r in found.records if r.quantity in asked]
            new = [w for w in found.warnings if w not in result.warnings]
            warnings += [f"in water of {spec.temperature - FREEZING:.3g} degC: {w}" for w in new]
    return replace(result, records=tuple(records), warnings=tuple(warnings))


def _run(spec: RunSpec, changed: Changed, progress: Progress | None, bands: bool) -> RunResult:
    case = changed((*spec.overrides, *spec.after))
    kept = tuple(
        replace(s, wanted_sink_rate=None, wanted_attitude=None)
        for s in case.scenarios
        if spec.scenarios is None or s.name in spec.scenarios
    )
    return run(replace(case, scenarios=kept), progress, bands=bands)


def _asked(case: Case, temperature: float) -> set[str]:
    """Return the quantities that clauses ask for in water of a temperature [K]."""
    return {
        clause.quantity
        for clause in case.brief
        if not own_water(clause, case) and same(clause.temperature or 0.0, temperature)
    }


def _filed(record: Record, temperature: float) -> Record:
    return replace(record, at={**record.at, WATER: temperature})
