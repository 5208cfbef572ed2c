"""Run a case: the whole lure weighed, then every scenario for every strip, with bands.

Solvers that most cases do without are imported where they are called: they take as long to load
as a small case to run.
"""

from __future__ import annotations

import os
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

from threadpoolctl import threadpool_limits

from simsoft.case.model import Case, Scenario
from simsoft.engine.checks import check_strip
from simsoft.engine.edge import past_the_edge, withheld
from simsoft.engine.jobs import Progress, Report, RunJob, jobs_of, solve_all
from simsoft.engine.slopes import slopes_of
from simsoft.engine.symmetry import mirrored_outcome, mirrored_record
from simsoft.engine.uncertainty import Variant, felt, model_error, other_motions, with_bands
from simsoft.lure.assembly import Whole, assemble_whole
from simsoft.lure.limp import check_limp
from simsoft.lure.parts import Lure, Strip, assemble, values_of
from simsoft.lure.records import whole_records
from simsoft.results.outcome import Outcome, Stood
from simsoft.results.record import Record, is_upper_bound
from simsoft.results.result import Flight, Moves, RunResult
from simsoft.scenarios.moulded import moulded_shape
from simsoft.scenarios.question import solve
from simsoft.scenarios.retrieve.marcher import Detail, Each, half_mesh

Answer = tuple[list[Record], list[Outcome]]

COARSE_STEP = 2.0
STARTS = (("start_speed", ()), ("start_frequency", ()))
TUMBLE_INPUTS = (  # that a shape in air feels
    *("modulus", "thickness", "set_fraction", "normal_drag"),
    *("stall_angle", "paddle_normal_force"),
)


def run(
    case: Case, progress: Progress | None = None, *, bands: bool = True, anew: bool = False
) -> RunResult:
    """Solve a case and return its records, shapes and traces.

    Parameters
    ----------
    case : Case
    progress : function of a label and the share done (0..1), called by one thread at a time
    bands : bool, False leaves low and high out and saves most of the time
    anew : bool, behind the bands every march from rest, at the full step where the mesh is the
        full one, and every start searched whole: what the short way is checked against

    Raises
    ------
    InputError
        If a part is too limp in water.
    SolveError
        If no part of a scenario could be solved.
    """
    with threadpool_limits(limits=1, user_api="blas"):
        found = _run(case, progress, bands, anew)
        if bands and case.seen:
            from simsoft.engine.seen import with_seen

            return with_seen(found, lambda other: _run(other, None, True, anew))
    return found


def _run(case: Case, progress: Progress | None, bands: bool, anew: bool) -> RunResult:
    # Small matrices and a thread for every design: threads inside the algebra only get in the way.
    lure = assemble(case)
    check_limp(case, lure)
    whole = assemble_whole(case, lure)
    records = whole_records(whole, bands=bands)
    flights = _casts(case, whole, records, bands)
    warnings = list(case.warnings)
    kept = Outcome()
    jobs = jobs_of(case, lure)

    def answer(job: RunJob, report: Report) -> Answer:
        if job.strip is None:
            return _whole_answers(case, whole, job.scenario, bands, report)
        return _strip_answers(case, lure, job.scenario, job.strip, (bands, anew), report)

    asked = [job for job in jobs if job.twin is None]
    at_once = os.cpu_count() or 1 if bands else 1
    answers = iter(solve_all(asked, answer, progress, at_once))
    found: list[Answer] = []
    moves: Moves = {}
    for job in jobs:
        if job.twin is None:
            found.append(next(answers))
        else:
            found.append(_mirrored(found[job.twin], jobs[job.twin].name, job.name))
        records += found[-1][0]
        for outcome in found[-1][1]:
            moves |= {(job.scenario.name, outcome.part, *k): s for k, s in outcome.slopes.items()}
            _keep(kept, outcome)
            warnings += [w for w in outcome.warnings if w not in warnings]
            if job.strip is not None:
                told = check_strip(job.strip, lure.water, job.scenario, outcome)
                warnings += [w for w in told if w not in warnings]
    drawn = {shape.part for shape in kept.shapes}
    kept.shapes += [moulded_shape(s, lure.water) for s in lure.strips if s.name not in drawn]
    if progress is not None:
        progress("done", 1.0)
    return RunResult(
        case=case,
        records=tuple(records),
        warnings=tuple(warnings),
        shapes=tuple(kept.shapes),
        traces=tuple(kept.traces),
        closest=tuple(kept.closest),
        flights=tuple(flights),
        motions=tuple(kept.motions),
        surfaces=tuple(kept.surfaces),
        moves=moves,
    )


