"""Flight with quadratic drag against closed forms, quadrature and another integrator."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad, solve_ivp
from scipy.optimize import brentq

from simsoft.core.errors import SolveError
from simsoft.lure.parts import GRAVITY
from simsoft.scenarios.cast.flight import Throws, fly, throw_path

DENSE = 1.225


def one(mass=0.01, area=3e-4, speed=28.0, angle=40.0, **more):
    return fly(Throws(mass, area, speed, math.radians(angle), **more))


def test_without_drag_the_range_is_that_of_the_parabola():
    v, a, h = 30.0, math.radians(40.0), 2.0
    up = v * math.sin(a)
    time = (up + math.sqrt(up**2 + 2.0 * GRAVITY * h)) / GRAVITY
    found = fly(Throws(0.01, 0.0, v, a, h))
    assert found.distance[0] == pytest.approx(v * math.cos(a) * time, rel=1e-9)
    assert found.time[0] == pytest.approx(time, rel=1e-9)
    assert found.apex[0] == pytest.approx(h + up**2 / (2.0 * GRAVITY), rel=1e-3)


def test_a_fall_with_drag_is_the_closed_form():
    """z = v_t^2/g ln cosh(g t/v_t), speed v_t sqrt(1 - exp(-2 g z/v_t^2))."""
    mass, area, height = 0.01, 1e-3, 30.0
    terminal = math.sqrt(2.0 * mass * GRAVITY / (DENSE * area))
    found = fly(Throws(mass, area, 1e-9, 0.0, height))
    sunk = GRAVITY * height / terminal**2
    assert found.time[0] == pytest.approx(terminal / GRAVITY * math.acosh(math.exp(sunk)), rel=1e-7)
    speed = terminal * math.sqrt(1.0 - math.exp(-2.0 * sunk))
    assert found.speed[0] == pytest.approx(speed, rel=1e-7)


def test_a_throw_straight_up_is_the_closed_form():
    """Height v_t^2/(2 g) ln(1 + v0^2/v_t^2); back with v0/sqrt(1 + v0^2/v_t^2)."""
    mass, area, v = 0.01, 1e-3, 25.0
    terminal = math.sqrt(2.0 * mass * GRAVITY / (DENSE * area))
    found = fly(Throws(mass, area, v, math.pi / 2, 1e-6))
    top = terminal**2 / (2.0 * GRAVITY) * math.log1p(v**2 / terminal**2)
    assert found.apex[0] == pytest.approx(top, rel=2e-3)
    assert found.speed[0] == pytest.approx(v / math.sqrt(1.0 + v**2 / terminal**2), rel=1e-6)
    assert found.distance[0] == pytest.approx(0.0, abs=1e-6)


def hodograph_range(beta, speed, angle, height):
    """Range [m] by quadrature over the slope angle (Parker 1977, Am. J. Phys. 45:606).

    u^-2 = u0^-2 + 2 k/g (F(a0) - F(a)) with u = v cos a and dF = da/cos^3 a.
    """
    k = 0.5 * DENSE / beta

    def primitive(a):
        return 0.5 * (math.tan(a) / math.cos(a) + math.asinh(math.tan(a)))

    start = 1.0 / (speed * math.cos(angle)) ** 2

    def squared(a):
        return 1.0 / (start + 2.0 * k / GRAVITY * (primitive(angle) - primitive(a)))

    def travelled(a, rise):
        def slope(b):
            return squared(b) / math.cos(b) ** 2 / GRAVITY * (math.tan(b) if rise else 1.0)

        return quad(slope, a, angle, epsabs=1e-12, epsrel=1e-12, limit=200)[0]

    last = brentq(lambda a: travelled(a, True) + height, -math.pi / 2 + 1e-3, -1e-6, xtol=1e-13)
    return travelled(last, False)


@pytest.mark.parametrize(
    ("beta", "speed", "angle"), [(5.0, 20.0, 40.0), (20.0, 30.0, 30.0), (80.0, 35.0, 45.0)]
)
def test_ranges_are_those_of_the_hodograph(beta, speed, angle):
    expected = hodograph_range(beta, speed, math.radians(angle), 2.0)
    found = fly(Throws(beta, 1.0, speed, math.radians(angle), 2.0))
    assert found.distance[0] == pytest.approx(expected, rel=1e-6)


@settings(deadline=None, max_examples=15)
@given(
    st.floats(3.0, 100.0), st.floats(15.0, 40.0), st.floats(0.1, 1.2),
    st.floats(-10.0, 10.0), st.floats(-10.0, 10.0), st.floats(0.0, 5e-5),
)  # fmt: skip
def test_winds_and_line_agree_with_another_integrator(beta, speed, angle, along, across, line):
    mass = 0.01
    throws = Throws(mass, mass / beta, speed, angle, 2.0, along, across, DENSE, line)
    wind = np.array([along, across, 0.0])

    def rate(_, state):
        v = state[3:]
        r = v - wind
        pull = 0.5 * DENSE / beta * np.linalg.norm(r) * r + line / mass * np.linalg.norm(v) * v
        return [*v, *(-pull - np.array([0.0, 0.0, GRAVITY]))]

    def water(_, state):
        return state[2]

    water.terminal, water.direction = True, -1.0
    v0 = speed * np.array([math.cos(angle), 0.0, math.sin(angle)])
    other = solve_ivp(
        rate, (0.0, 60.0), [0.0, 0.0, 2.0, *v0], method="LSODA", events=water,
        rtol=1e-10, atol=1e-11,
    )  # fmt: skip
    found = fly(throws)
    end = other.y_events[0][0]
    assert found.distance[0] == pytest.approx(end[0], abs=1e-4)
    assert found.drift[0] == pytest.approx(end[1], abs=1e-4)
    assert found.time[0] == pytest.approx(other.t_events[0][0], abs=1e-5)


def test_many_throws_are_the_same_as_one_by_one():
    beta = np.linspace(4.0, 90.0, 230)
    together = fly(Throws(beta, 1.0, 28.0, 0.7, wind_x=-5.0))
    for i in (0, 99, 100, 229):
        alone = fly(Throws(beta[i], 1.0, 28.0, 0.7, wind_x=-5.0))
        assert together.distance[i] == pytest.approx(alone.distance[0], rel=1e-7)


def test_more_drag_never_flies_further_and_head_wind_shortens():
    beta = np.linspace(4.0, 90.0, 40)
    still = fly(Throws(beta, 1.0, 28.0, 0.7)).distance
    assert (np.diff(still) > 0.0).all()
    assert (fly(Throws(beta, 1.0, 28.0, 0.7, wind_x=-5.0)).distance < still).all()
    assert (fly(Throws(beta, 1.0, 28.0, 0.7, line_drag=1e-2)).distance < still).all()


def test_wind_from_the_left_drifts_to_the_right_and_mirrors():
    left, right = one(wind_y=-5.0), one(wind_y=5.0)
    assert left.drift[0] < 0.0 < right.drift[0]
    assert left.drift[0] == pytest.approx(-right.drift[0])
    assert left.distance[0] == pytest.approx(right.distance[0])


def test_a_path_runs_from_release_to_water():
    throws = Throws(np.array([0.01, 0.02]), 3e-4, 28.0, 0.7, 2.0, 0.0, -3.0)
    landed = fly(throws)
    line = throw_path(throws, landed, 1)
    assert line[0] == pytest.approx([0.0, 0.0, 2.0])
    assert line[-1] == pytest.approx([landed.distance[1], landed.drift[1], 0.0], abs=1e-6)
    assert line[:, 2].max() <= landed.apex[1] + 1e-6


def test_what_does_not_come_down_is_refused():
    with pytest.raises(SolveError, match="flight could not be solved"):
        fly(Throws(1.0, 0.0, 1000.0, math.pi / 2))
