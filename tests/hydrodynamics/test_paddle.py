"""Plate load and wake state against plain vector algebra and closed forms."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from physics import rotation, skew
from scipy.integrate import solve_ivp

from simsoft.hydrodynamics.paddle import (
    SMALLEST_SINE,
    advance_wake,
    paddle_load,
    paddle_motion,
    shedding_rate,
    step_wake,
)
from simsoft.mechanics.rod import Paddle

component = st.floats(-2.0, 2.0, allow_nan=False)
vector = st.tuples(component, component, component)
moving = vector.filter(lambda v: np.linalg.norm(v) > 1e-3)

AREA, WIDTH, DENSITY = 1.8e-4, 0.015, 1000.0
C_NORMAL, C_MOMENT, K_CP = 1.17, 0.15, 0.8


def plate(**changes):
    fields = {
        "centre": np.array([0.001, -0.002, 0.0015]),
        "axes": rotation([0.3, 0.0, 0.0]),
        "area": AREA,
        "width": WIDTH,
        "added_mass": 1.1e-3,
        "added_rotary": np.array([8.0e-9, 6.0e-9]),
        "steady_turning": np.zeros(2),
        "normal_force": C_NORMAL * 0.5 * DENSITY,
        "centre_of_pressure": K_CP,
        "rotary_damping": 0.5,
        "friction": 2.0e-3,
        "munk": 0.6,
        "strouhal": 0.135,
        "wake_growth": 0.3,
        "wake_moment": C_MOMENT,
        "half_density": 0.5 * DENSITY,
        "weight": np.zeros(3),
    }
    return Paddle(**(fields | changes))


def plain(**changes):
    """Return a plate whose axes are those of the tip and whose centre is the tip."""
    return plate(centre=np.zeros(3), axes=np.eye(3), **changes)


def load(paddle, motion, wake=0.0):
    wrench = np.zeros(6)
    paddle_load(paddle, np.ascontiguousarray(motion, dtype=float), wake, wrench)
    return wrench


def expected_load(p, velocity, spin, wake):
    """Return the wrench about the tip in tip axes, from vectors at the plate's centre."""
    kick, upright, normal = p.axes.T
    v = np.array(velocity) + np.cross(spin, p.centre)
    w = np.array(spin)
    speed = np.linalg.norm(v)
    through = (v @ normal) * normal
    inside = v - through
    momentum = p.added_mass * through
    turning = p.added_rotary[0] * (w @ kick) * kick + p.added_rotary[1] * (w @ upright) * upright
    force = -p.munk * np.cross(w, momentum) - p.friction * speed * inside
    torque = -np.cross(w, turning) - p.munk * np.cross(v, momentum)
    torque = torque - p.steady_turning[0] * kick - p.steady_turning[1] * upright
    if speed > 0.0:
        sine = np.linalg.norm(through) / speed
        coefficient = C_NORMAL * (4.0 + math.pi) * sine / (4.0 + math.pi * sine)
        side = math.copysign(1.0, v @ normal)
        push = -0.5 * DENSITY * p.area * speed**2 * coefficient * side * normal
        ahead = K_CP * 0.75 * WIDTH / (4.0 + math.pi * sine) * inside / speed
        moment = 0.5 * DENSITY * speed**2 * sine * side * p.area * WIDTH * C_MOMENT
        force = force + push
        torque = torque + np.cross(ahead, push) + 0.5 * wake * moment * upright
    turn = (w @ kick) * kick + (w @ upright) * upright
    tilt = math.hypot(np.linalg.norm(through), 0.25 * WIDTH * np.linalg.norm(turn))
    torque = torque - 2.0 * p.rotary_damping * p.normal_force * p.area * WIDTH**2 / 16 * tilt * turn
    return np.concatenate([torque + np.cross(p.centre, force), force])


