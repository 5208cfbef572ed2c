"""What differs between two runs: only what moved beyond a tenth of its band, told in words."""

import dataclasses
import json

import pytest

from simsoft.case.wishes import Clause
from simsoft.design.difference import run_difference
from simsoft.report.text.change import change_lines
from simsoft.report.text.difference import difference_json, difference_text
from simsoft.results.changes import RunChange
from simsoft.results.record import Record

TEXT = """title = "Demo"
[material]
durometer = "50 OO"
[[parts]]
name = "tail"
thickness = "2 mm"
[[scenarios]]
name = "stream"
speed = ["0.3 m/s"]
"""


def told(result, text=TEXT, brief=(), **changes):
    """Return a run with another text, brief, or values of quantities."""
    case = dataclasses.replace(result.case, text=text, brief=brief)
    records = tuple(
        dataclasses.replace(r, value=changes[r.quantity])
        if r.quantity in changes and isinstance(r.value, float)
        else r
        for r in result.records
    )
    return dataclasses.replace(result, case=case, records=records)


def test_a_run_does_not_differ_from_itself(synthetic_result):
    run = told(synthetic_result)
    assert not run_difference(run, run).is_one
    assert difference_text(run_difference(run, run), "mm").startswith("no difference")


@pytest.mark.parametrize(("moved", "counts"), [(0.019, False), (0.021, True)])
def test_a_number_counts_past_a_tenth_of_its_band(synthetic_result, moved, counts):
    before = told(synthetic_result)  # start speed 0.243 (0.16 to 0.36): a tenth is 0.02
    found = run_difference(before, told(synthetic_result, start_speed=0.243 + moved))
    assert [m.before.quantity for m in found.records] == (["start_speed"] if counts else [])
    if counts:
        assert found.records[0].share == pytest.approx(moved / 0.2)
        assert "start speed: 0.24 m/s (0.16 to 0.36) -> 0.26 m/s" in difference_text(found, "mm")


def test_keys_are_told_as_the_cases_have_them(synthetic_result):
    text = TEXT.replace("2 mm", "2.4 mm") + '[water]\ntemperature = "6 degC"\n'
    found = run_difference(told(synthetic_result), told(synthetic_result, text))
    assert {k: (a, b) for k, a, b in found.keys} == {
        "parts.tail.thickness": ("2 mm", "2.4 mm"),
        "water.temperature": (None, "6 degC"),
    }


def test_overrides_count_as_keys(synthetic_result):
    text = f"{TEXT}# set parts.tail.thickness=2.4 mm\n# set material.durometer=50 OO\n"
    found = run_difference(told(synthetic_result), told(synthetic_result, text))
    assert found.keys == (("parts.tail.thickness", "2 mm", "2.4 mm"),)


@pytest.mark.parametrize(
    ("before", "after", "mould"),
    [
        ('"2 mm"', '"2.4 mm"', ("parts.tail.thickness",)),
        ('"50 OO"', '"46 OO"', ()),
        ('"0.3 m/s"', '"0.4 m/s"', ()),
    ],
)
def test_only_a_moulded_size_asks_for_another_mould(synthetic_result, before, after, mould):
    found = run_difference(
        told(synthetic_result), told(synthetic_result, TEXT.replace(before, after))
    )
    assert len(found.keys) == 1
    assert found.mould == mould
    assert ("another one is needed" in difference_text(found, "mm")) == bool(mould)


def test_a_verdict_that_changed_comes_first(synthetic_result):
    brief = (Clause("slow start", "start_speed", "m/s", at_most=0.4, part="tail"),)
    before = told(synthetic_result, brief=brief)
    after = told(synthetic_result, brief=(dataclasses.replace(brief[0], at_most=0.3),))
    found = run_difference(before, after)
    assert found.verdicts == (("slow start", "go", "marginal"),)
    assert difference_text(found, "mm").startswith("verdict of slow start: go -> marginal")


def test_records_of_one_run_only_are_named(synthetic_result):
    fewer = told(synthetic_result)
    fewer = dataclasses.replace(
        fewer, records=tuple(r for r in fewer.records if r.quantity != "mass")
    )
    found = run_difference(told(synthetic_result), fewer)
    assert [(m.before.quantity, m.after) for m in found.records] == [("mass", None)]
    assert "Only before: stream tail mass" in difference_text(found, "mm")


def test_json_holds_all_of_it(synthetic_result):
    text = TEXT.replace("2 mm", "2.4 mm")
    found = run_difference(told(synthetic_result), told(synthetic_result, text, start_speed=0.3))
    body = json.loads(difference_json(found))
    assert body["keys"] == [{"key": "parts.tail.thickness", "before": "2 mm", "after": "2.4 mm"}]
    assert body["mould"] == ["parts.tail.thickness"]
    assert [(m["before"]["value"], m["after"]["value"]) for m in body["records"]] == [(0.243, 0.3)]


def test_text_fits_eighty_columns(synthetic_result):
    text = TEXT.replace("2 mm", "x" * 300)
    found = run_difference(told(synthetic_result), told(synthetic_result, text, start_speed=0.3))
    lines = difference_text(found, "mm").splitlines()
    assert all(len(line) <= 80 or "x" * 100 in line for line in lines)


def test_a_run_without_a_hook_is_not_said_to_clear_one(synthetic_result):
    text = TEXT.replace("2 mm", "2.4 mm")
    bare = difference_text(
        run_difference(told(synthetic_result), told(synthetic_result, text)), "mm"
    )
    assert "Hook: neither run has one." in bare
    gap = Record("stream", "tail", "hook_clearance", 0.003, 0.002, 0.004, "m", "shape")
    rigged = dataclasses.replace(synthetic_result, records=(*synthetic_result.records, gap))
    found = difference_text(run_difference(told(rigged), told(rigged, text)), "mm")
    assert "Hook: no clearance moved." in found


@pytest.mark.parametrize(("moved", "resolved"), [(0.001, False), (0.006, True)])
def test_a_clearance_that_moves_by_less_than_its_doubt_is_not_resolved(
    synthetic_result, moved, resolved
):
    def rigged(value):
        gap = Record("stream", "tail", "hook_clearance", value, 0.043, 0.052, "m", "shape")
        return dataclasses.replace(synthetic_result, records=(gap,))

    found = difference_text(run_difference(told(rigged(0.048)), told(rigged(0.048 - moved))), "mm")
    found = " ".join(found.split())
    assert "Hook: stream tail hook clearance: 48 mm (43 to 52) -> " in found
    assert ("not resolved" in found) == (not resolved)


@pytest.mark.parametrize(("width", "resolved"), [(0.005, True), (0.12, False)])
def test_a_change_whose_band_holds_none_is_not_resolved(width, resolved):
    start = Record("stream", "tail", "start_speed", 0.3, 0.2, 0.4, "m/s", "screening")
    lines = " ".join(change_lines([RunChange(start, start, -0.01, width, 0.3)], "mm"))
    assert ("not resolved" in lines) == (not resolved)


def test_other_water_is_told_in_degrees(synthetic_result):
    def cold(value):
        at = {"water_temperature": 279.15}
        start = Record("stream", "tail", "start_speed", value, 0.2, 0.4, "m/s", "screening", at)
        return dataclasses.replace(synthetic_result, records=(start,))

    found = difference_text(run_difference(told(cold(0.3)), told(cold(0.35))), "mm")
    assert "tail start speed in water of 6 degC: 0.30 m/s (0.20 to 0.40)" in found
