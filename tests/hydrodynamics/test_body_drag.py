"""Drag laws of the free base against the published correlations, slopes against differences."""

import numpy as np
import pytest
from free_bodies import CREATURE, free
from hypothesis import given
from hypothesis import strategies as st

from simsoft.hydrodynamics.correlations.drag import cylinder_drag, sphere_drag
from simsoft.hydrodynamics.rigid_base import CYLINDER, SPHERE, base_drag, law_factor

BASE = free(CREATURE, elements=4).tree.base


@given(st.floats(0.01, 2e5))
def test_sphere_law_is_the_standard_curve(reynolds):
    assert law_factor(SPHERE, reynolds) == pytest.approx(float(sphere_drag(reynolds)), rel=0.02)


@given(st.floats(1.0, 2e5))
def test_cylinder_law_is_whites(reynolds):
    assert law_factor(CYLINDER, reynolds) == pytest.approx(float(cylinder_drag(reynolds)), rel=1e-9)


def wrench_of(twist):
    wrench, slope = np.zeros(6), np.zeros((6, 6))
    base_drag(BASE, twist, wrench, slope)
    return wrench, slope


@given(st.integers(0, 5000))
def test_drag_takes_power_and_its_slope_is_positive(seed):
    twist = np.random.default_rng(seed).normal(0.0, 1.0, 6) * np.array([5, 5, 5, 0.3, 0.3, 0.3])
    wrench, slope = wrench_of(twist)
    assert wrench @ twist < 0.0
    assert np.linalg.eigvalsh(0.5 * (slope + slope.T)).min() > -1e-12
    assert np.allclose(slope, slope.T)


def test_drag_at_speed_turns_with_the_square():
    twist = np.array([0.0, 0.0, 0.0, 0.2, 0.5, 0.3])
    first, _ = wrench_of(twist)
    second, _ = wrench_of(2.0 * twist)
    ratio = np.linalg.norm(second) / np.linalg.norm(first)
    assert 3.7 < ratio < 4.0  # a little less than four: the coefficient falls with the speed
