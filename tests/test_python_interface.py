"""The Python interface: what ``import simsoft`` offers works before a run and after it."""

import dataclasses
import json
from pathlib import Path

import pytest

import simsoft
from simsoft.cli import called
from simsoft.core.errors import InputError
from simsoft.results.record import select

STRIP = """
title = "Strip in still water"
[material]
durometer = "50 OO"
[[parts]]
name = "strip"
kind = "strip"
length = "40 mm"
width = "6 mm"
thickness = "2 mm"
[numerics]
elements = 4
[[scenarios]]
name = "tank"
kind = "hold"
"""

RIBBON = (
    STRIP.replace("Strip in still water", "Strip <b>").replace("2 mm", "1 mm")
    + """
[[scenarios]]
name = "stream"
kind = "retrieve"
speed = ["0.1 m/s", "0.2 m/s"]
"""
)


def test_a_case_is_read_from_text_again_after_a_run():
    """A room of the same name would have taken the function's place by then."""
    first = simsoft.run(simsoft.loads(STRIP), bands=False)
    again = simsoft.run(simsoft.loads(STRIP), bands=False)
    assert select(first.records, "natural_frequency")
    assert first.records == again.records


def test_a_case_is_read_from_a_file(tmp_path):
    path = tmp_path / "strip.toml"
    path.write_text(STRIP, encoding="utf-8")
    case = simsoft.load(path, ["parts.strip.thickness=1 mm"])
    assert case.parts[0].thickness.values == (1e-3, 1e-3)


def test_everything_offered_is_there():
    for name in simsoft.__all__:
        assert getattr(simsoft, name) is not None
    assert set(simsoft.COMMANDS) < set(simsoft.__all__)


@pytest.fixture(scope="module")
def ribbon():
    return simsoft.run(simsoft.loads(RIBBON), bands=False)


def test_records_are_looked_up_by_quantity_and_speed(ribbon):
    assert ribbon["fold_back", 0.2].at == {"speed": 0.2}
    assert ribbon["natural_frequency"].unit == "Hz"
    with pytest.raises(KeyError, match="there are natural_frequency"):
        ribbon["natural_frequenzy"]
    with pytest.raises(
        KeyError, match=r"fold_back at 0\.3 m/s; there are \[0\.0, 0\.1, 0\.2\] m/s"
    ):
        ribbon["fold_back", 0.3]


def test_tables_are_columns_of_one_length(ribbon):
    table = ribbon.table("fold_back", "verdict")
    assert list(table) == [
        *("scenario", "part", "speed", "fold_back", "fold_back_low", "fold_back_high"),
        *("verdict", "verdict_low", "verdict_high"),
    ]
    assert table["speed"] == [0.0, 0.1, 0.2]
    assert {len(column) for column in table.values()} == {3}


def test_a_result_is_one_line_and_one_page(ribbon):
    assert repr(ribbon).startswith("<Strip <b>: strip start_speed: ")
    assert "\n" not in repr(ribbon)
    page = ribbon._repr_html_()
    assert page.startswith("<b>Strip &lt;b&gt;</b><table><tr>")


def test_results_are_told_apart_by_what_they_are(ribbon):
    assert ribbon == ribbon
    assert ribbon != dataclasses.replace(ribbon)


def test_a_part_goes_through_single_steps():
    body = simsoft.rod(simsoft.loads(RIBBON), "strip", elements=6, gravity=False)
    assert simsoft.modes(body, 2).frequency[0] > 0.0
    slow, fast = simsoft.equilibria(body, [0.1, 0.3])
    assert slow.found
    assert fast.found
    assert simsoft.march(body, 0.1).frequency == 0.0
    with pytest.raises(InputError, match="tail: no such part; there are strip"):
        simsoft.rod(simsoft.loads(RIBBON), "tail")


def test_single_steps_lead_to_the_answer_of_a_run():
    """What a body ahead leaves of the stream counts in both."""
    case = simsoft.load(
        Path(__file__).parent.parent / "cases" / "paddle_100.toml",
        ['scenarios.retrieve.speed=["0.4 m/s"]'],
    )
    beat = simsoft.march(simsoft.rod(case, "tail"), 0.4)
    found = simsoft.run(case, bands=False)
    assert beat.frequency == pytest.approx(found["flap_frequency", 0.4].value, rel=1e-3)
    assert beat.stroke == pytest.approx(found["stroke", 0.4].value, rel=5e-3)


def test_commands_are_functions(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "strip.toml").write_text(STRIP, encoding="utf-8")
    found = simsoft.sweep("strip.toml", vary=["parts.strip.thickness=1:2:1 mm"], workers=1)
    assert found["simsoft"] == simsoft.__version__
    with pytest.raises(InputError, match="No such option"):
        simsoft.sweep("strip.toml", varied=3)
    with pytest.raises(InputError, match="missing"):
        simsoft.cad("missing.toml")
    with pytest.raises(InputError, match="no such command"):
        called.call("run", "strip.toml")


@pytest.mark.slow
def test_the_notebook_runs_from_top_to_bottom(monkeypatch, capsys):
    cases = Path(__file__).parent.parent / "cases"
    monkeypatch.chdir(cases)
    known = {}
    for cell in json.loads((cases / "tour.ipynb").read_text(encoding="utf-8"))["cells"]:
        if cell["cell_type"] == "code":
            exec("".join(cell["source"]), known)
    assert known["stiff"]["start_speed"].value > 3.0 * known["result"]["start_speed"].value
    assert known["found"]["designs"][0]["status"] == "done"
    assert "still water [Hz]" in capsys.readouterr().out
