"""Scenarios of the whole lure: solved once finely, then with every input moved, for the bands."""

from __future__ import annotations

from simsoft.case.model import Case, Scenario
from simsoft.engine.jobs import Report, on_all_cores
from simsoft.engine.slopes import slopes_of
from simsoft.engine.uncertainty import Variant, with_bands
from simsoft.lure.assembly import Whole
from simsoft.lure.free_lure import Values, free_values, moved_inputs
from simsoft.results.outcome import Outcome
from simsoft.results.record import Record
from simsoft.scenarios.free.ride import FreeDetail, Outcomes
from simsoft.scenarios.question import solve_whole

COARSE_ELEMENTS = 8  # of every chain, in the runs that the bands are made from
COARSE_STEP = 2.0


def free_answers(
    case: Case, whole: Whole, scenario: Scenario, *, bands: bool, report: Report
) -> tuple[list[Record], list[Outcome]]:
    """Return the records of one scenario of the whole lure, and the full outcomes behind them.

    Parameters
    ----------
    case : Case
    whole : Whole
    scenario : Scenario ``of_the_whole``
    bands : bool, False leaves low and high out
    report : function of the share done (0..1)

    Raises
    ------
    SolveError
        If the lure could not be solved.
    """
    values = free_values(whole)
    step = case.numerics.step
    full = solve_whole(whole, values, scenario, FreeDetail(case.numerics.elements, 1.0, step))
    report(0.2)
    coarse: Outcomes = {}
    moved: list[tuple[Variant, Outcomes]] = []
    if bands:
        elements = min(COARSE_ELEMENTS, case.numerics.elements or COARSE_ELEMENTS)
        ends = [motion.time[-1] for outcome in full.values() for motion in outcome.motions]
        longest = float(max(ends)) if ends else None
        rough = FreeDetail(elements, COARSE_STEP, step, extras=False, longest=longest)
        coarse, moved = _moved(whole, scenario, rough, report)
    records: list[Record] = []
    for part, outcome in full.items():
        ends = [(variant, found.get(part, Outcome())) for variant, found in moved]
        rough_one = coarse.get(part, Outcome())
        outcome.slopes, outcome.part = slopes_of("whole lure", rough_one, ends), part
        records += with_bands(scenario.name, part, outcome, rough_one, ends, rough_one)
    return records, list(full.values())


def _moved(
    whole: Whole, scenario: Scenario, rough: FreeDetail, report: Report
) -> tuple[Outcomes, list[tuple[Variant, Outcomes]]]:
    """Return the coarse outcome and those of the moved inputs, on all cores."""
    variants = [v for v in moved_inputs(whole) if v[0] != "shading" or scenario.free]
    wanted: list[Values] = [free_values(whole), *(values for _, _, values in variants)]
    outcomes = on_all_cores(
        lambda values: solve_whole(whole, values, scenario, rough),
        wanted,
        lambda share: report(0.2 + 0.8 * share),
    )
    named = [Variant(name, value) for name, value, _ in variants]
    return outcomes[0], list(zip(named, outcomes[1:], strict=True))
