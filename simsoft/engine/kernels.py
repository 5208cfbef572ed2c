"""Which kernels a case will ask for, by the words under which ``kernels.json`` keeps them."""

from __future__ import annotations

from simsoft.case.model import Case
from simsoft.core.prepare import Wanted, not_compiled
from simsoft.engine.jobs import Job, jobs_of
from simsoft.lure.parts import assemble

CLEARANCE = "clearance"  # how near a part comes to the hook, asked of every part beside one


def question_of(job: Job) -> str:
    """Return the word for what a job asks of which kind of body."""
    if job.strip is None:
        return f"{job.scenario.kind} whole"
    hung = "" if job.strip.part.paddle is None else " paddle"
    return f"{job.scenario.kind} {job.strip.model}{hung}"


def missing_for(case: Case) -> list[Wanted]:
    """Return what a run of a case needs of the compiler and is not kept yet."""
    jobs = jobs_of(case, assemble(case))
    hooked = any(job.strip is not None and job.strip.wire is not None for job in jobs)
    return not_compiled({question_of(job) for job in jobs} | ({CLEARANCE} if hooked else set()))
