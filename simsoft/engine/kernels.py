"""Which kernels a case will ask for, by the words under which ``kernels.json`` keeps them."""

from __future__ import annotations

from simsoft.case.model import Case
from simsoft.core.prepare import Wanted, not_compiled
from simsoft.engine.jobs import RunJob, jobs_of
from simsoft.lure.parts import assemble
from simsoft.scenarios.screening import can_screen

CLEARANCE = "clearance"  # how near a part comes to the hook, asked of every part beside one
SCREENING = "screening"  # of designs about a paddle, asked for a page


def question_of(job: RunJob) -> str:
    """Return the word for what a job asks of which kind of body."""
    if job.strip is None:
        return f"{job.scenario.kind} whole"
    hung = "" if job.strip.part.paddle is None else " paddle"
    return f"{job.scenario.kind} {job.strip.model}{hung}"


def missing_for(case: Case, *, page: bool = False) -> list[Wanted]:
    """Return what a run of a case needs of the compiler and is not kept yet.

    ``page`` says that a page is written too, with designs about the case.
    """
    jobs = jobs_of(case, assemble(case))
    asked = {question_of(job) for job in jobs}
    of_parts = [(job.strip, job.scenario) for job in jobs if job.strip is not None]
    if any(strip.wire is not None and len(strip.wire.spot) for strip, _ in of_parts):
        asked.add(CLEARANCE)
    if page and any(can_screen(strip, scenario) for strip, scenario in of_parts):
        asked.add(SCREENING)
    return not_compiled(asked)
