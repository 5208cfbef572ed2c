"""The wake that a paddle drags along, against the harmonic answer and a high-order integrator."""

import math

import numpy as np
import pytest
from hydrodynamics.test_paddle import WIDTH, plain
from scipy.integrate import solve_ivp

from simsoft.hydrodynamics.rim import (
    RIM_SPIN,
    RIM_STATES,
    SEEN,
    foretell_rim,
    rim_rate,
    step_rim,
)

SPEED = 0.6


def follow(motion_at, step, steps, paddle=None):
    """Return what the load sees (steps, 3) of a wake that follows a motion."""
    paddle = plain() if paddle is None else paddle
    rim, scratch, seen = np.zeros(RIM_STATES), np.zeros(RIM_STATES), np.zeros(SEEN)
    step_rim(paddle, motion_at(0.0), rim, 0.0, scratch)
    result = np.zeros((steps, SEEN))
    for i in range(steps):
        step_rim(paddle, motion_at((i + 1) * step), rim, step, scratch)
        foretell_rim(paddle, rim, 0.0, scratch, seen)
        result[i] = seen
    return result


def sway(amplitude, omega):
    """Return the motion of a plate square to the stream that sways: plate axes."""
    return lambda t: np.array([amplitude * omega * math.cos(omega * t), 0, -SPEED, 0, 0, 0.0])


def test_a_small_sway_gives_the_harmonic_answer():
    """r/y = s^2/(s^2 + 2 z W s + W^2)/D for a small sway y."""
    p, omega = plain(), 2.0 * math.pi * 0.2 * SPEED / WIDTH
    rate = rim_rate(p, np.array([0, 0, -SPEED, 0, 0, 0.0]))
    s = 1j * omega
    expected = s * s / (s * s + 2.0 * p.rim_damping * rate * s + rate * rate) / WIDTH
    step, periods = 2.0 * math.pi / omega / 200, 40
    r = follow(sway(1e-5, omega), step, 200 * periods)[-2000:, 0]
    t = step * np.arange(200 * periods - 1999, 200 * periods + 1)
    found = 2.0 * complex((r * np.sin(omega * t)).mean(), (r * np.cos(omega * t)).mean()) / 1e-5
    assert found == pytest.approx(expected, rel=2e-3)


def test_a_paddle_that_is_held_or_slips_evenly_feels_nothing():
    for motion in ([0.0, 0.0, -0.6, 0, 0, 0], [0.2, -0.1, -0.5, 0, 0, 0]):
        seen = follow(lambda t, m=motion: np.array(m, dtype=float), 1e-3, 400)
        assert np.abs(seen).max() < 1e-12


def test_turning_a_uniform_motion_with_its_frame_is_no_acceleration():
    """A point that moves evenly, seen from turning axes: only the share of spin is left."""
    spin = 3.0

    def motion(t):
        along, through = SPEED * math.sin(spin * t), -SPEED * math.cos(spin * t)
        return np.array([along, 0.0, through, 0.0, spin, 0.0])

    p, step, steps = plain(), 1e-4, 800
    seen = follow(motion, step, steps)[:, 0]

    def slope(t, y):
        rate = rim_rate(p, motion(t))
        drive = RIM_SPIN * spin * motion(t)[2] / WIDTH
        return [y[1], drive - 2.0 * p.rim_damping * rate * y[1] - rate**2 * y[0]]

    truth = solve_ivp(slope, (0.0, step * steps), [0.0, 0.0], rtol=1e-10, atol=1e-12).y[0, -1]
    assert abs(seen[-1]) > 1e-3
    assert seen[-1] == pytest.approx(truth, rel=0.05)


def test_the_rate_goes_with_the_speed_and_not_with_the_lean():
    square, leant = (
        rim_rate(plain(), SPEED * np.array([0, math.cos(a), -math.sin(a), 0, 0, 0]))
        for a in (math.pi / 2.0, math.radians(40.0))
    )
    assert leant == pytest.approx(square, rel=1e-12)
    assert rim_rate(plain(), np.array([0, 0, -2.0 * SPEED, 0, 0, 0])) == pytest.approx(2.0 * square)


def test_the_step_is_at_least_second_order():
    omega, end = 25.0, 0.4
    ends = [follow(sway(2e-3, omega), end / n, n)[-1, 0] for n in (40, 80, 160, 2560)]
    errors = np.abs(np.array(ends[:-1]) - ends[-1])
    assert (np.log2(errors[:-1] / errors[1:]) > 1.9).all()


def test_the_envelope_holds_the_state():
    seen = follow(sway(3e-3, 40.0), 5e-4, 2000)[1000:]
    assert (seen[:, 2] >= np.abs(seen[:, 0]) - 1e-12).all()
    assert seen[:, 2].std() < 0.3 * seen[:, 2].mean()


def test_a_foretold_wake_meets_the_one_that_comes():
    """One step on with the drive going on: the error falls with the cube of the step."""
    p, omega = plain(), 30.0
    errors = []
    for step in (2e-3, 1e-3):
        rim, scratch, seen = np.zeros(RIM_STATES), np.zeros(RIM_STATES), np.zeros(SEEN)
        motion = sway(2e-3, omega)
        steps = round(0.3 / step)
        for i in range(steps):
            step_rim(p, motion(i * step), rim, step if i else 0.0, scratch)
        foretell_rim(p, rim, step, scratch, seen)
        guess = seen[0]
        step_rim(p, motion(steps * step), rim, step, scratch)
        errors.append(abs(guess - rim[0]))
    assert errors[0] / errors[1] == pytest.approx(8.0, rel=0.25)


def test_in_still_water_there_is_no_rate_and_no_number_is_lost():
    assert rim_rate(plain(), np.zeros(6)) == 0.0
    assert (follow(lambda t: np.zeros(6), 1e-3, 10) == 0.0).all()
