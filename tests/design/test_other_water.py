"""Clauses in other water are answered by the same physics in that water."""

import dataclasses

import pytest

from simsoft.case.read import load
from simsoft.design.brief import OPEN, judge
from simsoft.design.other_water import with_other_water
from simsoft.engine.run import run
from simsoft.results.record import select

PATH = "cases/paddle_100.toml"
QUICK = ("scenarios.retrieve.speed=['0.6 m/s']",)


@pytest.fixture(scope="module")
def both():
    """The demo paddle in its own water, and with its brief's cold water added."""
    own = run(load(PATH, QUICK), bands=False)
    return own, with_other_water(own, lambda more: load(PATH, (*QUICK, *more)), bands=False)


def test_own_records_stay_as_they_are(both):
    own, result = both
    assert result.records[: len(own.records)] == own.records
    assert result.case == own.case


def test_the_cold_clause_is_answered_by_a_run_in_cold_water(both):
    own, result = both
    (asked,) = (c for c in own.case.brief if c.temperature is not None)
    added = result.records[len(own.records) :]
    assert {r.quantity for r in added} == {asked.quantity}
    assert {r.at["water_temperature"] for r in added} == {asked.temperature}
    water = f"water.temperature={asked.temperature} K"
    (found,) = select(run(load(PATH, (*QUICK, water)), bands=False).records, asked.quantity)
    assert added[0].value == pytest.approx(found.value, rel=1e-6)
    before, after = (judge(r.case, r.records, banded=False) for r in both)
    assert [f.verdict == OPEN for f in before] == [f.clause == asked for f in before]
    assert OPEN not in {f.verdict for f in after}


def test_a_brief_in_its_own_water_asks_for_no_more_runs(both):
    own, _ = both
    case = dataclasses.replace(
        own.case, brief=tuple(c for c in own.case.brief if c.temperature is None)
    )

    def never(more):
        raise AssertionError("another run was asked for")

    result = dataclasses.replace(own, case=case)
    assert with_other_water(result, never).records == own.records
