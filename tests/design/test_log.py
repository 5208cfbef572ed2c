"""The versions in a folder: ancestry by digest, prediction of the very text, looks, money."""

import dataclasses

import pytest

from simsoft.aquarium.compare import Comparison
from simsoft.aquarium.files.history import measured_of
from simsoft.aquarium.files.lock import text_hash
from simsoft.aquarium.measured import Measured
from simsoft.case.read import load
from simsoft.case.rewrite import descendant
from simsoft.case.starter import starter
from simsoft.core.errors import InputError
from simsoft.design.log import LOOP, versions
from simsoft.report.text.log import log_text
from simsoft.report.text.tank import compared_json
from simsoft.results.hdf5 import write_run

LOOK = '[[seen]]\nquantity = "start_speed"\nvalue = "0.3 m/s"\nby = "eye"\n'


@pytest.fixture
def folder(tmp_path):
    first = f"{starter('strip')}\n"
    (tmp_path / "a.toml").write_text(first)
    thinner = descendant(first, ["parts.strip.thickness=1.5 mm"], "a.toml")
    (tmp_path / "b.toml").write_text(thinner)
    (tmp_path / "c.toml").write_text(descendant(thinner, ["material.durometer=40 OO"], "b.toml"))
    return tmp_path


def test_children_stand_below_their_parents_with_what_changed(folder):
    found, skipped = versions(folder)
    assert [(v.file, v.parent, v.depth) for v in found] == [
        ("a.toml", "", 0),
        ("b.toml", "a.toml", 1),
        ("c.toml", "b.toml", 2),
    ]
    assert found[1].changes == ("parts.strip.thickness=1.5 mm",)
    assert not skipped


def test_a_new_pour_needs_no_mould_and_a_new_size_does(folder):
    first, thinner, softer = versions(folder)[0]
    assert (first.asks, thinner.asks, softer.asks) == (LOOP, LOOP, "recipe, now")
    assert first.money == thinner.money == 1.5 + 6.0
    assert softer.money == 0.0


def test_what_a_mould_costs_is_told_with_its_unit_and_nothing_for_none(folder):
    told = " ".join(log_text(versions(folder)[0]).split())
    assert "asks for: one more mould (costs 7.5)" in told
    assert "(costs 0)" not in told
    assert "15 in all, hours priced in, in the unit of [shop]" in told


def test_a_parent_that_was_edited_since_is_named_as_lost(folder):
    (folder / "a.toml").write_text(f"{starter('strip')}\n# edited\n")
    found = {v.file: v for v in versions(folder)[0]}
    assert found["b.toml"].parent == ""
    assert found["b.toml"].origin == "a.toml"
    assert "from a.toml as it was then" in log_text([found["b.toml"]])


def test_a_prediction_belongs_to_the_very_text_that_was_run(folder, synthetic_result):
    for name in ("a", "b"):
        (folder / f"{name}_run").mkdir()
    result = dataclasses.replace(synthetic_result, case=load(folder / "a.toml"))
    write_run(result, folder / "a_run" / "results.h5")
    other = dataclasses.replace(synthetic_result, case=load(folder / "b.toml", ["title=x"]))
    write_run(other, folder / "b_run" / "results.h5")
    first, second, _ = versions(folder)[0]
    assert "start_speed" in {r.quantity for r in first.predicted}
    assert second.predicted == ()
    assert "no run of this text" in log_text([second])


def test_what_was_seen_is_told_and_what_cannot_be_read_is_left_out(tmp_path):
    (tmp_path / "a.toml").write_text(f"{starter('paddle-tail')}\n{LOOK}")
    (tmp_path / "wrong.toml").write_text("title = 1\n")
    found, skipped = versions(tmp_path)
    assert "seen: start speed 0.3 m/s (by eye, give or take 15 %)" in " ".join(
        log_text(found).split()
    )
    assert len(skipped) == 1
    assert skipped[0].startswith("wrong.toml: left out")


@pytest.mark.parametrize("name", ["", "nowhere"])
def test_a_folder_without_a_case_is_refused(tmp_path, name):
    with pytest.raises(InputError, match=r"no case|no such folder"):
        versions(tmp_path / name)


def test_measurements_stand_beside_the_predictions(folder):
    head = "run_id,quantity,value,u_68,unit,speed_mps,case_id,flags\n"
    (folder / "b_seen").mkdir()
    (folder / "b_seen" / "results.csv").write_text(
        f"{head}r1,flap_frequency,5.0,0.1,Hz,0.4,,\nr2,flap_frequency,5.2,0.1,Hz,0.4,,\n"
        "r3,stroke,0.02,0.001,m,0.4,,plane\nr4,sink_rate,0.2,0.01,m/s,,c,\n"
    )
    (folder / "results.csv").write_text(f"{head}r5,sink_rate,0.3,0.01,m/s,,,\n")
    case = load(folder / "a.toml")
    (folder / "any").mkdir()
    m = Measured("start_speed", 0.31, 0.02, "m/s", "ramp", 3)
    body = compared_json("0", "t", [Comparison(m, None, None, None, "agrees: x")], "",
                         text_hash(case.text))  # fmt: skip
    (folder / "any" / "comparison.json").write_text(body)
    found = versions(folder)[0]
    seen, notes = measured_of(folder, {v.file: v.case.text for v in found})
    told = " ".join(log_text(found, seen).split())
    assert "start speed 0.31 m/s (0.29 to 0.33), agrees" in told
    assert seen["b.toml"][0].record.value == pytest.approx(5.1)
    assert [one.record.quantity for one in seen["b.toml"]] == ["flap_frequency"]
    assert [one.record.quantity for one in seen["c.toml"]] == ["sink_rate"]
    assert notes == ["results.csv: 1 of 1 numbers are of no version told; name the folder after "
                     "the case, or give case_id"]  # fmt: skip


def test_a_damaged_result_is_left_out_with_its_reason(folder):
    (folder / "a").mkdir()
    (folder / "a" / "results.csv").write_text("quantity,value,unit\nstroke,x,mm\n")
    (folder / "a" / "comparison.json").write_text("[1")
    seen, notes = measured_of(folder, {"a.toml": ""})
    assert seen == {"a.toml": []}
    assert len(notes) == 1
    assert notes[0].startswith("a/results.csv: left out")
