"""Hinge moments and tangents against the gradient of the energy and plain matrix algebra."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from physics import bare_rod, quaternions, skew, vectors

from simsoft.mechanics.elastic import (
    damping_power,
    elastic_energy,
    hinge_bending,
    hinge_moment,
    hinge_tangent,
)
from simsoft.mechanics.rotation import append_rotation, tangent_of

seeds = st.integers(0, 10_000)


def sample_rod(damping_time=0.0):
    rod = bare_rod((50.0, 1.0, 3.0), (1.0, 0.1, 0.1), (0.0, 0.0, 0.0), elements=4)
    natural = np.random.default_rng(0).normal(0.0, 0.3, (4, 3))
    return rod._replace(natural=natural, kelvin_voigt=damping_time)


def moments(rod, angle, rate):
    result = np.zeros_like(angle)
    hinge_moment(rod, angle, bending_of(angle, rate), result)
    return result


def bending_of(angle, rate):
    result = np.zeros((len(angle), 4))
    hinge_bending(angle, rate, result)
    return result


def right_tangent(vector):
    """Return J of w = J d(vector)/dt by its closed form (Geradin & Cardona 2001, ch. 4)."""
    angle = np.linalg.norm(vector)
    cross = skew(vector)
    first = (1.0 - np.cos(angle)) / angle**2
    second = (angle - np.sin(angle)) / angle**3
    return np.eye(3) - first * cross + second * cross @ cross


@settings(deadline=None, max_examples=40)
@given(seeds)
def test_moment_is_the_gradient_of_the_energy(seed):
    rod = sample_rod()
    angle = np.random.default_rng(seed).uniform(-1.2, 1.2, (4, 3))
    found = moments(rod, angle, np.zeros((4, 3)))
    start = quaternions(angle)
    h = 1e-5
    for k in range(4):
        for i in range(3):
            energy = []
            for sign in (-1.0, 1.0):
                turned = start.copy()
                append_rotation(start[k], sign * h * np.eye(3)[i], turned[k])
                energy.append(elastic_energy(rod, vectors(turned)))
            slope = (energy[1] - energy[0]) / (2.0 * h)
            assert found[k, i] == pytest.approx(-slope, rel=1e-5, abs=1e-5)


@settings(deadline=None, max_examples=40)
@given(seeds)
def test_damping_takes_exactly_the_power_in_the_books(seed):
    rng = np.random.default_rng(seed)
    angle, rate = rng.uniform(-1.0, 1.0, (4, 3)), rng.normal(0.0, 5.0, (4, 3))
    damped = moments(sample_rod(0.02), angle, rate) - moments(sample_rod(), angle, rate)
    loss = damping_power(sample_rod(0.02), bending_of(angle, rate))
    assert loss >= 0.0
    assert -np.sum(damped * rate) == pytest.approx(loss, rel=1e-10)


@settings(deadline=None, max_examples=40)
@given(seeds)
def test_tangent_is_the_stiffness_seen_through_the_right_tangent(seed):
    rod = sample_rod()
    angle = np.random.default_rng(seed).uniform(-1.2, 1.2, 3)
    inverse = np.linalg.inv(right_tangent(angle))
    expected = 0.7 * inverse.T @ np.diag(rod.stiffness[2]) @ inverse
    found = np.zeros((3, 3))
    hinge_tangent(rod, 2, angle, tangent_of(angle), 0.7, found)
    assert found == pytest.approx(expected, rel=1e-9, abs=1e-9 * expected.max())
    assert np.linalg.eigvalsh(found).min() > 0.0


def test_tangent_gives_the_damping_moment_of_a_rate():
    """What the implicit step relies on: d(moment)/d(rate) = -tau times the tangent."""
    rod, plain = sample_rod(0.03), sample_rod()
    rng = np.random.default_rng(5)
    angle, rate = rng.uniform(-0.8, 0.8, (4, 3)), rng.normal(0.0, 2.0, (4, 3))
    change = moments(rod, angle, rate) - moments(plain, angle, rate)
    for k in range(4):
        tangent = np.zeros((3, 3))
        hinge_tangent(rod, k, angle[k], tangent_of(angle[k]), 0.03, tangent)
        assert change[k] == pytest.approx(-tangent @ rate[k], rel=1e-9)


def test_a_rod_in_its_moulded_shape_is_free_of_moment():
    rod = sample_rod()
    assert np.all(moments(rod, rod.natural, np.zeros((4, 3))) == 0.0)
    assert elastic_energy(rod, rod.natural) == 0.0