@settings(deadline=None, max_examples=200)
@given(vector, vector, component)
def test_load_is_the_vector_form(velocity, spin, wake):
    p, motion = plate(steady_turning=np.array([2e-5, -1e-5])), np.zeros(6)
    paddle_motion(p, np.array(velocity), np.array(spin), motion)
    expected = expected_load(p, velocity, np.array(spin), wake)
    scale = np.abs(expected).max() + 1e-12
    assert load(p, motion, wake) == pytest.approx(expected, rel=1e-9, abs=1e-9 * scale)


@settings(deadline=None)
@given(vector, vector)
def test_motion_is_that_of_the_centre_in_plate_axes(velocity, spin):
    p, motion = plate(), np.zeros(6)
    paddle_motion(p, np.array(velocity), np.array(spin), motion)
    carried = np.array(velocity) + skew(spin) @ p.centre
    assert p.axes @ motion[:3] == pytest.approx(carried, abs=1e-12)
    assert p.axes @ motion[3:] == pytest.approx(np.array(spin), abs=1e-12)


@settings(deadline=None)
@given(moving, vector)
def test_drag_forces_never_drive_the_plate(velocity, spin):
    """Without wake, suction and centre-of-pressure travel every part dissipates."""
    p = plain(centre_of_pressure=0.0, munk=0.0, wake_moment=0.0, added_rotary=np.zeros(2))
    motion = np.array([*velocity, *spin])
    wrench = load(p, motion)
    assert wrench[3:] @ motion[:3] + wrench[:3] @ motion[3:] <= 0.0


@settings(deadline=None)
@given(vector, vector)
def test_whole_munk_and_suction_do_no_work(velocity, spin):
    p = plain(munk=1.0, normal_force=0.0, friction=0.0, rotary_damping=0.0, wake_moment=0.0)
    motion = np.array([*velocity, *spin])
    wrench = load(p, motion)
    power = wrench[3:] @ motion[:3] + wrench[:3] @ motion[3:]
    assert abs(power) <= 1e-12 * (np.abs(wrench) @ np.abs(motion[[3, 4, 5, 0, 1, 2]]) + 1e-30)


def test_free_plate_in_ideal_still_water_keeps_its_kinetic_energy():
    """Kirchhoff's equations with solid and added inertia, integrated for many turns."""
    p = plain(munk=1.0, normal_force=0.0, friction=0.0, rotary_damping=0.0, wake_moment=0.0)
    solid, own = 6e-4, np.array([9e-9, 8e-9, 1.5e-8])
    linear = solid + np.array([0.0, 0.0, p.added_mass])
    rotary = own + np.array([*p.added_rotary, 0.0])

    def rate(_, state):
        v, w = state[:3], state[3:]
        wrench = load(p, state)
        force = wrench[3:] - np.cross(w, solid * v)
        torque = wrench[:3] - np.cross(w, own * w)
        return np.concatenate([force / linear, torque / rotary])

    start = np.array([0.2, -0.1, 0.15, 9.0, -14.0, 5.0])
    end = solve_ivp(rate, (0.0, 3.0), start, rtol=1e-10, atol=1e-12).y

    def energy(state):
        return 0.5 * (linear @ state[:3] ** 2 + rotary @ state[3:] ** 2)

    assert np.abs(end[:, -1] - end[:, 0]).max() > 0.1
    assert energy(end[:, -1]) == pytest.approx(energy(start), rel=1e-7)


def test_one_without_the_other_would_feed_energy_in():
    """The reason why turning moment and suction share one factor."""
    p = plain(munk=1.0, normal_force=0.0, friction=0.0, rotary_damping=0.0, wake_moment=0.0)
    motion = np.array([0.3, 0.1, 0.2, 4.0, -5.0, 1.0])
    wrench = load(p, motion)
    assert abs(wrench[:3] @ motion[3:]) > 1e-5
    assert wrench[:3] @ motion[3:] == pytest.approx(-wrench[3:] @ motion[:3], rel=1e-12)


