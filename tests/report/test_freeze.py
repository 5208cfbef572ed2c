"""The freeze sheet: ready only where nothing that it looks at speaks against metal."""

import dataclasses
import json

import pytest
from pages import Page

from simsoft.case.wishes import Clause
from simsoft.cli.freeze import freeze_command
from simsoft.design.brief import GO, MARGINAL, Finding
from simsoft.design.freeze import meeting, open_reasons

STRIP = """
title = "Test strip"
[material]
durometer = "50 OO"
[[parts]]
name = "strip"
kind = "strip"
length = "40 mm"
width = "6 mm"
thickness = "2 mm"
[numerics]
elements = 6
[[scenarios]]
name = "tank"
kind = "hold"
"""

BRIEF = """
[[brief]]
name = "ring"
quantity = "natural_frequency"
at_least = "{least}"
at_most = "{most}"
"""


def sheet(folder, least, most, more="", **options):
    """Write a case and its sheet; return the text, the notes and the sheet."""
    path = folder / "strip.toml"
    path.write_text(STRIP + more + BRIEF.format(least=least, most=most))
    options = {"overrides": (), "samples": 8, "seed": 1, "workers": 1, "as_json": False} | options
    text, notes = freeze_command(str(path), folder / "out", None, **options)
    return text, notes, Page((folder / "out" / "freeze.html").read_text())


def test_a_brief_met_by_a_mile_is_ready(tmp_path):
    text, _, told = sheet(tmp_path, "0.01 Hz", "500 Hz")
    assert text.startswith("READY for metal: Test strip")
    assert told.text("h1").startswith("READY")
    assert "speaks against" in told.text("section", id="why")


def test_a_brief_that_is_missed_is_not_ready_and_says_why(tmp_path):
    text, _, told = sheet(tmp_path, "400 Hz", "500 Hz")
    assert text.startswith("NOT READY for metal")
    assert told.text("h1").startswith("NOT READY")
    why = told.text("section", id="why")
    assert "ring: no-go" in why
    assert "the worst corner fails" in why
    assert "one more resin loop can pay" in why


def test_json_holds_the_reasons_and_the_window(tmp_path):
    body = json.loads(sheet(tmp_path, "0.01 Hz", "500 Hz", as_json=True)[0])
    assert (body["ready"], body["reasons"]) == (True, [])
    assert [d["points"] for d in body["durometers"]] == [41, 44, 47, 50, 53, 56, 59]
    assert all(d["meets"] for d in body["durometers"])


def test_sizes_stand_beside_their_cavity(tmp_path):
    _, _, told = sheet(tmp_path, "0.01 Hz", "500 Hz", overrides=("shop.shrinkage=0.02",))
    cells = [e[2] for e in told.all("td")]
    place = cells.index("strip length")
    assert cells[place + 1 : place + 3] == ["40 mm", "40.8 mm"]


def test_a_size_along_the_length_says_where_and_an_angle_has_no_cavity(tmp_path):
    taper = "parts.strip.thickness={ at = [0, 1], value = ['2 mm', '1.5 mm'] }"
    _, _, told = sheet(tmp_path, "0.01 Hz", "500 Hz", overrides=(taper,))
    cells = [e[2] for e in told.all("td")]
    for name, size in (("strip thickness 1 at 0", "2 mm"), ("strip thickness 2 at 1", "1.5 mm")):
        place = cells.index(f"{name} of the length")
        assert cells[place + 1] == size
    assert not [cell for cell in cells if cell.startswith("parts.")]


STREAM = """
[[scenarios]]
name = "stream"
kind = "retrieve"
speed = "0.1 m/s"
onset = false
"""


def test_what_it_does_names_its_scenario_once(tmp_path):
    _, _, told = sheet(tmp_path, "0.01 Hz", "500 Hz", more=STREAM)
    does = told.text("section", id="action")
    assert "stream: strip" in does
    assert does.count("stream") == 1


WINDOW = ((41.0, False), (44.0, True), (47.0, True), (50.0, True), (53.0, False), (56.0, True))


@pytest.mark.parametrize(
    ("own", "ends"), [(47.0, (44.0, 50.0)), (56.0, (56.0, 56.0)), (53.0, None), (48.0, None)]
)
def test_window_is_the_stretch_about_the_cases_own(own, ends):
    assert meeting(WINDOW, own) == ends


def test_every_reason_counts_alone():
    clause = Clause("ring", "natural_frequency", "Hz", at_least=1.0)
    good = Finding(clause, GO, 1.0, 1.0, None)

    def known(passes, pays):
        corner = type("C", (), {"settings": (), "sample": type("S", (), {"passes": passes})})
        costs = type("K", (), {"loop_can_pay": pays})
        chance = type("P", (), {"value": 0.5})
        return type("F", (), {"corner": corner, "costs": costs, "chance": chance})

    assert open_reasons([good], known(True, False)) == []
    assert len(open_reasons([good], known(False, False))) == 1
    assert len(open_reasons([good], known(True, True))) == 1
    doubtful = dataclasses.replace(good, verdict=MARGINAL)
    assert open_reasons([doubtful], known(True, False)) == ["ring: marginal"]
