"""What was seen of the bait in hand moves and narrows a run; a wrong look does neither."""

from __future__ import annotations

import dataclasses
import math

import pytest

from simsoft.case.observed import Seen
from simsoft.case.read import loads
from simsoft.engine.edge import WITH_BEAT
from simsoft.engine.run import run
from simsoft.engine.seen import BY_LOOK, with_seen
from simsoft.report.text.run import summary
from simsoft.results.record import Record, select
from simsoft.results.result import RunResult

TEXT = """
title = "Bait in hand"
[water]
temperature = "20 degC"
[material]
durometer = "48 OO"
[[parts]]
name = "tail"
kind = "paddle-tail"
length = "11 mm"
width = "4 mm"
thickness = "2 mm"
paddle_diameter = "15 mm"
paddle_thickness = "3 mm"
paddle_offset = "5 mm"
[[scenarios]]
name = "stream"
kind = "retrieve"
speed = ["0.2 m/s", "0.35 m/s"]
march = false
"""
LOOK = """[[seen]]
quantity = "start_speed"
value = "{value} m/s"
by = "eye"
"""


def start(result):
    return select(result.records, "start_speed")[0]


def width(record):
    return 0.5 * math.log(record.high / record.low)


def solved(case):
    """Return an invented run: start, beat and verdicts, moved by two inputs."""
    ratio = case.parts[0].thickness.values[0] / 2e-3
    records = (
        Record(
            "stream", "tail", "start_speed", 0.24 * ratio, 0.12 * ratio, 0.36 * ratio, "m/s", ""
        ),
        Record("stream", "tail", "flap_frequency", 3.0, 2.5, 3.6, "Hz", "", {"speed": 0.35}),
        Record("stream", "tail", "side_force", 2e-3, 1e-3, 3e-3, "N", "", {"speed": 0.35}),
        Record("stream", "tail", "edge_to_edge", 0.02, 0.018, 0.024, "m", "", {"speed": 0.35}),
        Record("stream", "tail", "verdict", "kicks", None, None, "", "", {"speed": 0.35}),
        Record("stream", "tail", "verdict", "still", None, None, "", "", {"speed": 0.2}),
        Record("stream", "tail", "drag", 0.02, 0.018, 0.022, "N", "", {"speed": 0.35}),
    )
    moves = {
        ("stream", "tail", "start_speed", ()): {"modulus": 0.2, "tail rim_force": -0.15},
        ("stream", "tail", "flap_frequency", (("speed", 0.35),)): {"modulus": 0.15},
    }
    return RunResult(case=case, records=records, moves=moves)


def looked(value, sets=(), text=TEXT, look=LOOK):
    case = loads(text + look.format(value=value), "bait.toml", sets)
    return with_seen(solved(case), solved)


def test_a_look_moves_and_narrows_the_start_and_what_shares_its_inputs():
    plain, given = solved(loads(TEXT)), looked(0.28)
    assert start(plain).value < start(given).value < 0.29
    assert width(start(given)) < 0.35 * width(start(plain))
    beats = [select(r.records, "flap_frequency")[0] for r in (plain, given)]
    assert beats[0].value < beats[1].value  # a stiffer pour beats faster
    drags = [select(r.records, "drag")[0] for r in (plain, given)]
    assert drags[0] == drags[1]
    assert BY_LOOK in start(given).basis
    assert given.looks[0].taken == "used"
    assert dict(given.narrowed)["own start_speed tail"] < 0.8


def test_the_look_is_of_the_file_and_not_of_the_change():
    given = looked(0.28, ["parts.tail.thickness=1.6 mm"])
    assert start(given).value == pytest.approx(0.8 * start(looked(0.28)).value, rel=0.02)


def test_verdicts_follow_the_start_that_was_seen():
    late = looked(0.38)
    assert [r.value for r in select(late.records, "verdict")] == ["still", "still"]
    assert select(late.records, "flap_frequency")[0].value is None
    early = looked(0.17)
    assert [r.value for r in select(early.records, "verdict")] == ["kicks", "kicks"]


def test_a_wrong_look_is_left_out_with_a_word():
    given = looked(1.5)
    assert given.looks[0].taken == "refused"
    assert start(given) == start(solved(loads(TEXT)))
    assert any("left out" in warning for warning in given.warnings)
    assert "LEFT OUT" in summary(given)


def test_a_strange_look_is_widened():
    used, strange = looked(0.3), looked(0.6)
    assert strange.looks[0].taken == "widened"
    assert width(start(strange)) > width(start(used))
    assert start(strange).low < 0.6 < start(strange).high


def test_two_looks_that_contradict_each_other_leave_a_band_that_holds_both():
    one = LOOK.format(value=0.2)
    given = looked(0.4, text=TEXT + one)
    assert [look.taken for look in given.looks] == ["used", "widened"]
    assert "contradicts" in given.looks[1].reason
    assert any("contradicts what else was seen" in warning for warning in given.warnings)
    assert start(given).low < 0.22
    assert start(given).high > 0.39


def test_nothing_beats_below_a_start_that_was_seen():
    late = looked(0.38)
    beat = [r for r in late.records if r.quantity in WITH_BEAT]
    assert {r.quantity for r in beat} == {"flap_frequency", "edge_to_edge", "side_force"}
    assert {r.value for r in beat} == {None}
    assert all("below the start speed" in r.reason for r in beat)


def test_kicking_at_a_speed_is_worth_less_than_a_start_and_more_than_nothing():
    look = '[[seen]]\nquantity = "verdict"\nequals = "{value}"\nspeed = "0.2 m/s"\nby = "eye"\n'
    plain = start(solved(loads(TEXT)))
    kicks, still = (start(looked(word, look=look)) for word in ("kicks", "still"))
    assert kicks.value < plain.value < still.value
    assert width(start(looked(0.2))) < width(kicks) < width(plain)


def test_no_scenario_that_answers_is_said():
    given = looked("0.2", look=LOOK.replace("start_speed", "sink_rate"))
    assert given.looks[0].taken == "refused"
    assert "no sink of the case answers it" in given.warnings[0]


def test_a_run_given_a_look_says_how_much_it_narrowed():
    case = loads(TEXT + LOOK.format(value=0.26), "bait.toml")
    plain, given = run(dataclasses.replace(case, seen=())), run(case)
    assert width(start(given)) < 0.4 * width(start(plain))
    text = summary(given)
    assert "seen: tail start speed 0.26 m/s (by eye, give or take 15 %)" in " ".join(text.split())
    assert "before" in text
    assert case.seen == (Seen("start_speed", 0.26, 0.15, "eye"),)
