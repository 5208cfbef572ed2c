"""The screening of paddles against the time march, and its own parts against each other."""

import dataclasses

import numpy as np
import pytest

from simsoft.case.read import loads
from simsoft.lure import assemble, values_of
from simsoft.solve.retrieve import Detail, retrieve
from simsoft.solve.screening import UNSURE, can_screen, screen_paddle

CASE = """
title = "Screened kicker"
[water]
temperature = "{water} degC"
[material]
durometer = "{shore} OO"
[[parts]]
name = "tail"
kind = "paddle-tail"
length = "{length} mm"
width = "5 mm"
thickness = "{thickness} mm"
paddle_diameter = "{disc} mm"
paddle_thickness = "3 mm"
paddle_angle = "{angle} deg"
[[scenarios]]
name = "retrieve"
kind = "retrieve"
speed = ["0.4 m/s", "0.6 m/s"]
"""
DEMO = {"water": 16, "shore": 46, "length": 11, "thickness": 2.4, "disc": 15, "angle": 88}
OTHERS = [
    {"water": 7, "shore": 55, "length": 15, "thickness": 2.4, "disc": 11, "angle": 92},
    {"water": 20, "shore": 43, "length": 12.5, "thickness": 3.3, "disc": 12.3, "angle": 86},
    {"water": 23, "shore": 42, "length": 12.6, "thickness": 2.3, "disc": 17, "angle": 90},
    {"water": 4, "shore": 54, "length": 11.5, "thickness": 2.0, "disc": 15.4, "angle": 80},
]


def both(setting):
    case = loads(CASE.format(**setting))
    lure = assemble(case)
    strip, scenario = lure.strips[0], case.scenarios[0]
    values = values_of(strip)
    assert can_screen(strip, scenario)
    quick = screen_paddle(strip, lure.water, values, scenario)
    whole = retrieve(strip, lure.water, values, scenario, Detail(pictures=False))
    return quick.answers, whole.answers


def check(setting):
    quick, whole = both(setting)
    start = whole["start_speed", ()].value
    assert quick["start_speed", ()].value == pytest.approx(start, rel=0.10)
    compared = 0
    for (quantity, at), answer in quick.items():
        other = whole.get((quantity, at))
        if other is None or not isinstance(other.value, float) or answer.value is None:
            continue
        if dict(at).get("speed", start) > 1.5 * start:
            continue
        above = dict(at).get("speed", start) > start
        tolerance = (0.35 if above else 0.20) if quantity == "stroke" else 0.10
        assert answer.value == pytest.approx(other.value, rel=tolerance), (quantity, at)
        compared += 1
    assert compared >= 3


def test_the_demo_paddle_agrees_with_the_march():
    check(DEMO)


@pytest.mark.slow
@pytest.mark.parametrize("setting", OTHERS, ids=lambda s: f"{s['thickness']} mm")
def test_other_paddles_agree_with_the_march(setting):
    check(setting)


def screened(setting, **changed):
    case = loads(CASE.format(**(setting | changed)))
    lure = assemble(case)
    scenario = dataclasses.replace(case.scenarios[0], speeds=(0.3, 0.4, 0.6))
    return screen_paddle(lure.strips[0], lure.water, values_of(lure.strips[0]), scenario).answers


def test_the_stroke_at_the_start_is_the_stroke_that_counts_as_a_start():
    found = screened(DEMO)
    start = found["start_speed", ()].value
    case = loads(CASE.format(**DEMO))
    lure = assemble(case)
    scenario = dataclasses.replace(case.scenarios[0], speeds=(start,))
    again = screen_paddle(lure.strips[0], lure.water, values_of(lure.strips[0]), scenario).answers
    assert again["stroke", (("speed", start),)].value == pytest.approx(0.15 * 15e-3, rel=0.021)


def test_thicker_and_colder_start_later():
    base = screened(DEMO)["start_speed", ()].value
    assert screened(DEMO, thickness=2.8)["start_speed", ()].value > 1.1 * base
    assert screened(DEMO, water=4)["start_speed", ()].value > 1.02 * base


def test_a_flutter_of_its_own_has_no_number():
    case = loads(CASE.format(**DEMO))
    lure = assemble(case)
    scenario = dataclasses.replace(case.scenarios[0], speeds=(0.4, 1.2))
    found = screen_paddle(lure.strips[0], lure.water, values_of(lure.strips[0]), scenario).answers
    assert found["stroke", (("speed", 0.4),)].value > 0.0
    fast = found["stroke", (("speed", 1.2),)]
    assert fast.value is None
    assert fast.reason == UNSURE


def test_the_same_paddle_gives_the_same_bits():
    one, two = screened(DEMO), screened(DEMO)
    assert {k: a.value for k, a in one.items()} == {k: a.value for k, a in two.items()}
    assert all(np.isfinite(a.value) for a in one.values() if isinstance(a.value, float))
