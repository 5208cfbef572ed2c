"""How a sweep solves a case: screened without a march, or marched from the screening's start.

A sweep searches a paddle's start about that of the screening; where that fails it falls back to
the whole search. Start speeds agree with those of a single run to the tolerance of both searches
(2 %, tested). Paddles are marched with twice the step of a single run (beats and strokes within
1 %, tested).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from simsoft.case.model import Case, Scenario
from simsoft.design.sweep.runs import WEIGHED
from simsoft.engine.edge import withheld
from simsoft.engine.symmetry import mirrored_record, twin_of
from simsoft.lure.assembly import assemble_whole
from simsoft.lure.limp import check_limp
from simsoft.lure.parts import Lure, Strip, assemble, values_of
from simsoft.lure.records import whole_records
from simsoft.results.outcome import Outcome
from simsoft.results.record import Record, distrusted
from simsoft.scenarios.question import SCREENED, solve
from simsoft.scenarios.retrieve.marcher import Detail
from simsoft.scenarios.screening import can_screen

LONGER_STEP = 2.0  # times a single run's, for paddles: half the time, every answer within 1 %

Solver = Callable[[Case, Lure, Strip, Scenario], Outcome]


def screening_records(case: Case) -> list[Record]:
    """Return the records of a case without any time march of a retrieve.

    Other questions are answered as in a single run.
    """
    weighed = case.body is not None or any(c.quantity in WEIGHED for c in case.brief)
    return _records(case, _screened, weighed)


def marched_records(case: Case) -> list[Record]:
    """Return the records of a case, retrieves marched."""
    return _records(case, _marched, True)


def _records(case: Case, solver: Solver, weighed: bool) -> list[Record]:
    streams = [s for s in case.scenarios if s.kind == "retrieve" and not s.free]
    rest = tuple(s for s in case.scenarios if s not in streams)
    records: list[Record] = []
    if rest:
        from simsoft.engine.run import run

        records += run(replace(case, scenarios=rest), bands=False).records
    lure = assemble(case)
    check_limp(case, lure)
    if weighed and not rest:
        records += whole_records(assemble_whole(case, lure), bands=False)
    for scenario in streams:
        solved: dict[str, list[Record]] = {}
        for strip in lure.strips:
            others = [other for other in lure.strips if other.name in solved]
            twin = twin_of(strip, scenario, others)
            if twin is None:
                outcome = solver(case, lure, strip, scenario)
                solved[strip.name] = withheld(case, _plain(scenario.name, strip.name, outcome))
            else:
                found = solved[twin.name]
                solved[strip.name] = [mirrored_record(record, strip.name) for record in found]
            records += solved[strip.name]
    return records


def _screened(_: Case, lure: Lure, strip: Strip, scenario: Scenario) -> Outcome:
    return solve(strip, lure.water, values_of(strip), scenario, SCREENED)


def _marched(case: Case, lure: Lure, strip: Strip, scenario: Scenario) -> Outcome:
    values = values_of(strip)
    step = case.numerics.step
    longer = LONGER_STEP if step is None and can_screen(strip, scenario) else 1.0
    whole = Detail(step=step, step_factor=longer, pictures=False)
    if can_screen(strip, scenario) and scenario.onset:
        guess = solve(strip, lure.water, values, replace(scenario, speeds=()), SCREENED)
        near = guess.answers["start_speed", ()].value
        if isinstance(near, float):
            found = solve(strip, lure.water, values, scenario, replace(whole, near=near))
            start = found.answers.get(("start_speed", ()))
            if start is not None and start.value is not None:
                return found
    return solve(strip, lure.water, values, scenario, whole)


def _plain(scenario: str, part: str, outcome: Outcome) -> list[Record]:
    found = []
    for (quantity, at), a in outcome.answers.items():
        told = (scenario, part, quantity, a.value, None, None, a.unit, a.basis, dict(at), a.reason)
        why = outcome.distrusted.get((quantity, at))
        found.append(Record(*told) if why is None else distrusted(Record(*told), why))
    return found