def test_square_on_plate_has_the_stated_coefficient():
    wrench = load(plain(), [0.0, 0.0, -0.8, 0.0, 0.0, 0.0])
    assert wrench[5] == pytest.approx(0.5 * DENSITY * 0.8**2 * AREA * C_NORMAL)
    assert wrench[[0, 1, 2, 3, 4]] == pytest.approx(np.zeros(5), abs=1e-15)


@pytest.mark.parametrize("degrees", [5.0, 30.0, 60.0, 85.0])
def test_centre_of_pressure_is_on_the_leading_side_and_restores(degrees):
    """Rayleigh 1876 in the form of the module: x/D = k (3/4) cos a/(4 + pi sin a)."""
    a = math.radians(degrees)
    p = plain(friction=0.0, munk=0.0)
    wrench = load(p, [0.6 * math.cos(a), 0.0, 0.6 * math.sin(a), 0.0, 0.0, 0.0])
    reach = -wrench[1] / wrench[5]
    assert reach / WIDTH == pytest.approx(K_CP * 0.75 * math.cos(a) / (4 + math.pi * math.sin(a)))


# --- wake state ------------------------------------------------------------------------------


def wake_history(growth, rate, target, step, steps, start=(0.1, 0.0)):
    q, q_rate = start
    result = np.zeros(steps)
    for i in range(steps):
        ends = [
            (rate, target(t) if callable(target) else target) for t in (i * step, (i + 1) * step)
        ]
        q, q_rate = advance_wake(q, q_rate, growth, *ends, step)
        result[i] = q
    return result


def test_free_wake_settles_at_amplitude_two_and_the_stated_rate():
    """van der Pol, small eps: amplitude 2, W (1 - eps^2/16) (Nayfeh & Mook 1979, sec. 3.2)."""
    growth, rate, step = 0.05, 7.0, 2e-3
    q = wake_history(growth, rate, 0.0, step, 60_000)[-20_000:]
    up = np.nonzero((q[:-1] < 0.0) & (q[1:] >= 0.0))[0]
    crossing = up - q[up] / (q[up + 1] - q[up])
    found = 2.0 * math.pi / (np.diff(crossing).mean() * step)
    assert q.max() == pytest.approx(2.0, rel=5e-3)
    assert found == pytest.approx(rate * (1.0 - growth**2 / 16.0), rel=1e-4)


def test_wake_step_is_fourth_order():
    growth, rate, end = 0.3, 5.0, 2.0

    def slope(_, y):
        return [y[1], growth * rate * (1 - y[0] ** 2) * y[1] - rate**2 * (y[0] - 0.4)]

    truth = solve_ivp(slope, (0.0, end), [0.1, 0.0], rtol=1e-12, atol=1e-13).y[0, -1]
    errors = [abs(wake_history(growth, rate, 0.4, end / n, n)[-1] - truth) for n in (80, 160, 320)]
    orders = np.log2(np.array(errors[:-1]) / errors[1:])
    assert orders == pytest.approx([4.0, 4.0], abs=0.4)


def test_wake_step_is_second_order_where_the_drive_changes():
    """The drive is known at the ends of a step only."""
    growth, rate, end = 0.3, 5.0, 2.0

    def target(t):
        return 0.4 * math.sin(6.0 * t)

    def slope(t, y):
        return [y[1], growth * rate * (1 - y[0] ** 2) * y[1] - rate**2 * (y[0] - target(t))]

    truth = solve_ivp(slope, (0.0, end), [0.1, 0.0], rtol=1e-12, atol=1e-13).y[0, -1]
    errors = [
        abs(wake_history(growth, rate, target, end / n, n)[-1] - truth) for n in (80, 160, 320)
    ]
    orders = np.log2(np.array(errors[:-1]) / errors[1:])
    assert orders == pytest.approx([2.0, 2.0], abs=0.2)


