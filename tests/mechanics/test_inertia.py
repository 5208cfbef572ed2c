"""Inertias moved between points against sums over point masses."""

import numpy as np
import pytest
from physics import skew

from simsoft.mechanics.inertia import inertia_from_point, turned


def of_points(places, masses):
    """Return the inertia (6, 6) of point masses about the origin, rotation first."""
    result = np.zeros((6, 6))
    for place, mass in zip(places, masses, strict=True):
        carry = np.hstack([-skew(place), np.eye(3)])
        result += mass * carry.T @ carry
    return result


def test_moved_inertia_is_that_of_the_same_points():
    rng = np.random.default_rng(3)
    places, masses = rng.normal(size=(20, 3)), rng.uniform(0.5, 2.0, 20)
    reach = np.array([0.4, -1.1, 2.3])
    moved = inertia_from_point(of_points(places, masses), reach)
    assert moved == pytest.approx(of_points(places + reach, masses), rel=1e-12, abs=1e-12)


def test_moving_there_and_back_changes_nothing():
    own = of_points(np.random.default_rng(4).normal(size=(5, 3)), np.ones(5))
    reach = np.array([1.0, 2.0, -0.5])
    assert inertia_from_point(inertia_from_point(own, reach), -reach) == pytest.approx(own)


def test_stacks_move_and_turn_as_their_members():
    rng = np.random.default_rng(5)
    own = np.stack([of_points(rng.normal(size=(4, 3)), np.ones(4)) for _ in range(3)])
    reach, axes = rng.normal(size=(3, 3)), np.linalg.qr(rng.normal(size=(3, 3, 3)))[0]
    moved, other = inertia_from_point(own, reach), turned(own, axes)
    for k in range(3):
        assert moved[k] == pytest.approx(inertia_from_point(own[k], reach[k]))
        twice = np.kron(np.eye(2), axes[k])
        assert other[k] == pytest.approx(twice @ own[k] @ twice.T)
