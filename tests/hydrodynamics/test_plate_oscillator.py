"""The oscillator of a plate that sheds by itself: rates, amplitude, order of its step."""

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from simsoft.hydrodynamics.paddle import SMALLEST_SINE
from simsoft.hydrodynamics.plate.oscillator import advance_wake, rate_of_flow

WIDTH = 0.015


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


def test_wake_sheds_at_the_strouhal_number_on_the_projected_width():
    sine = math.sin(math.radians(50.0))
    rate = rate_of_flow(0.7, sine, WIDTH, 0.135)
    assert rate / (2.0 * math.pi) == pytest.approx(0.135 * 0.7 / (WIDTH * sine))
    shallow = rate_of_flow(0.7, 0.0, WIDTH, 0.135)
    assert shallow / (2.0 * math.pi) == pytest.approx(0.135 * 0.7 / (WIDTH * SMALLEST_SINE))