def test_slow_turning_gives_the_quasi_steady_moment():
    """Past |q| = 1 the oscillator is damped: its mean follows the slowly moving target."""
    growth, rate, step = 0.3, 40.0, 5e-4
    turning = 0.15

    def target(t):
        return 2.5 + 0.8 * math.sin(turning * t)

    steps = int(2.0 * math.pi / turning / step)
    q = wake_history(growth, rate, target, step, steps, start=(2.5, 0.0))
    goal = np.array([target((i + 1) * step) for i in range(steps)])
    assert np.abs(q - goal)[steps // 4 :].max() < 0.01


@settings(deadline=None)
@given(moving, vector, component)
def test_a_wake_shakes_the_plate_on_top_of_its_quasi_steady_load(velocity, spin, wake):
    """Its moment is C_M0 q/2 sin a about the upright axis, whatever the plate does besides."""
    motion = np.array([*velocity, *spin])
    change = load(plain(), motion, wake) - load(plain(), motion)
    speed = math.sqrt(sum(v * v for v in velocity))
    moment = 0.5 * DENSITY * AREA * WIDTH * C_MOMENT * speed * velocity[2]
    expected = [0.0, 0.5 * wake * moment, 0.0, 0.0, 0.0, 0.0]
    assert change == pytest.approx(expected, rel=1e-9, abs=1e-12)


def test_motion_does_not_feed_the_wake():
    """No lock-in: only its rate hangs on the flow past the plate."""
    wakes = np.array([[0.1, 0.0, 0.0, 0.0], [0.1, 0.0, 0.0, 0.0]])
    for t in np.arange(0.0, 2.0, 1e-3):
        sway = 0.3 * math.sin(11.0 * t)
        for wake, kick in zip(wakes, (0.0, sway), strict=True):
            normal = math.sqrt(0.6**2 - kick**2)
            step_wake(plain(), np.array([kick, 0.0, normal, 0.0, 0.0, 0.0]), wake, 1e-3)
    assert np.abs(wakes[:, 0]).max() <= 2.1
    quiet = plain(wake_moment=0.0)
    motion = np.array([0.2, 0.0, 0.5, 0.0, 0.0, 0.0])
    assert load(quiet, motion, 2.0) == pytest.approx(load(quiet, motion), abs=0.0)


def test_wake_sheds_at_the_strouhal_number_on_the_projected_width():
    a = math.radians(50.0)
    rate = shedding_rate(plain(), 0.7 * np.array([math.cos(a), 0, math.sin(a), 0, 0, 0]))
    assert rate / (2.0 * math.pi) == pytest.approx(0.135 * 0.7 / (WIDTH * math.sin(a)))
    shallow = shedding_rate(plain(), np.array([0.7, 0.0, 0.0, 0.0, 0.0, 0.0]))
    assert shallow / (2.0 * math.pi) == pytest.approx(0.135 * 0.7 / (WIDTH * SMALLEST_SINE))
    assert shedding_rate(plain(), np.zeros(6)) == 0.0


def test_edge_on_plate_feels_no_wake_moment():
    edge_on = np.array([0.7, 0.0, 0.0, 0.0, 0.0, 0.0])
    assert load(plain(), edge_on, 2.0)[1] == 0.0
    nearly = [*edge_on[:2], 1e-6, 0.0, 0.0, 0.0]
    assert abs(load(plain(), nearly, 2.0)[1]) < 1e-6


@settings(deadline=None)
@given(moving, vector, component)
def test_mirrored_motion_gives_the_mirrored_load(velocity, spin, wake):
    """Mirror in the plane of upright and normal: the kick axis changes sign."""
    polar, axial = np.array([-1.0, 1.0, 1.0]), np.array([1.0, -1.0, -1.0])
    motion = np.array([*velocity, *spin])
    mirrored = motion * np.concatenate([polar, axial])
    found, other = load(plain(), motion, wake), load(plain(), mirrored, -wake)
    assert other == pytest.approx(found * np.concatenate([axial, polar]), rel=1e-12, abs=1e-18)
    assert shedding_rate(plain(), mirrored) == pytest.approx(shedding_rate(plain(), motion))
