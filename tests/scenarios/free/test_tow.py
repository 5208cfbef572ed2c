"""The towed free lure: line force, roll, and recoil against the held body."""

import math

import numpy as np
import pytest
from free_bodies import STICK, WORM, free, whole_of

from simsoft.case.model import Scenario
from simsoft.scenarios.free.ride import FreeDetail
from simsoft.scenarios.free.tow import held_base, righting_moment, tow, towed

ROUGH = FreeDetail(elements=5, step_factor=2.0)
KEEL = """\
[[rig.weights]]
name = "keel"
kind = "belly"
material = "lead"
mass = "4 g"
position = ["40 mm", "0 mm", "-4 mm"]
"""


def test_the_line_carries_the_weight_and_the_drag():
    lure = free(STICK + KEEL, elements=5)
    course = towed(lure, 0.05, 6.0, 2e-3)  # so slow that next to no lift carries it
    pull = course.line[-200:].mean(axis=0)
    net = (lure.mass - lure.displaced) * 9.80665
    assert pull[2] == pytest.approx(net, rel=0.1)
    assert pull[0] < 0.0
    assert course.position[-1] == pytest.approx([-0.05 * course.time[-1], 0.0, 0.0], abs=1e-9)
    assert abs(course.energy["residual"]) < 0.02
    assert course.momentum_residual < 0.02


def test_a_held_base_does_not_turn():
    course = towed(held_base(free(WORM, elements=5)), 0.4, 1.0, 2e-3)
    assert np.ptp(course.attitude) < 1e-4
    assert np.ptp(course.roll) < 1e-4


def test_weight_below_the_eye_rights_the_lure():
    """B z_b - W z_m by hand: a bare symmetric stick has none, 4 g of lead 4 mm low does."""
    keeled, bare = free(STICK + KEEL, elements=4), free(STICK, elements=4)
    gained = righting_moment(keeled) - righting_moment(bare)
    lead = 4e-3 * 9.80665 * 4e-3 * (1.0 - 998.2 / 11000.0)
    assert gained == pytest.approx(lead, rel=0.01)
    assert righting_moment(bare) < 0.0  # the hook's bend lies above the eye


def test_records_of_a_tow():
    scenario = Scenario("swim", "retrieve", (0.5,), free=True, duration=2.0)
    found = tow(whole_of(WORM + KEEL), None, scenario, ROUGH)
    own = found[""].answers
    for name in ("yaw_swing", "pitch_swing", "roll_swing", "wobble", "sway", "line_tension"):
        assert own[name, (("speed", 0.5),)].value >= 0.0
    assert found["tail"].answers["stroke", (("speed", 0.5), ("body", "free"))].value > 0.0
    assert ("recoil_ratio", (("speed", 0.5),)) in found["tail"].answers
    assert math.isfinite(own["righting_moment", ()].value)
    assert len(found[""].motions) == 1