def _mirrored(answer: Answer, twin: str, name: str) -> Answer:
    """Return the answer to part ``name`` from that to its mirror image ``twin``."""
    records, outcomes = answer
    mirrored = [mirrored_record(record, name) for record in records]
    return mirrored, [mirrored_outcome(outcomes[0], twin, name)]


def _keep(kept: Outcome, outcome: Outcome) -> None:
    """Add the arrays of one outcome to those of the run."""
    kept.shapes += outcome.shapes
    kept.traces += outcome.traces
    kept.closest += outcome.closest
    kept.motions += outcome.motions
    kept.surfaces += outcome.surfaces


def _whole_answers(
    case: Case, whole: Whole, scenario: Scenario, bands: bool, report: Report
) -> Answer:
    """Return the records of the whole lure in one scenario, recipes for its fall among them."""
    from simsoft.engine.free_lure import free_answers

    def fallen() -> Answer:
        return free_answers(case, whole, scenario, bands=bands, report=report)

    if scenario.kind != "sink":
        return fallen()
    from simsoft.scenarios.wanted import wanted_of

    if not bands:
        found, outcomes = fallen()
        return found + wanted_of(case, scenario, None), outcomes
    with ThreadPoolExecutor(max_workers=os.cpu_count()) as pool:
        told = pool.submit(fallen)
        wanted = wanted_of(case, scenario, pool)
        found, outcomes = told.result()
    return found + wanted, outcomes


def _strip_answers(
    case: Case,
    lure: Lure,
    scenario: Scenario,
    strip: Strip,
    asked: tuple[bool, bool],
    report: Report,
) -> Answer:
    """Return the records of one strip in one scenario, and the outcome behind them.

    ``asked`` are ``bands`` and ``anew`` of ``run``.
    """
    bands, anew = asked
    with ThreadPoolExecutor(max_workers=os.cpu_count()) as pool:
        each = pool.map if bands else map
        detail = Detail(step=case.numerics.step, each=each)
        full = solve(strip, lure.water, values_of(strip), scenario, detail)
        report(0.2)
        if bands:
            found = _bands(case, lure, scenario, strip, full, anew, report, each)
        else:
            found = with_bands(scenario.name, strip.name, full, Outcome(), [], Outcome())
    return withheld(case, found), [full]


def _casts(case: Case, whole: Whole, records: list[Record], bands: bool) -> list[Flight]:
    """Throw the whole lure in every scenario that asks for it; add to the records."""
    flights: list[Flight] = []
    for scenario in case.scenarios:
        if scenario.kind == "cast":
            from simsoft.scenarios.cast.reach import cast

            found, flown = cast(whole, scenario, bands=bands)
            records += found
            flights += flown
    return flights


