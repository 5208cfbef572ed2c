"""Jobs are solved side by side, told in order, and given up together."""

from __future__ import annotations

import threading

import pytest

from simsoft.case.model import Scenario
from simsoft.engine.jobs import RunJob, solve_all

JOBS = [RunJob(Scenario(name, "sink"), None) for name in ("one", "two", "three")]


@pytest.mark.parametrize("at_once", [1, 2, 5])
def test_answers_come_in_the_order_of_the_jobs(at_once):
    told = []

    def solve(job, report):
        report(0.5)
        return job.scenario.name

    answers = solve_all(JOBS, solve, lambda label, share: told.append((label, share)), at_once)
    assert answers == ["one", "two", "three"]
    shares = [share for _, share in told]
    assert shares == sorted(shares)
    assert shares[0] == 0.0
    assert shares[-1] == 1.0
    assert {label for label, _ in told} == {f"{name}: whole lure" for name in answers}


def test_two_jobs_are_worked_on_at_once():
    """Each waits for the other: one after the other they would wait for ever."""
    meeting = threading.Barrier(2, timeout=20.0)
    assert solve_all(JOBS[:2], lambda job, report: meeting.wait() >= 0, None, 2) == [True, True]


def test_when_one_fails_the_others_are_given_up():
    begun = threading.Event()
    reached = []

    def solve(job, report):
        if job.scenario.name == "one":
            assert begun.wait(20.0)
            raise ValueError("no")
        begun.set()
        for count in range(100_000):
            reached.append(count)
            report(count / 100_000)
            threading.Event().wait(0.001)
        return None

    with pytest.raises(ValueError, match="no"):
        solve_all(JOBS[:2], solve, None, 2)
    assert len(reached) < 100_000
