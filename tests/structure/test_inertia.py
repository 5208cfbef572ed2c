"""Inertias moved between points against sums over point masses."""

import numpy as np
import pytest
from physics import skew

from simsoft.structure.inertia import inertia_from_point


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
