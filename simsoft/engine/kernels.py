"""Which kernels a case will ask for, by the words under which ``kernels.json`` keeps them."""

from __future__ import annotations

from simsoft.case.model import Case
from simsoft.core.prepare import Wanted, not_compiled
from simsoft.engine.jobs import RunJob, jobs_of
from simsoft.lure.parts import assemble

CLEARANCE = "clearance"  # how near a part comes to the hook, asked of every part beside one


def question_of(job: RunJob) -> str:
    """Return the word for what a job asks of which kind of body."""
    if job.strip is None:
        return f"{job.scenario.kind} whole"
    hung = "" if job.strip.part.paddle is None else " paddle"
    return f"{job.scenario.kind} {job.strip.model}{hung}"


def missing_for(case: Case) -> list[Wanted]:
    """Return what a run of a case needs of the compiler and is not kept yet."""
    jobs = jobs_of(case, assemble(case))
    wires = [job.strip.wire for job in jobs if job.strip is not None]
    bare = any(wire is not None and len(wire.spot) for wire in wires)
    return not_compiled({question_of(job) for job in jobs} | ({CLEARANCE} if bare else set()))
