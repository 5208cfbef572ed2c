"""The answer says what a beat rests on, part by part, in text, page and JSON."""

import json

import pytest

from simsoft.case.read import loads
from simsoft.case.starter import starter
from simsoft.design.evidence import PLATE, RODS, STATED, evidence
from simsoft.report.html.answers import answers
from simsoft.report.json import as_json
from simsoft.report.text.run import summary
from simsoft.report.text.sentences import answer_groups
from simsoft.results.record import Record
from simsoft.results.result import RunResult


def record(scenario, part, quantity, value, unit, basis, at=None):
    return Record(scenario, part, quantity, value, value, value, unit, basis, at or {})


def result_of(kind, *, model="rod", basis="time march to the limit cycle", value="still"):
    case = loads(starter(kind), "case.toml")
    name = case.parts[0].name
    records = (
        record("retrieve", name, "model", model, "", "width"),
        record("retrieve", name, "verdict", value, "", basis, at={"speed": 0.4}),
    )
    return RunResult(case, records)


def told(result):
    group = answer_groups(result)[0]
    return dict(group.more).get("Rests on")


@pytest.mark.parametrize("kind", ["ribbon", "curl-tail", "fork-tail", "claw", "leg"])
def test_every_kind_but_a_paddle_says_what_stands_behind_it(kind):
    result = result_of(kind)
    sentence = told(result)
    assert sentence.startswith(RODS[kind])
    assert sentence.endswith("no resolved run, no film.")
    assert sentence in " ".join(summary(result).split())
    assert sentence in str(answers(result, answer_groups(result)))
    assert sentence in json.dumps(json.loads(as_json(result, "1"))["answer"], ensure_ascii=False)


def test_a_wide_claw_rests_on_plates_and_one_that_sheds_on_what_the_case_states():
    assert told(result_of("claw", model="plate")).startswith(PLATE)
    shed = "time march to the limit cycle of the plate, moved by the wake it sheds, screening"
    assert told(result_of("claw", model="plate", basis=shed)).startswith(STATED)


def test_a_paddle_says_it_where_it_says_how_wide():
    basis = "time march to the limit cycle of a paddle, screening"
    assert told(result_of("paddle-tail", basis=basis)) is None


def test_what_was_not_asked_in_a_stream_rests_on_nothing():
    result = result_of("claw")
    assert evidence(result.case, (result.case.parts[0].name,), result.records[:1]) is None


def test_what_moves_at_no_speed_asked_does_not_beat_at_fishing_speeds():
    start = record("retrieve", "claw", "start_speed", 2.2, "m/s", "eigenvalues")
    result = result_of("claw")
    lead = answer_groups(RunResult(result.case, (*result.records, start)))[0].lead
    assert "does not beat at fishing speeds: still at 0.4 m/s. It starts to beat from 2" in lead
    shivers = result_of("paddle-tail", basis="time march of a paddle", value="shivers")
    lead = answer_groups(shivers)[0].lead
    assert "does not kick at fishing speeds: shivers at 0.4 m/s (strokes less than 15 %" in lead
