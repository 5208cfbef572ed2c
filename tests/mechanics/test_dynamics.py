"""Articulated-body recursion against dense matrices, Newton's laws and its own inverse."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from physics import X, bare_rod, moved, quaternions

from simsoft.bodies.rod.equilibrium import make_stream
from simsoft.bodies.rod.forces import evaluate, make_work
from simsoft.bodies.rod.tangents import residual, tangents
from simsoft.mechanics.dynamics import accelerate, inverse_of

N = 6
seeds = st.integers(0, 10_000)


def loaded_rod(damping_time=0.01):
    rod = bare_rod(
        (40.0, 1.0, 2.0),
        (0.5, 2e-3, 1e-3),
        (1.0, 0.05, 4e-3),
        elements=N,
        drag=(2.0, 0.3, 0.1, 0.01),
        damping_time=damping_time,
    )
    weight = np.zeros((N, 3))
    weight[:, 2] = -0.3
    return rod._replace(
        weight=weight,
        follower=np.array([0.2, -0.1, 0.3]),
        tip_moment=np.array([0.1, 0.2, -0.1]),
        root=np.array([0.1, 0.0, -0.2]),
    )


def sample(seed):
    rng = np.random.default_rng(seed)
    return rng.normal(0.0, 0.3, (N, 3)), rng.normal(0.0, 2.0, (N, 3))


def solved(rod, stream, angle, rate, implicit=None, moment=None):
    """Return hinge accelerations, link accelerations and the clamp's wrench."""
    work = make_work(N)
    evaluate(rod, stream, quaternions(angle), angle, rate, np.zeros(3), work)
    loads = work.wrench.sum(axis=1).copy()
    result, links, root = np.zeros((N, 3)), np.zeros((N, 6)), np.zeros(6)
    accelerate(
        rod,
        work.relative,
        rod.structure + rod.fluid,
        work.bias,
        work.drifts,
        work.moment if moment is None else work.moment + moment,
        np.zeros((N, 3, 3)) if implicit is None else implicit,
        result,
        links,
        np.zeros((N + 2, 6, 6)),
        root,
    )
    return result, links, root, work, loads


def missing(rod, stream, angle, rate, acceleration):
    result = np.zeros((N, 3))
    residual(rod, stream, angle, rate, acceleration, make_work(N), result)
    return result


def dense_mass(rod, angle):
    """Return the mass matrix (3 N, 3 N) from link velocities, one hinge rate at a time."""
    inertia = rod.structure + rod.fluid
    columns = []
    for j in range(3 * N):
        rate = np.zeros(3 * N)
        rate[j] = 1.0
        work = moved(rod, quaternions(angle), rate.reshape(N, 3))
        columns.append(np.hstack([work.spin, work.glide]))
    motion = np.array(columns)
    return np.einsum("aki,kij,bkj->ab", motion, inertia, motion)


@settings(deadline=None, max_examples=30)
@given(seeds, st.sampled_from([0.0, 1.0]))
def test_forward_and_inverse_dynamics_undo_each_other(seed, reactive):
    rod = loaded_rod()._replace(reactive=reactive)
    stream = make_stream(0.7, np.array([0.8, 0.6, 0.0]))
    angle, rate = sample(seed)
    acceleration, *_ = solved(rod, stream, angle, rate)
    idle = missing(rod, stream, angle, rate, np.zeros((N, 3)))
    left = missing(rod, stream, angle, rate, acceleration)
    assert np.abs(left).max() < 1e-10 * np.abs(idle).max()


@settings(deadline=None, max_examples=30)
@given(seeds)
def test_recursion_is_a_dense_solve(seed):
    rod, stream = loaded_rod(), make_stream(0.7, X)
    angle, rate = sample(seed)
    acceleration, *_ = solved(rod, stream, angle, rate)
    force = -missing(rod, stream, angle, rate, np.zeros((N, 3))).ravel()
    expected = np.linalg.solve(dense_mass(rod, angle), force)
    assert acceleration.ravel() == pytest.approx(expected, rel=1e-8, abs=1e-8 * abs(expected).max())


def test_implicit_hinges_add_to_the_diagonal_blocks():
    rod, stream = loaded_rod(), make_stream(0.7, X)
    angle, rate = sample(3)
    rng = np.random.default_rng(7)
    root_of = rng.normal(size=(N, 3, 3))
    implicit = np.einsum("kij,klj->kil", root_of, root_of)
    moment = rng.normal(size=(N, 3))
    found, *_ = solved(rod, stream, angle, rate, implicit, moment)
    mass = dense_mass(rod, angle)
    for k in range(N):
        mass[3 * k : 3 * k + 3, 3 * k : 3 * k + 3] += implicit[k]
    force = moment - missing(rod, stream, angle, rate, np.zeros((N, 3)))
    assert found.ravel() == pytest.approx(np.linalg.solve(mass, force.ravel()), rel=1e-8)


def test_mass_matrix_of_the_linearisation_is_the_dense_one():
    rod, (angle, _) = loaded_rod(), sample(11)
    mass, _, _ = tangents(rod, make_stream(0.0, X), angle, np.eye(3 * N))
    assert mass == pytest.approx(dense_mass(rod, angle), rel=1e-9, abs=1e-12)
    assert np.linalg.eigvalsh(0.5 * (mass + mass.T)).min() > 0.0


def test_clamp_carries_the_momentum_and_the_loads():
    """Newton and Euler on the whole chain, about the clamp, in world axes."""
    rod, stream = loaded_rod(), make_stream(0.5, np.array([0.0, 0.6, 0.8]))
    angle, rate = sample(5)
    _, links, root, work, loads = solved(rod, stream, angle, rate)
    force, torque = np.zeros(3), np.zeros(3)
    for k in range(N):
        spin, glide = work.spin[k], work.glide[k]
        change = (rod.structure[k] + rod.fluid[k]) @ links[k]
        momentum = rod.structure[k] @ np.concatenate([spin, glide])
        change[:3] += np.cross(spin, momentum[:3]) + np.cross(glide, momentum[3:])
        change[3:] += np.cross(spin, momentum[3:])
        frame = work.frame[k]
        pull = frame @ loads[k, 3:]
        force += frame @ change[3:] - pull
        torque += frame @ (change[:3] - loads[k, :3])
        torque += np.cross(work.hinge[k] - rod.root, frame @ change[3:])
        torque -= np.cross(work.node[k] - rod.root, pull)
    assert rod.frame @ root[3:] == pytest.approx(force, rel=1e-9)
    assert rod.frame @ root[:3] == pytest.approx(torque, rel=1e-9)


def test_inverse_of_a_small_matrix():
    root_of = np.random.default_rng(2).normal(size=(3, 3))
    matrix = root_of @ root_of.T + 0.1 * np.eye(3)
    a, b, c, d, e, f = inverse_of(*matrix[np.triu_indices(3)])
    inverse = np.array([[a, b, c], [b, d, e], [c, e, f]])
    assert inverse @ matrix == pytest.approx(np.eye(3), abs=1e-12)
