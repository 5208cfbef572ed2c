"""A number past its model's range is no answer: not in the headline, not in the brief."""

import dataclasses

import pytest

from simsoft.case.wishes import Clause
from simsoft.design.brief import GO, OPEN, judge
from simsoft.engine.symmetry import mirrored_outcome
from simsoft.engine.uncertainty import with_bands
from simsoft.report.html.charts import charts
from simsoft.report.text.run import summary
from simsoft.results.outcome import Outcome
from simsoft.results.record import distrusted, select, why_untrusted

WHY = "the wake is not steady there"


@pytest.fixture
def doubted(synthetic_result):
    """The synthetic run with a start speed that is not to be trusted, and a brief that it meets."""
    records = tuple(
        distrusted(r, WHY) if r.quantity.startswith("start_") else r
        for r in synthetic_result.records
    )
    clause = Clause("start", "start_speed", "m/s", at_most=1.0, part="tail")
    case = dataclasses.replace(synthetic_result.case, brief=(clause,))
    return dataclasses.replace(synthetic_result, records=records, case=case)


def test_headline_says_what_it_does_and_why_there_is_no_start(doubted):
    text = " ".join(summary(doubted).split())
    assert text.startswith("brief: NOT ANSWERED.")
    assert ("tail kicks at 0.3 m/s and 0.5 m/s. No start speed to trust: " + WHY) in text
    assert "kicks from" not in text
    assert "start speed within" not in text
    assert "start speed mostly from" not in text


def test_trusted_headline_is_untouched(synthetic_result):
    assert summary(synthetic_result).startswith("tail kicks from 0.24 m/s")


def test_brief_takes_no_number_that_is_not_to_be_trusted(doubted, synthetic_result):
    (finding,) = judge(doubted.case, doubted.records, banded=True)
    assert finding.verdict == OPEN
    assert WHY in finding.reason
    (trusted,) = judge(doubted.case, synthetic_result.records, banded=True)
    assert trusted.verdict == GO


def test_chart_marks_no_such_start(doubted, synthetic_result):
    def marks(result):
        mine = [r for r in result.records if r.part == "tail"]
        return charts(mine, (), "tail", "mm").count('class="start"')

    assert marks(synthetic_result) == 3
    assert marks(doubted) == 0


def test_distrust_reaches_the_record_and_its_mirror_image():
    outcome = Outcome()
    outcome.distrust("start_speed", WHY)  # also of an answer still to come
    outcome.add("start_speed", 2.0, "m/s", "model")
    outcome.add("stroke", 0.01, "m", "model", speed=0.3)
    for one in (outcome, mirrored_outcome(outcome, "claw/left", "claw/right")):
        records = with_bands("swim", "claw", one, Outcome(), [], Outcome())
        (start,), (stroke,) = (select(records, q) for q in ("start_speed", "stroke"))
        assert why_untrusted(start) == WHY
        assert start.basis.startswith("model")
        assert why_untrusted(stroke) is None
