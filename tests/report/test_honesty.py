"""A number past its model's range is no answer: not in the headline, not in the brief."""

import dataclasses

import pytest

from simsoft.case.wishes import Clause
from simsoft.design.brief import GO, OPEN, judge
from simsoft.engine.symmetry import mirrored_outcome
from simsoft.engine.uncertainty import with_bands
from simsoft.report.figures.run import response
from simsoft.report.html.answers import answers, verdict_line, verdict_word
from simsoft.report.html.charts import charts
from simsoft.report.html.charts import numbers as charts_numbers
from simsoft.report.html.tables import response_table
from simsoft.report.text.run import summary
from simsoft.report.text.sentences import answer_groups
from simsoft.results.outcome import Outcome
from simsoft.results.record import Record, distrusted, select, why_untrusted

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


def test_a_warning_stands_once_beside_the_beat_it_is_about(synthetic_result):
    """A pair is told once, and so is what warns of it, where its start is told."""

    def side(name):
        return [
            dataclasses.replace(r, part=f"tail/{name}")
            for r in synthetic_result.records
            if r.part == "tail"
        ]

    gaps = [
        Record("throw", f"tail/{name}", "hook_clearance", 0.01, 0.008, 0.012, "m", "test",
               {"state": "tumbling", "speed": 20.0, "spot": "bend"})
        for name in ("left", "right")
    ]  # fmt: skip
    told = "the model does not hold there"
    result = dataclasses.replace(
        synthetic_result,
        records=(*side("left"), *side("right"), *gaps),
        warnings=(f"tail/left: {told}", f"tail/right: {told}"),
    )
    text = str(answers(result, answer_groups(result)))
    assert text.count(told) == 1
    assert f"each tail: {told}" in text
    assert text.index("kicks from") < text.index(told)
    assert "throw" not in text or text.index(told) < text.index("throw")


def test_a_verdict_with_open_clauses_says_so_far(doubted):
    met = Clause("rate", "flap_frequency", "Hz", at_most=50.0, part="tail", speed=0.5)
    case = dataclasses.replace(doubted.case, brief=(*doubted.case.brief, met))
    findings = judge(case, doubted.records, banded=True)
    assert verdict_word(findings, doubted.records) == "go so far"
    assert verdict_line(findings) == "1 of 2 clauses not answered. See the brief."
    missed = dataclasses.replace(met, at_most=0.5)
    case = dataclasses.replace(case, brief=(*doubted.case.brief, missed))
    findings = judge(case, doubted.records, banded=True)
    assert verdict_word(findings, doubted.records) == "no-go"
    assert verdict_line(findings).startswith("rate: no-go; 1 of 2")
    lines = summary(dataclasses.replace(doubted, case=case)).splitlines()
    assert lines[0].startswith("brief: NO-GO")


def test_a_stroke_not_to_be_trusted_stands_in_no_table_chart_or_picture(synthetic_result):
    doubted = tuple(
        distrusted(r, "the beat wanders") if r.quantity == "stroke" and r.value else r
        for r in synthetic_result.records
    )
    result = dataclasses.replace(synthetic_result, records=doubted)
    mine = [r for r in doubted if r.part == "tail"]
    strokes = [r for r in mine if r.quantity == "stroke" and r.value]
    assert strokes
    assert charts_numbers(mine, "stroke") == []
    assert len(charts_numbers(synthetic_result.records, "stroke")) == len(strokes)
    text = " ".join(summary(result).split())
    assert "none to trust: the beat wanders; computed 16 (6 to 43)" in text
    assert "stroke within" not in text
    assert "none to trust: the beat wanders" in str(response_table(mine, "mm"))
    names = [axes.get_ylabel() for axes in response(result, "tail").axes]
    assert names == ["Rate [Hz]", "Fold-back [deg]"]
