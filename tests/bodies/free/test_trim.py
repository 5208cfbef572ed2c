"""Steady descents against hand calculations and against the march."""

import math

import numpy as np
import pytest
from free_bodies import CREATURE, STICK, alone, bare_base, free

from simsoft.bodies.free.equilibrium import trims
from simsoft.scenarios.free.fall import fall

GRAVITY = 9.80665


def test_hydrostatic_trim_by_hand():
    """A drag that acts at the centre of buoyancy leaves the righting moment alone: the centre of
    mass hangs straight below it, nose down by atan(ahead/below)."""
    mass, ahead, below = 0.02, 0.004, 0.003
    base = bare_base(mass, (2e-6, 4e-6, 4e-6), drag=0.0, weight=mass * GRAVITY,
                     buoyancy=0.5 * mass * GRAVITY, centre=(0.03 - ahead, 0.0, -below))  # fmt: skip
    middle = np.array([0.03, 0.0, 0.0])
    # elements that resist all directions alike, even about the centre of buoyancy
    arms = 0.02 * np.vstack([np.eye(3), -np.eye(3)])
    base = base._replace(
        buoyancy_at=middle,
        drag_at=middle + arms,
        drag_axes=np.tile(np.eye(3), (6, 1, 1)),
        drag=np.tile([0.0, 0.0, 0.4 / 6.0, 0.0, 0.0], (6, 1)),
        drag_scale=np.zeros(6),
        drag_law=np.zeros(6, dtype=np.int64),
    )
    lure = alone(base)
    found = trims(lure)
    stable = [t for t in found if t.stable]
    assert len(stable) == 1
    assert math.degrees(stable[0].attitude) == pytest.approx(
        math.degrees(math.atan2(ahead, below)), abs=0.01
    )
    assert stable[0].sink_rate == pytest.approx(math.sqrt(0.5 * mass * GRAVITY / 0.4), rel=1e-6)
    assert any(not t.stable for t in found)


@pytest.mark.parametrize("text", [STICK, CREATURE])
def test_the_march_ends_in_a_stable_trim(text):
    lure = free(text, elements=8)
    found = fall(lure)
    stable = [t for t in trims(lure, found.shape) if t.stable]
    nearest = min(stable, key=lambda t: abs(t.sink_rate - found.sink_rate))
    assert nearest.sink_rate == pytest.approx(found.sink_rate, rel=0.01)
    assert nearest.attitude == pytest.approx(found.final_attitude, abs=math.radians(1.0))


def test_a_nose_weight_makes_it_fall_nose_first():
    """The drag centre lies behind the centre of mass: a head of lead goes first."""
    headed = (
        STICK
        + """\
[[rig.weights]]
name = "head"
kind = "jig-head"
material = "lead"
mass = "1/8 oz"
position = ["-4 mm", "0 mm", "0 mm"]
"""
    )
    lure = free(headed, elements=6)
    steep = [t for t in trims(lure) if t.stable]
    plain = [t for t in trims(free(STICK, elements=6)) if t.stable]
    assert max(t.attitude for t in steep) > max(t.attitude for t in plain) + math.radians(20.0)
    assert min(t.sink_rate for t in steep) > 1.5 * plain[0].sink_rate