def _bands(
    case: Case,
    lure: Lure,
    scenario: Scenario,
    strip: Strip,
    full: Outcome,
    anew: bool,
    report: Report,
    each: Each,
) -> list[Record]:
    """Run the coarse and the moved cases on all cores and put the bands on the records.

    A stiff paddle's inputs are moved on the standard mesh and its start searched below that of
    the full run too: on half the mesh a paddle may land on another motion. Its step is twice the
    full one, and so is that of the run that the moved ones are compared with. Where the standard
    mesh costs too much, the coarse run must at least move as the full one does, or a warning says
    so. Marches of moved inputs go on from the beat of the unmoved one (`retrieve.marcher`).

    ``each`` makes the marches of the coarse run side by side where it goes alone before all others.
    """
    coarse = Detail(
        elements=half_mesh(strip.elements),
        step_factor=COARSE_STEP,
        step=case.numerics.step,
        near=_start_of(full),
        pictures=False,
        careful=False,
        rested={} if anew else _rested(full),
    )
    standard = strip.swings_stiff and scenario.kind != "cast"
    whole = replace(coarse, elements=None, step_factor=1.0, near=None)
    near = coarse.near if _has_plain_start(full) else None
    longer = replace(
        whole, step_factor=COARSE_STEP, near=near, below=True, begun=_begun(full, full)
    )
    twice = standard and not anew and scenario.kind == "retrieve"
    alone = replace(coarse, each=each)
    central_runs = [coarse, longer] if twice and scenario.march else [alone]

    sought = anew or _tells_start(case, full)
    behind = scenario if sought else replace(scenario, onset=False)

    def central(detail: Detail) -> Outcome:
        return solve(strip, lure.water, values_of(strip), behind, detail)

    def at_end(variant: Variant) -> Outcome:
        values = values_of(strip, **{variant.name: variant.value})
        moved = solve(strip, lure.water, values, behind, near_centre)
        if sought and near_centre.near is not None and _start_of(moved) is None:
            wide = replace(near_centre, near=None)
            still = replace(scenario, march=False, speeds=())
            again = solve(strip, lure.water, values, still, wide)
            moved.answers |= {key: again.answers[key] for key in STARTS if key in again.answers}
        return moved

    moving = felt(strip, full)
    if scenario.kind == "cast":
        moving = [variant for variant in moving if variant.name in TUMBLE_INPUTS]
    outcomes: list[Outcome] = []
    pool = ThreadPoolExecutor(max_workers=os.cpu_count())
    try:
        rough, *others = pool.map(central, central_runs)
        centre = others[0] if others else (full if standard else rough)
        if other_motions(strip.name, full, centre) and standard:
            longer, centre = replace(longer, step_factor=1.0), full  # a longer step will not do
        near_centre = longer if twice else (whole if standard else coarse)
        if not anew:
            near_centre = replace(near_centre, begun=_begun(centre, full))
        for outcome in pool.map(at_end, moving):
            outcomes.append(outcome)
            report(0.2 + 0.8 * len(outcomes) / len(moving))
    finally:
        pool.shutdown(wait=True, cancel_futures=True)
    moved = list(zip(moving, outcomes, strict=True))
    full.slopes, full.part = slopes_of(strip.part.name, centre, moved), strip.name
    if not standard:
        full.warnings += other_motions(strip.name, full, rough)
    return with_bands(
        scenario.name,
        strip.name,
        full,
        rough,
        moved,
        centre,
        of_model=model_error(strip.part),
    )


def _tells_start(case: Case, full: Outcome) -> bool:
    """Return whether the unmoved part has a start speed that is told: no other has a band."""
    start, rate = (full.answers.get(key) for key in STARTS)
    if start is None or not isinstance(start.value, float):
        return False
    return rate is None or not past_the_edge(case, rate.value)


def _rested(full: Outcome) -> dict[float, float]:
    """Return how fast small motions grow where the unmoved march came to rest, by speed [m/s].

    Not where it beats from a large motion.
    """
    two = _speeds_of_two(full)
    return {speed: growth for speed, growth in full.rested.items() if speed not in two}


def _speeds_of_two(full: Outcome) -> set[object]:
    """Return the speeds [m/s] at which two motions stand side by side."""
    return {dict(at)["speed"] for quantity, at in full.answers if quantity == "stroke_from_above"}


def _begun(centre: Outcome, full: Outcome) -> dict[float, Stood]:
    """Return where the settled marches of the unmoved run stand, by speed [m/s].

    Not where a second motion stands beside: from rest a moved input may come to either.
    """
    two = _speeds_of_two(full)
    return {speed: stood for speed, stood in centre.stood.items() if speed not in two}


def _has_plain_start(outcome: Outcome) -> bool:
    """Return whether a beat grows from the start speed on, and nothing turns aside anywhere."""
    aside = any(("change", "turns aside") in at for _, at in outcome.answers)
    start = outcome.answers.get(("start_speed", ()))
    return start is not None and not aside and not is_upper_bound(start.basis)


def _start_of(outcome: Outcome) -> float | None:
    """Return the start speed [m/s] of an outcome that has one above nothing."""
    found = outcome.answers.get(("start_speed", ()))
    value = None if found is None else found.value
    return value if isinstance(value, float) and value > 0.0 else None
