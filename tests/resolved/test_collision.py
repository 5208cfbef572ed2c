"""A collision keeps what it must keep, and its own equilibrium."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from simsoft.resolved.collision import collide, equilibrium, rebuild
from simsoft.resolved.lattice import (
    AXIS_X,
    AXIS_Y,
    AXIS_Z,
    DIRECTIONS,
    OPPOSITE,
    relaxation_time,
    weights,
)

C = np.array([AXIS_X, AXIS_Y, AXIS_Z], dtype=float)
slow = st.floats(-0.1, 0.1, allow_subnormal=False)


def moments(h):
    h = np.asarray(h, dtype=float)
    return h.sum(), C @ h, (C * h) @ C.T


def test_opposites_and_weights_make_an_isotropic_lattice():
    w = weights().astype(float)
    assert w.sum() == pytest.approx(1.0, abs=1e-7)
    assert np.array_equal(C[:, list(OPPOSITE)], -C)
    assert (C * w) @ C.T == pytest.approx(np.eye(3) / 3.0, abs=1e-7)


@given(slow, slow, slow, slow)
def test_equilibrium_has_its_density_momentum_and_stress(rho, ux, uy, uz):
    u = np.array([ux, uy, uz])
    mass, momentum, stress = moments(equilibrium(*map(np.float32, (rho, ux, uy, uz))))
    assert mass == pytest.approx(rho, abs=2e-7)
    assert momentum == pytest.approx((1.0 + rho) * u, abs=2e-7)
    assert stress == pytest.approx(rho / 3.0 * np.eye(3) + (1 + rho) * np.outer(u, u), abs=3e-7)


def test_third_order_terms_leave_density_momentum_and_stress_alone():
    one, none = np.float32(1.0), np.float32(0.0)
    for k in range(6):
        third = tuple(one if i == k else none for i in range(6))
        mass, momentum, stress = moments(rebuild(none, 3 * (none,), 6 * (none,), third))
        assert abs(mass) < 1e-6
        assert np.abs(momentum).max() < 1e-6
        assert np.abs(stress).max() < 1e-6


@given(
    st.lists(
        st.floats(-0.01, 0.01, allow_subnormal=False), min_size=DIRECTIONS, max_size=DIRECTIONS
    )
)
def test_collision_keeps_mass_and_momentum(values):
    h = tuple(np.float32(v) for v in values)
    before, after = moments(h), moments(collide(h, np.float32(0.53), np.float32(0.01)))
    assert after[0] == pytest.approx(before[0], abs=1e-6)
    assert after[1] == pytest.approx(before[1], abs=1e-6)


def test_collision_leaves_an_equilibrium_as_it_is():
    h = equilibrium(*map(np.float32, (0.01, 0.05, -0.02, 0.03)))
    after = collide(h, np.float32(0.51), np.float32(0.0))
    assert np.asarray(after) == pytest.approx(np.asarray(h), abs=3e-8)


def test_stress_relaxes_at_the_rate_of_the_viscosity():
    time = relaxation_time(0.02)
    shear = np.float32(1e-4)
    none = np.float32(0.0)
    h = rebuild(none, 3 * (none,), (*(3 * (none,)), shear, none, none), 6 * (none,))
    stress = moments(collide(h, np.float32(time), none))[2]
    assert stress[0, 1] == pytest.approx(shear * (1.0 - 1.0 / time), rel=1e-4)


def test_the_closure_adds_viscosity_where_there_is_strain_and_only_there():
    none, shear = np.float32(0.0), np.float32(1e-3)
    h = rebuild(none, 3 * (none,), (*(3 * (none,)), shear, none, none), 6 * (none,))
    time = np.float32(0.505)
    with_it = moments(collide(h, time, np.float32(0.01)))[2][0, 1]
    without = moments(collide(h, time, none))[2][0, 1]
    assert with_it > without  # damped less than reversed: a longer relaxation time
