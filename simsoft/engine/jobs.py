"""The jobs of a run: which part, or the whole lure, is asked in which scenario, on all cores."""

from __future__ import annotations

import os
import threading
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import TypeVar

from simsoft.case.model import Case, Scenario
from simsoft.engine.symmetry import twin_of
from simsoft.lure.parts import Lure, Strip

Progress = Callable[[str, float], None]
Report = Callable[[float], None]
Answer = TypeVar("Answer")
Item = TypeVar("Item")


@dataclass(frozen=True)
class RunJob:
    """One question to one part, or to the whole lure.

    Attributes
    ----------
    scenario : Scenario
    strip : Strip or None, for the whole lure
    twin : int or None, number of the job whose answer this one's is the mirror image of
    """

    scenario: Scenario
    strip: Strip | None
    twin: int | None = None

    @property
    def name(self) -> str:
        """The name of the part."""
        return "whole lure" if self.strip is None else self.strip.name


def jobs_of(case: Case, lure: Lure) -> list[RunJob]:
    """Return the jobs of a case in the order in which they are told."""
    jobs: list[RunJob] = []
    for scenario in case.scenarios:
        if scenario.of_the_whole:
            jobs.append(RunJob(scenario, None))
            continue
        solved: dict[str, int] = {}
        strips: list[Strip] = []
        for strip in lure.own if scenario.kind == "cast" else lure.strips:
            if scenario.kind == "cast" and strip.wire is None:
                continue
            twin = twin_of(strip, scenario, strips)
            if twin is None:
                solved[strip.name] = len(jobs)
                strips.append(strip)
            jobs.append(RunJob(scenario, strip, None if twin is None else solved[twin.name]))
    return jobs


class _StoppedError(Exception):
    """Another job has failed, or the run has been interrupted."""


def solve_all(
    jobs: Sequence[RunJob],
    solve: Callable[[RunJob, Report], Answer],
    progress: Progress | None,
    at_once: int,
) -> list[Answer]:
    """Return the answers to jobs, a number of them worked on at a time.

    While one job has only one thing to do, the others keep the cores busy.

    Parameters
    ----------
    jobs : sequence of RunJob
    solve : function of a job and of a function that takes the share of it done (0..1)
    progress : function of a label and the share of all done, called by one thread at a time
    at_once : int

    Raises
    ------
    Exception
        What the first job that failed has raised; the others are given up at their next report.
    """
    shares = [0.0] * len(jobs)
    lock, stopped = threading.Lock(), threading.Event()

    def one(number: int) -> Answer:
        label = f"{jobs[number].scenario.name}: {jobs[number].name}"

        def report(share: float) -> None:
            if stopped.is_set():
                raise _StoppedError
            with lock:
                shares[number] = share
                if progress is not None:
                    progress(label, sum(shares) / len(jobs))

        report(0.0)
        answer = solve(jobs[number], report)
        report(1.0)
        return answer

    if at_once == 1:
        return [one(number) for number in range(len(jobs))]
    pool = ThreadPoolExecutor(max_workers=at_once)
    try:
        return list(pool.map(one, range(len(jobs))))
    finally:
        stopped.set()
        pool.shutdown(wait=True, cancel_futures=True)


def on_all_cores(
    solve: Callable[[Item], Answer], items: Sequence[Item], report: Report
) -> list[Answer]:
    """Return what a function gives for each of some items, in their order.

    Parameters
    ----------
    solve : function of an item
    items : sequence
    report : function of the share done (0..1), called after each; where it raises, the rest is
        given up
    """
    found: list[Answer] = []
    pool = ThreadPoolExecutor(max_workers=os.cpu_count())
    try:
        for answer in pool.map(solve, items):
            found.append(answer)
            report(len(found) / len(items))
        return found
    finally:
        pool.shutdown(wait=True, cancel_futures=True)
