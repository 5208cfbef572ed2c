"""The screening of paddles against the time march, and its own parts against each other."""

import dataclasses
import math

import numpy as np
import pytest
from scipy.stats import qmc

from simsoft.case.read import loads
from simsoft.lure.parts import assemble, values_of
from simsoft.scenarios.retrieve.driver import retrieve
from simsoft.scenarios.retrieve.marcher import Detail
from simsoft.scenarios.screening import BEYOND, MARCH_IT, can_screen, screen_paddle

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
paddle_offset = "{offset} mm"
[[scenarios]]
name = "retrieve"
kind = "retrieve"
speed = ["0.3 m/s", "0.6 m/s", "0.8 m/s"]
"""
NAMES = ("water", "shore", "length", "thickness", "disc", "angle", "offset")
DEMO = dict(zip(NAMES, (16, 46, 11, 2.0, 15, 88, 5), strict=True))
LEAST = (4, 36, 10, 1.6, 11, 78, 0)
MOST = (24, 60, 16, 3.0, 17, 95, 8)
DESIGNS = 32


def both(setting):
    case = loads(CASE.format(**setting))
    lure = assemble(case)
    strip, scenario = lure.strips[0], case.scenarios[0]
    values = values_of(strip)
    assert can_screen(strip, scenario)
    quick = screen_paddle(strip, lure.water, values, scenario)
    whole = retrieve(strip, lure.water, values, scenario, Detail(pictures=False))
    return quick.answers, whole.answers


def apart(setting):
    """Return the relative errors of the start, infinite of one alone, and of rates up to 1.5 it."""
    quick, whole = both(setting)
    start, found = whole["start_speed", ()].value, quick["start_speed", ()].value
    if start is None or found is None:
        return (None if start is found else math.inf), []
    rates = []
    for (quantity, at), answer in quick.items():
        other = whole.get((quantity, at))
        if quantity == "flap_frequency" and answer.value is not None and other is not None:
            rates.append(answer.value / other.value - 1.0)
        if quantity == "fold_back" and answer.value is not None:
            assert answer.value == pytest.approx(other.value, abs=0.3)
    return found / start - 1.0, rates


def test_the_demo_paddle_agrees_with_the_march():
    start, rates = apart(DEMO)
    assert abs(start) < 0.01
    assert len(rates) == 1
    assert abs(rates[0]) < 0.12


@pytest.mark.slow
def test_paddles_of_all_kinds_agree_with_the_march():
    """Sobol sample of offsets, stems, paddles, angles, durometers and waters."""
    rows = qmc.scale(qmc.Sobol(len(NAMES), rng=3).random(DESIGNS), LEAST, MOST)
    found = [apart(dict(zip(NAMES, np.round(row, 2), strict=True))) for row in rows]
    starts = [abs(start) for start, _ in found if start is not None]
    rates = [abs(rate) for _, some in found for rate in some]
    assert len(starts) > 0.9 * DESIGNS
    # wanted: 10 % in nine of ten; what the basis says of a start holds as often
    assert np.mean([error < 0.03 for error in starts]) >= 0.9
    assert len(rates) > 10
    assert max(rates) < 0.12


def screened(setting, **changed):
    case = loads(CASE.format(**(setting | changed)))
    lure = assemble(case)
    scenario = dataclasses.replace(case.scenarios[0], speeds=(0.3, 0.4, 0.6))
    return screen_paddle(lure.strips[0], lure.water, values_of(lure.strips[0]), scenario).answers


def test_a_paddle_starts_the_earlier_the_deeper_it_hangs():
    centred, shallow, deep = (screened(DEMO, offset=o)["start_speed", ()].value for o in (0, 3, 6))
    assert deep < 0.8 * shallow
    assert shallow < 0.9 * centred


def test_thicker_and_colder_start_later():
    base = screened(DEMO)["start_speed", ()].value
    assert screened(DEMO, thickness=2.8)["start_speed", ()].value > 1.1 * base
    assert screened(DEMO, water=4)["start_speed", ()].value > 1.02 * base


def test_what_only_a_march_tells_has_no_number():
    case = loads(CASE.format(**DEMO))
    lure = assemble(case)
    scenario = dataclasses.replace(case.scenarios[0], speeds=(0.15, 0.3, 1.2))
    found = screen_paddle(lure.strips[0], lure.water, values_of(lure.strips[0]), scenario).answers
    still, beats, fast = ((("speed", speed),) for speed in (0.15, 0.3, 1.2))
    assert found["stroke", still].value == 0.0
    assert found["verdict", still].value == "still"
    for quantity in ("stroke", "fold_back", "verdict"):
        assert found[quantity, beats].value is None
        assert found[quantity, beats].reason == MARCH_IT
    assert found["flap_frequency", beats].value > 3.0
    assert found["flap_frequency", fast].value is None
    assert found["flap_frequency", fast].reason == BEYOND


def test_the_same_paddle_gives_the_same_bits():
    one, two = screened(DEMO), screened(DEMO)
    assert {k: a.value for k, a in one.items()} == {k: a.value for k, a in two.items()}
    assert all(np.isfinite(a.value) for a in one.values() if isinstance(a.value, float))
