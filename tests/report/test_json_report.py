"""The JSON object other programs read."""

import dataclasses
import json

import pytest

from simsoft.report.json_report import as_json

KEYS = {"scenario", "part", "quantity", "value", "low", "high", "unit", "basis", "at"}


def refuse(token):
    raise AssertionError(f"{token} is not JSON")


def test_object_has_the_keys_of_the_contract(synthetic_result):
    body = json.loads(as_json(synthetic_result, "1.2.3"), parse_constant=refuse)
    assert set(body) == {"simsoft", "case", "records", "warnings"}
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
