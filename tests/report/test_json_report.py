"""The JSON object other programs read."""

import dataclasses
import json
import math
from importlib import resources

import jsonschema
import pytest

from simsoft.case.model import Seen
from simsoft.case.read import load
from simsoft.design.stiffness import stiffness
from simsoft.engine.run import run
from simsoft.report.json import FORMAT, as_json
from simsoft.results.changes import RunChange
from simsoft.results.result import Look, RunResult

QUICK = {"paddle_100": ("scenarios.retrieve.march=false", "scenarios.retrieve.onset=false")}
KEYS = {"scenario", "part", "quantity", "value", "low", "high", "unit", "basis", "at"}


def refuse(token):
    raise AssertionError(f"{token} is not JSON")


def test_object_has_the_keys_of_the_contract(synthetic_result):
    body = json.loads(as_json(synthetic_result, "1.2.3"), parse_constant=refuse)
    keys = {"format", "simsoft", "case", "asked", "stiffness", "answer", "records", "warnings"}
    assert set(body) == keys
    assert body["simsoft"] == "1.2.3"
    assert body["case"] == synthetic_result.case.title
    assert body["warnings"] == list(synthetic_result.warnings)
    assert len(body["records"]) == len(synthetic_result.records)


def test_records_have_the_keys_of_the_contract(synthetic_result):
    for record in json.loads(as_json(synthetic_result, "1"))["records"]:
        assert set(record) - {"reason"} == KEYS
        assert ("reason" in record) == (record["value"] is None)


def test_values_are_si_and_vectors_are_lists(synthetic_result):
    records = json.loads(as_json(synthetic_result, "1"))["records"]
    tip = next(r for r in records if r["quantity"] == "tip_position")
    assert (tip["value"], tip["unit"], tip["at"]) == ([0.041, 0.0, -0.006], "m", {"speed": 0.5})


def test_a_number_that_is_not_finite_is_a_defect(synthetic_result):
    bad = dataclasses.replace(synthetic_result.records[0], at={"speed": float("nan")})
    with pytest.raises(ValueError, match="Out of range float values are not JSON compliant"):
        as_json(dataclasses.replace(synthetic_result, records=(bad,)), "1")


SCHEMA = json.loads(resources.files("simsoft.report").joinpath("records.schema.json").read_text())


def test_schema_is_one():
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    assert SCHEMA["properties"]["format"]["const"] == FORMAT


@pytest.mark.parametrize("name", ["paddle_100", "flatside_60", "finesse_90"])
def test_runs_are_as_the_schema_says(name):
    result = run(load(f"cases/{name}.toml", QUICK.get(name, ())), bands=False)
    jsonschema.validate(json.loads(as_json(result, "1")), SCHEMA)


def test_looks_and_changes_are_as_the_schema_says(synthetic_result):
    starts = [r for r in synthetic_result.records if r.quantity == "start_speed"]
    known = next(r for r in starts if r.value is not None)
    looks = (
        Look(Seen("start_speed", 0.31, 0.1), "tail", "used", 0.4, "", known, known),
        Look(Seen("flap_frequency", 9.0, 0.1, speed=0.5), "tail", "refused", None, "too far"),
        Look(Seen("verdict", None, 0.2, equals="kicks", speed=0.5), "tail", "widened", 0.01),
    )
    changes = (RunChange(known, known, math.log(0.8), 0.02, 0.3),)
    narrowed = (("durometer", 0.6),)
    result = dataclasses.replace(synthetic_result, looks=looks, narrowed=narrowed, changes=changes)
    body = json.loads(as_json(result, "1"))
    jsonschema.validate(body, SCHEMA)
    assert [look["taken"] for look in body["seen"]["looks"]] == ["used", "refused", "widened"]
    (change,) = body["changes"]
    assert change["ratio"] == pytest.approx(0.8)
    assert change["low"] < change["ratio"] < change["high"]
    for spoiled in ({"taken": "guessed"}, {"extra": 1}):
        bad = json.loads(as_json(result, "1"))
        bad["seen"]["looks"][0] |= spoiled
        with pytest.raises(jsonschema.ValidationError):
            jsonschema.validate(bad, SCHEMA)


@pytest.mark.slow
def test_a_run_with_looks_is_as_the_schema_says():
    looks = (
        "cases/paddle_100.toml",
        [*QUICK["paddle_100"], "scenarios.retrieve.onset=true"],
    )
    case = load(*looks)
    seen = (Seen("start_speed", 0.33, 0.1),)
    result = run(dataclasses.replace(case, seen=seen))
    body = json.loads(as_json(result, "1"))
    jsonschema.validate(body, SCHEMA)
    assert len(body["seen"]["looks"]) == 1


@pytest.mark.parametrize("name", ["paddle_100", "claw_95"])
def test_the_modulus_used_and_what_the_cold_does_to_it_are_told(name):
    case = load(f"cases/{name}.toml", ["water.temperature=5 degC"])
    body = json.loads(as_json(RunResult(case, ()), "1"))
    jsonschema.validate(body, SCHEMA)
    found, bends = body["stiffness"], stiffness(case)
    assert (found["modulus_low"], found["modulus"], found["modulus_high"]) == pytest.approx(
        (bends.modulus[1], bends.modulus[0], bends.modulus[2])
    )
    assert found["against_22_degc"] == pytest.approx(math.exp(17.0 * 0.025))
    assert found["against_22_degc_low"] < found["against_22_degc"] < found["against_22_degc_high"]
    assert any("kPa at 5 Hz" in sentence for sentence in body["asked"])


def test_schema_refuses_what_is_no_run(synthetic_result):
    body = json.loads(as_json(synthetic_result, "1"))
    jsonschema.validate(body, SCHEMA)
    record = next(r for r in body["records"] if r["value"] is None)
    del record["reason"]
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(body, SCHEMA)
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate({**json.loads(as_json(synthetic_result, "1")), "extra": 1}, SCHEMA)


def test_answer_is_what_the_text_says(synthetic_result):
    tail, leg = json.loads(as_json(synthetic_result, "1"))["answer"]
    assert (tail["scenario"], tail["parts"]) == ("stream", ["tail"])
    assert tail["answer"].startswith("stream: tail kicks from 0.24 m/s (0.16 to 0.36)")
    assert [m["about"] for m in tail["more"]] == ["How fast", "How sure", "In doubt"]
    assert leg["answer"].startswith("stream: leg does not beat at fishing speeds")
