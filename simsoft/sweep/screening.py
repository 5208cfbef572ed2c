"""The fast mode: paddles by harmonic balance, every other part by rest shape and small motions."""

from __future__ import annotations

from dataclasses import replace

from simsoft.case.model import Case, Scenario
from simsoft.lure import Lure, Strip, assemble, values_of
from simsoft.record import Record
from simsoft.solve.outcome import Outcome
from simsoft.solve.retrieve import Detail, retrieve
from simsoft.solve.screening import can_screen, screen_paddle
from simsoft.sweep.runs import WEIGHED

COARSER = 4  # a part that is no paddle is screened with so many times fewer elements,
FEWEST = 8  # but not with fewer than this
COARSE = "; screening: coarse rod, no march"


def screening_records(case: Case) -> list[Record]:
    """Return the records of a case without any time march.

    Questions other than a retrieve are answered as in a full run.
    """
    lure = assemble(case)
    streams = [s for s in case.scenarios if s.kind == "retrieve" and not s.free]
    others = tuple(s for s in case.scenarios if s not in streams)
    weighed = case.body is not None or any(c.quantity in WEIGHED for c in case.brief)
    records: list[Record] = []
    if others or weighed:
        from simsoft.engine import run

        records += run(replace(case, scenarios=others), bands=False).records
    for scenario in streams:
        for strip in lure.strips:
            records += _plain(scenario.name, strip.name, _screened(lure, strip, scenario))
    return records


def _screened(lure: Lure, strip: Strip, scenario: Scenario) -> Outcome:
    if can_screen(strip, scenario):
        return screen_paddle(strip, lure.water, values_of(strip), scenario)
    elements = min(strip.elements, max(FEWEST, strip.elements // COARSER))
    still = replace(scenario, march=False)
    detail = Detail(elements=elements, pictures=False)
    outcome = retrieve(strip, lure.water, values_of(strip), still, detail)
    for key, answer in outcome.answers.items():
        outcome.answers[key] = replace(answer, basis=answer.basis + COARSE)
    return outcome


def _plain(scenario: str, part: str, outcome: Outcome) -> list[Record]:
    return [
        Record(scenario, part, quantity, a.value, None, None, a.unit, a.basis, dict(at), a.reason)
        for (quantity, at), a in outcome.answers.items()
    ]
