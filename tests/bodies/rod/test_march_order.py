"""A march with a paddle and its wake is of second order in the step."""

from pathlib import Path

import numpy as np
import pytest
from physics import Flight, X, observed_order

from simsoft.bodies.rod.equilibrium import make_stream, rest_branch
from simsoft.bodies.rod.setup import prepare_rod
from simsoft.case.read import load
from simsoft.lure.parts import Specimen, assemble, values_of

CASES = Path(__file__).parents[3] / "cases"
SPEED = 0.6
TIME = 0.4  # [s], two beats
TIP_AND_WAKE = [0, 1, 2, 12]


def shedding_paddle():
    """Return rod, stream and a flight in full beat, started with steps far shorter than usual."""
    lure = assemble(load(CASES / "paddle_100.toml"))
    strip = lure.strips[0]
    ready = prepare_rod(Specimen(strip, lure.water, values_of(strip), gravity=True, elements=5))
    stream = make_stream(SPEED, X)
    rest = rest_branch(ready.resting_rod(), np.array([SPEED]), X)[0].angle
    rod = ready.moving_rod(rest, stream, 6.0)
    flight = Flight(rod, stream, rest + 0.02, shed=True)
    flight.fly(2e-5, 10_000, 10_000)
    return flight


def test_paddle_with_its_wake_is_second_order_in_the_step():
    start = shedding_paddle()
    steps = np.array([1e-3, 5e-4, 2.5e-4, 1.25e-4])
    ends = []
    for step in steps:
        flight = Flight(start.rod, start.stream, np.zeros((5, 3)), shed=True)
        flight.quaternion[:], flight.motion[:] = start.quaternion, start.motion
        flight.wake[:] = start.wake
        count = round(TIME / step)
        ends.append(flight.fly(step, count, count)[-1][TIP_AND_WAKE])
    change = np.diff(np.array(ends), axis=0)
    tip = np.linalg.norm(change[:, :3], axis=1)
    assert observed_order(steps[:-1], tip) == pytest.approx(2.0, abs=0.15)
    assert observed_order(steps[:-1], change[:, 3]) == pytest.approx(2.0, abs=0.15)
