"""Rotation algebra against matrix exponentials and finite differences."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from physics import rotation, skew

from simsoft.mechanics.rotation import (
    append_rotation,
    matrix_from_quaternion,
    quaternion_from_vector,
    tangent_coefficient,
    vector_from_quaternion,
)

component = st.floats(-1.0, 1.0, allow_nan=False, width=32)
direction = st.tuples(component, component, component).filter(lambda v: np.linalg.norm(v) > 0.1)


def vectors_up_to(largest):
    """Return a strategy of rotation vectors with angle at most ``largest``, tiny ones too."""
    angle = st.one_of(st.floats(0.0, largest), st.floats(-12.0, -3.0).map(lambda e: 10.0**e))
    return st.builds(lambda d, a: np.asarray(d) / np.linalg.norm(d) * a, direction, angle)


def to_quaternion(vector):
    result = np.zeros(4)
    quaternion_from_vector(np.ascontiguousarray(vector, dtype=float), result)
    return result


def to_vector(quaternion):
    result = np.zeros(3)
    vector_from_quaternion(quaternion, result)
    return result


def to_matrix(quaternion):
    result = np.zeros((3, 3))
    matrix_from_quaternion(quaternion, result)
    return result


@settings(deadline=None)
@given(vectors_up_to(math.pi - 1e-6))
def test_logarithm_undoes_exponential(vector):
    back = to_vector(to_quaternion(vector))
    assert back == pytest.approx(vector, rel=1e-9, abs=1e-12)


@settings(deadline=None)
@given(vectors_up_to(math.pi - 1e-6))
def test_opposite_quaternions_are_one_rotation(vector):
    assert to_vector(-to_quaternion(vector)) == pytest.approx(vector, rel=1e-9, abs=1e-12)


@settings(deadline=None)
@given(vectors_up_to(20.0))
def test_exponential_is_rodrigues_matrix(vector):
    assert to_matrix(to_quaternion(vector)) == pytest.approx(rotation(vector), abs=1e-12)


@settings(deadline=None)
@given(vectors_up_to(20.0))
def test_exponential_has_unit_norm(vector):
    assert np.linalg.norm(to_quaternion(vector)) == pytest.approx(1.0, abs=1e-14)


@settings(deadline=None)
@given(vectors_up_to(3.0), vectors_up_to(3.0))
def test_appended_rotation_multiplies_matrices_and_stays_unit(first, second):
    result = np.zeros(4)
    append_rotation(to_quaternion(first), second, result)
    assert np.linalg.norm(result) == pytest.approx(1.0, abs=1e-15)
    assert to_matrix(result) == pytest.approx(rotation(first) @ rotation(second), abs=1e-12)


def test_appending_takes_the_drift_out_of_the_norm():
    drifted = 1.02 * to_quaternion(np.array([0.3, -0.2, 0.5]))
    result = np.zeros(4)
    append_rotation(drifted, np.zeros(3), result)
    assert result == pytest.approx(drifted / 1.02, abs=1e-15)


@settings(deadline=None)
@given(vectors_up_to(2.8), direction)
def test_inverse_tangent_gives_the_rate_of_the_vector(vector, spin):
    """d(vector)/dt = J^-1 w for a frame that turns at w in its own axes."""
    spin = np.asarray(spin)
    h = 1e-5
    ahead, behind = np.zeros(4), np.zeros(4)
    append_rotation(to_quaternion(vector), h * spin, ahead)
    append_rotation(to_quaternion(vector), -h * spin, behind)
    numeric = (to_vector(ahead) - to_vector(behind)) / (2.0 * h)
    cross = skew(vector)
    inverse = np.eye(3) + 0.5 * cross
    inverse += tangent_coefficient(float(np.linalg.norm(vector))) * cross @ cross
    assert inverse @ spin == pytest.approx(numeric, abs=2e-7)


def test_tangent_coefficient_has_no_step_where_its_series_takes_over():
    below, above = tangent_coefficient(0.05 - 1e-9), tangent_coefficient(0.05 + 1e-9)
    assert below == pytest.approx(above, rel=1e-8)
    assert tangent_coefficient(0.0) == pytest.approx(1.0 / 12.0, rel=1e-15)


@pytest.mark.parametrize("axis", range(3))
def test_quarter_turns(axis):
    vector = np.zeros(3)
    vector[axis] = 0.5 * math.pi
    matrix = to_matrix(to_quaternion(vector))
    other = np.zeros(3)
    other[(axis + 1) % 3] = 1.0
    assert (matrix @ other)[(axis + 2) % 3] == pytest.approx(1.0)
