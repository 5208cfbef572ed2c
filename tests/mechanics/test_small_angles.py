"""The logarithm where its short form takes over."""

import numpy as np
import pytest
from test_rotation import to_quaternion, to_vector


@pytest.mark.parametrize("angle", [1e-9, 1e-6, 5e-5, 1.9e-4, 1.99e-4, 2.01e-4, 1e-3])
def test_logarithm_is_exact_to_rounding_for_small_angles(angle):
    vector = np.array([0.6, 0.0, -0.8]) * angle
    assert to_vector(to_quaternion(vector)) == pytest.approx(vector, rel=1e-14, abs=1e-30)
