"""The driver of natural modes against springs and masses whose frequencies are known."""

import math

import numpy as np
import pytest
from scipy.sparse import csr_matrix
from scipy.sparse.linalg import aslinearoperator

from simsoft.core.errors import SolveError
from simsoft.solvers.modes import Modes, at_own_frequency, dense_pairs, modes_of, sparse_pairs

COUNT = 12
SPRING, MASS = 300.0, 0.02  # [N/m], [kg]


def chain():
    """Return stiffness and mass of equal masses on equal springs between two walls."""
    stiffness = SPRING * (2.0 * np.eye(COUNT) - np.eye(COUNT, k=1) - np.eye(COUNT, k=-1))
    return stiffness, MASS * np.eye(COUNT)


def known(count):
    """Return the lowest frequencies [Hz] of the chain: sqrt(k/m)/pi sin(n pi/(2 (N + 1)))."""
    order = np.arange(1, count + 1)
    return math.sqrt(SPRING / MASS) / math.pi * np.sin(order * math.pi / (2.0 * (COUNT + 1)))


def test_a_chain_of_masses_rings_as_it_should():
    stiffness, mass = chain()
    found = modes_of(*dense_pairs(stiffness, mass, 4, "the chain"), lambda _: "along")
    np.testing.assert_allclose(found.frequency, known(4), rtol=1e-12)
    np.testing.assert_allclose(found.shape.T @ mass @ found.shape, np.eye(4), atol=1e-12)
    assert found.kind == ("along",) * 4


def test_sparse_and_dense_agree_in_order():
    stiffness, mass = chain()
    dense, _ = dense_pairs(stiffness, mass, 5, "the chain")
    sparse, shape = sparse_pairs(csr_matrix(stiffness), aslinearoperator(mass), 5, "the chain")
    np.testing.assert_allclose(sparse, dense, rtol=1e-10)
    np.testing.assert_allclose(np.diag(shape.T @ mass @ shape), 1.0, rtol=1e-10)


def test_no_more_modes_than_unknowns_and_none_that_falls_over_has_a_frequency():
    stiffness = np.diag([-1.0, 4.0])
    found = modes_of(*dense_pairs(stiffness, np.eye(2), 5, "it"), lambda one: str(one.argmax()))
    np.testing.assert_allclose(found.frequency, [0.0, 1.0 / math.pi])


def test_a_mass_that_is_none_is_one_line():
    with pytest.raises(SolveError, match="the natural frequencies of the chain fail"):
        dense_pairs(np.eye(2), -np.eye(2), 1, "the chain")


def test_a_modulus_that_grows_with_the_rate_moves_each_frequency_to_its_own():
    exponent = 0.1
    at_1_hz = Modes(np.array([0.0, 3.0]), np.eye(2), ("a", "b"))
    found = at_own_frequency(at_1_hz, exponent).frequency
    assert found[0] == 0.0
    # f = 3 Hz sqrt(E(f)/E(1 Hz)), E ~ f^n
    assert found[1] == pytest.approx(3.0 * math.sqrt(found[1] ** exponent), rel=1e-12)
