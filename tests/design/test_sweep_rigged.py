"""Sink rate, reach and hook clearance wanted, from the case file to run, sweep and pick."""

import json

import pytest
from click.testing import CliRunner
from sweep_cases import RIGGED

from simsoft.case.read import loads
from simsoft.cli.main import commands
from simsoft.design.scatter import scatter_of
from simsoft.design.sweep.task import BaseCase, Task, case_of
from simsoft.engine.run import run

SINK, REACH, CLEAR = (0.5, 0.65), 35.0, 3e-3
BRIEF = """
[[brief]]
quantity = "sink_rate"
at_least = "0.5 m/s"
at_most = "0.65 m/s"
[[brief]]
quantity = "cast_distance"
at_least = "35 m"
[[brief]]
quantity = "hook_clearance"
at_least = "3 mm"
"""
ON_THE_CAST = BRIEF + 'scenario = "throw"\n'
MASS = "rig.weights.head.mass=2,3.5,7 g"
SHANK = "rig.hook.shank=32,38 mm"


@pytest.fixture
def written(tmp_path):
    def write(text):
        path = tmp_path / "jig.toml"
        path.write_text(RIGGED + text)
        return str(path)

    return write


def answer(*words):
    found = CliRunner().invoke(commands, [*words, "--json", "--quiet"], standalone_mode=False)
    assert found.exit_code == 0, found.output
    return json.loads(found.output)


def numbers(case):
    """Return sink rate, reach in still air and closest approach, by hand from the records."""
    records = [r for r in run(case, bands=False).records if not {"attitude", "spot"} & set(r.at)]
    sink = next(r.value for r in records if r.quantity == "sink_rate")
    throws = [r for r in records if r.quantity == "cast_distance"]
    reach = next(r.value for r in throws if r.at["wind"] == 0.0)
    return sink, reach, min(r.value for r in records if r.quantity == "hook_clearance")


def meets(case):
    sink, reach, clear = numbers(case)
    return SINK[0] <= sink <= SINK[1] and reach >= REACH and clear >= CLEAR


@pytest.mark.slow
def test_a_run_judges_sink_rate_reach_and_clearance(written):
    found = answer("run", written(BRIEF))["brief"]
    sink, reach, clear = numbers(loads(RIGGED))
    assert [f["record"]["value"] for f in found] == pytest.approx([sink, reach, clear], rel=1e-6)
    for f, (low, high) in zip(found, (SINK, (REACH, 1e9), (CLEAR, 1e9)), strict=True):
        record = f["record"]
        inside = low <= record["low"] and record["high"] <= high
        assert f["verdict"] == ("go" if inside else "marginal")
        # the limit that counts is the nearer one in widths of the band towards it
        gaps = {
            (record["value"] - low) / (record["value"] - record["low"]): record["value"] - low,
            (high - record["value"]) / (record["high"] - record["value"]): high - record["value"],
        }
        assert f["margin"] == pytest.approx(gaps[min(gaps)])


@pytest.mark.slow
def test_a_sweep_finds_the_weight_and_the_hook_that_do_it(written, tmp_path):
    path = written(BRIEF)
    words = ("sweep", path, "--vary", MASS, "--vary", SHANK, "--workers", "1", "--confirm", "0")
    found = answer(*words, "--out", str(tmp_path / "out"))
    assert len(found["ranked"]) == 6
    for one in found["ranked"]:
        values = found["designs"][one["design"]]["values"]
        case = loads(RIGGED, overrides=[f"{path}={value}" for path, value in values.items()])
        assert one["meets"] == meets(case), values
    good = [found["designs"][r["design"]]["values"] for r in found["ranked"] if r["meets"]]
    assert good == [{"rig.weights.head.mass": "3.5 g", "rig.hook.shank": "32 mm"}]


@pytest.mark.slow
def test_a_pick_finds_the_weight(written, tmp_path):
    few = MASS.replace(",7", "")
    words = ("pick", written(ON_THE_CAST), "--vary", few, "--samples", "8", "--confirm", "0",
             "--workers", "1", "--out", str(tmp_path / "out"))  # fmt: skip
    found = answer(*words)["picks"][0]
    assert found["value"] == "3.5 g"
    assert [c["meets"] for c in found["candidates"]] == [False, True]


def test_what_scatters_of_a_whole_lure_moves_the_keys_of_its_case():
    import tomllib

    tables = tomllib.loads(RIGGED)
    case = loads(RIGGED)
    found = {item.name: item for item in scatter_of(case, tables)}
    assert {"body drag", "throw launch speed", "throw launch angle", "throw line drag"} <= set(
        found
    )
    base = BaseCase("jig.toml", RIGGED, tables)
    ends = {name: case_of(base, Task(item.write(item.at(0.9)))) for name, item in found.items()}
    assert ends["body drag"].body.drag_factor > 1.1
    assert ends["throw launch speed"].scenarios[2].cast.launch_speed > 28.0
    assert case_of(base, Task(found["body drag"].write(1.0))).body.drag_factor == 1.0
    assert not any("fall" in name for name in found)  # only a cast is thrown


def test_a_drag_factor_of_one_is_the_model_itself_and_more_slows_the_fall():
    def fallen(*changes):
        only = ["scenarios.swim.march=false", *changes]
        return numbers(loads(RIGGED, overrides=only))

    plain = fallen()
    assert fallen("body.drag_factor=1") == pytest.approx(plain, rel=1e-12)
    slower = fallen("body.drag_factor=1.5")
    assert slower[0] < 0.99 * plain[0]
    assert slower[1] < 0.99 * plain[1]
