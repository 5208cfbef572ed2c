"""Measures on signals whose answers are known by construction."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from simsoft.core.signals import angle_between, cycles, fluctuation, main_direction, total_turning

TIME = np.linspace(0.0, 5.0, 2001)
positive = st.floats(1e-3, 1e3)
offset = st.floats(-100.0, 100.0)
component = st.floats(-10.0, 10.0)
vector = st.tuples(component, component, component).filter(lambda v: np.linalg.norm(v) > 1e-2)


def sine(frequency=3.0, stroke=0.02, phase=0.4):
    return 0.5 * stroke * np.sin(2.0 * math.pi * frequency * TIME + phase)


@settings(deadline=None)
@given(st.floats(1.0, 10.0), positive, st.floats(0.0, 6.2))
def test_cycles_of_a_sine_are_its_own(frequency, stroke, phase):
    found = cycles(TIME, sine(frequency, stroke, phase))
    assert abs(len(found.period) - 5.0 * frequency) <= 2.1
    assert found.period == pytest.approx(np.full(len(found.period), 1.0 / frequency), rel=2e-3)
    assert found.stroke == pytest.approx(np.full(len(found.stroke), stroke), rel=5e-3)


def test_crossing_times_are_interpolated_between_coarse_samples():
    time = np.arange(0.0, 4.0, 0.03)
    found = cycles(time, np.sin(2.0 * math.pi * time / 0.7))
    assert found.period == pytest.approx(np.full(len(found.period), 0.7), rel=5e-3)


def test_noise_within_the_dead_band_makes_no_cycles():
    noise = np.random.default_rng(1).uniform(-0.04, 0.04, TIME.size) * 0.01
    found = cycles(TIME, sine() + noise)
    assert found.period.mean() == pytest.approx(1.0 / 3.0, rel=5e-3)
    assert len(found.period) == 14


@pytest.mark.parametrize(("order", "share"), [(2, 0.3), (3, 0.3), (3, -0.3), (5, 0.15)])
def test_harmonics_do_not_change_the_count(order, share):
    """A third harmonic flattens or peaks the wave, and ripples on the way through the mean."""
    signal = sine(3.0, 2.0, 0.0) + share * np.sin(2.0 * math.pi * 3.0 * order * TIME)
    found = cycles(TIME, signal)
    assert found.period == pytest.approx(np.full(len(found.period), 1.0 / 3.0), rel=1e-2)
    assert found.stroke == pytest.approx(np.full(len(found.stroke), np.ptp(signal)), rel=1e-2)


def test_flat_top_with_ripple_counts_once():
    signal = np.tanh(8.0 * np.sin(2.0 * math.pi * 3.0 * TIME - 0.5))
    signal += 0.05 * np.sin(2.0 * math.pi * 60.0 * TIME)
    assert len(cycles(TIME, signal).period) == 14


@settings(deadline=None)
@given(positive, offset)
def test_scale_and_shift_of_the_signal_change_only_the_stroke(scale, shift):
    plain = sine() + 0.2 * sine(6.0, phase=1.0)
    one, other = cycles(TIME, plain), cycles(TIME, scale * plain + shift)
    assert other.start == pytest.approx(one.start, rel=1e-6)
    assert other.stroke == pytest.approx(scale * one.stroke, rel=1e-6, abs=1e-11)


@given(st.floats(1e-2, 1e2), offset)
def test_scale_and_shift_of_time_change_only_the_times(scale, shift):
    one, other = cycles(TIME, sine()), cycles(scale * TIME + shift, sine())
    assert other.period == pytest.approx(scale * one.period, rel=1e-9)
    assert other.stroke == pytest.approx(one.stroke)


@pytest.mark.parametrize("level", [0.0, -3.2])
def test_constant_signal_has_no_cycles(level):
    found = cycles(TIME, np.full(TIME.size, level))
    assert found.period.size == 0
    assert found.stroke.size == 0


def test_one_swing_is_no_whole_cycle():
    found = cycles(TIME, np.sin(2.0 * math.pi * 0.2 * TIME - 1.0))
    assert found.stroke.size == 0


@settings(deadline=None)
@given(vector, vector)
def test_main_direction_of_a_line_is_the_line(axis, centre):
    axis = np.array(axis) / np.linalg.norm(axis)
    path = np.array(centre) + np.outer(np.sin(TIME[::20]), axis)
    found = main_direction(path)
    assert np.linalg.norm(found) == pytest.approx(1.0)
    assert abs(found @ axis) == pytest.approx(1.0, abs=1e-9)
    assert found[np.argmax(np.abs(found))] > 0.0


@settings(deadline=None)
@given(positive, vector)
def test_main_direction_does_not_care_for_scale_and_shift(scale, shift):
    path = np.column_stack([0.1 * np.cos(TIME), np.sin(1.1 * TIME), 0.3 * np.sin(2.0 * TIME)])
    moved = main_direction(scale * path + np.array(shift))
    assert moved == pytest.approx(main_direction(path), abs=1e-6)


@settings(deadline=None)
@given(vector, st.floats(1e-3, math.pi - 1e-3), positive, positive)
def test_angle_between_turned_vectors_is_the_turn(first, angle, one, other):
    first = np.array(first) / np.linalg.norm(first)
    helper = np.eye(3)[np.argmin(np.abs(first))]
    across = np.cross(first, helper)
    across /= np.linalg.norm(across)
    second = math.cos(angle) * first + math.sin(angle) * across
    assert angle_between(one * first, other * second) == pytest.approx(angle, rel=1e-7)


@pytest.mark.parametrize(("sign", "expected"), [(1.0, 0.0), (-1.0, math.pi)])
def test_angle_between_parallel_vectors_is_exact(sign, expected):
    first = np.array([0.3, -0.2, 0.9])
    assert angle_between(first, 2.0 * sign * first) == pytest.approx(expected, abs=1e-12)


def test_total_turning_counts_bending_both_ways_and_no_twist():
    angle = np.array([[0.3, 0.4, 9.0], [0.0, -0.2, -9.0], [0.0, 0.0, 1.0]])
    assert total_turning(angle) == pytest.approx(0.7)


def test_fluctuation_is_the_rms_across_the_stream():
    phase = np.linspace(0.0, 2.0 * math.pi, 400, endpoint=False)
    force = np.column_stack([5.0 + np.sin(phase), 0.4 * np.sin(phase), 2.0 + 0.3 * np.cos(phase)])
    across = fluctuation(force, np.array([1.0, 0.0, 0.0]))
    assert across == pytest.approx(math.sqrt(0.5 * (0.4**2 + 0.3**2)))
    assert fluctuation(force, np.array([0.0, 1.0, 0.0])) == pytest.approx(
        math.sqrt(0.5 * (1.0 + 0.3**2))
    )


@settings(deadline=None)
@given(positive, vector)
def test_fluctuation_scales_and_ignores_a_steady_force(scale, steady):
    force = np.random.default_rng(2).normal(size=(50, 3))
    along = np.array([0.6, 0.0, 0.8])
    found = fluctuation(scale * force + np.array(steady), along)
    assert found == pytest.approx(scale * fluctuation(force, along), rel=1e-6, abs=1e-12)
