"""The free lure's equations against dense matrices, free spin, and the held chain."""

import numpy as np
import pytest
from free_bodies import CREATURE, WORM, alone, bare_base, free
from hypothesis import given, settings
from hypothesis import strategies as st
from numba import njit
from physics import Flight, observed_order, quaternions

from simsoft.bodies.free.base_step import FREE, HELD, ONE_SIDED, Line
from simsoft.bodies.free.course import pose_frames, state_at_rest
from simsoft.bodies.free.forces import chains_of, evaluate_tree, gather, scatter, solve_base
from simsoft.bodies.free.frozen import gather_stiff, stiff_inertia
from simsoft.bodies.free.step import POSE_COLUMNS
from simsoft.bodies.free.stepper import advance_tree, begin
from simsoft.bodies.free.work import make_tree_work
from simsoft.bodies.rod.equilibrium import make_stream
from simsoft.mechanics.multibody import chain
from simsoft.mechanics.rotation import (
    append_rotation,
    matrix_from_quaternion,
    quaternion_from_vector,
    vector_from_quaternion,
)

STILL = make_stream(0.0, np.array([1.0, 0.0, 0.0]))
LOOSE = Line(FREE, np.zeros(3), 0.0, 1.0, 0.0, 0.0)
seeds = st.integers(0, 10_000)
TREES = {
    name: free(text, elements=4).tree for name, text in (("creature", CREATURE), ("worm", WORM))
}


def evaluated(tree, angle, rate, twist, turn=(0.3, -0.2, 0.5)):
    """Return the scratch arrays of a tree in a pose and motion, no wakes."""
    work = make_tree_work(len(tree.carrier), len(tree.length))
    q, frame = np.zeros(4), np.zeros((3, 3))
    quaternion_from_vector(np.array(turn), q)
    matrix_from_quaternion(q, frame)
    wake = np.zeros((len(tree.carrier), 4))
    evaluate_tree(
        tree, STILL, frame, np.array([0.1, 0.2, -0.3]), twist, quaternions(angle), angle, rate,
        wake, work,
    )  # fmt: skip
    return work


@njit  # type: ignore[untyped-decorator]
def solved(tree, work, base):
    """Solve for the accelerations; lists of chains do not leave compiled code."""
    chains = chains_of(tree, work)
    gather(tree, chains, work)
    solve_base(work, False, base)
    scatter(tree, chains, work, base)


def recursion(tree, angle, rate, twist):
    """Return accelerations of base and hinges by the recursion."""
    work = evaluated(tree, angle, rate, twist)
    work.inertia[:] = tree.structure + tree.fluid
    base = np.zeros(6)
    solved(tree, work, base)
    return base, work.hinge.copy(), work.link.copy()


def dense(tree, angle, rate, twist):
    """Return the same from the dense mass matrix: one unit rate at a time, and d'Alembert."""
    n = len(tree.length)
    inertia = tree.structure + tree.fluid
    whole = tree.base.structure + tree.base.fluid
    columns = []
    for j in range(6 + 3 * n):
        unit = np.zeros(6 + 3 * n)
        unit[j] = 1.0
        still = evaluated(tree, angle, unit[6:].reshape(n, 3), unit[:6].copy())
        columns.append((unit[:6], np.hstack([still.spin, still.glide])))
    work = evaluated(tree, angle, rate, twist)
    drift = link_drift(tree, angle, rate, twist)
    mass = np.array(
        [
            [a @ whole @ b + np.einsum("ki,kij,kj->", u, inertia, v) for b, v in columns]
            for a, u in columns
        ]
    )
    force = np.array(
        [
            -(a @ work.base_bias)
            - np.einsum("ki,ki->", u, work.bias + np.einsum("kij,kj->ki", inertia, drift))
            for a, u in columns
        ]
    )
    force[6:] += work.moment.ravel()
    found = np.linalg.solve(mass, force)
    return found[:6], found[6:].reshape(n, 3)


def link_drift(tree, angle, rate, twist):
    """Return link accelerations for no acceleration of base and hinges, by differences in time."""

    def links(time):
        q = quaternions(angle)
        for k in range(len(q)):
            step = np.zeros(4)
            append_rotation(q[k], time * rate[k], step)
            q[k] = step
        moved = np.zeros_like(angle)
        for k in range(len(q)):
            vector_from_quaternion(q[k], moved[k])
        work = evaluated(tree, moved, rate, twist)
        return np.hstack([work.spin, work.glide])

    h = 1e-5
    return (links(h) - links(-h)) / (2.0 * h)


@settings(max_examples=8, deadline=None)
@given(seeds, st.sampled_from(sorted(TREES)))
def test_recursion_is_the_dense_solution(seed, name):
    tree = TREES[name]
    rng = np.random.default_rng(seed)
    n = len(tree.length)
    angle, rate = rng.normal(0.0, 0.3, (n, 3)), rng.normal(0.0, 2.0, (n, 3))
    twist = rng.normal(0.0, 0.5, 6)
    base, hinge, _ = recursion(tree, angle, rate, twist)
    expected_base, expected_hinge = dense(tree, angle, rate, twist)
    scale = np.abs(expected_hinge).max()
    assert base == pytest.approx(expected_base, rel=1e-5, abs=1e-6 * scale)
    assert hinge == pytest.approx(expected_hinge, rel=1e-5, abs=1e-6 * scale)


def test_a_frozen_lure_moves_as_one():
    """The composite inertia is that of rates with all hinges still."""
    tree = TREES["worm"]
    n = len(tree.length)
    angle = np.random.default_rng(3).normal(0.0, 0.2, (n, 3))
    work = evaluated(tree, angle, np.zeros((n, 3)), np.zeros(6))
    stiff_inertia(tree, work)
    gather_stiff(tree, work)
    inertia = tree.structure + tree.fluid
    for i in range(6):
        unit = np.eye(6)[i]
        moved = evaluated(tree, angle, np.zeros((n, 3)), unit.copy())
        links = np.hstack([moved.spin, moved.glide])
        energy = unit @ (tree.base.structure + tree.base.fluid) @ unit
        energy += np.einsum("ki,kij,kj->", links, inertia, links)
        assert work.total[i, i] == pytest.approx(energy, rel=1e-10)


def flown(lure, line, step, steps, state, leads=None, ready=True):
    """Return poses and nodes of every step."""
    poses = np.zeros((steps, POSE_COLUMNS))
    nodes = np.zeros((steps, len(lure.tree.length), 6))
    path = np.zeros((steps, 3, 3)) if leads is None else leads
    if ready:
        begin(lure.tree, STILL, line, path[0], state)
    done = advance_tree(lure.tree, STILL, line, path, step, steps, 1, state, poses, nodes)
    assert done == steps
    return poses, nodes[:, :, :3]


def test_free_spin_keeps_energy_and_angular_momentum():
    """An asymmetric top in no fluid, turning about its unstable axis (Euler's equations)."""
    lure = alone(bare_base(0.01, (1e-6, 2e-6, 3e-6)))
    errors = []
    sizes = [2e-3, 1e-3, 5e-4]
    for step in sizes:
        state = state_at_rest(lure, 0.0, lean=0.0)
        spin = np.array([0.5, 12.0, 0.3])
        state.motion[0, :3] = spin
        poses, _ = flown(lure, LOOSE, step, round(2.0 / step), state)
        inertia = np.diag([1e-6, 2e-6, 3e-6])
        world = np.einsum("tij,tj->ti", pose_frames(poses), poses[:, 7:10] @ inertia)
        first = (
            pose_frames(np.array([[0, 0, 0, 1, 0, 0, 0, *spin, 0, 0, 0, 0, 0, 0.0]]))[0]
            @ inertia
            @ spin
        )
        errors.append(np.abs(world[-1] - first).max() / np.linalg.norm(first))
    assert errors[-1] < 2e-3
    assert observed_order(sizes, errors) > 1.7


def test_a_heavy_base_holds_a_chain_like_a_clamp():
    """The free lure with a base of a ton against the held rod, node by node."""
    lure = free(CREATURE, elements=6)
    heavy = lure.tree.base._replace(structure=1e9 * np.eye(6), weight=0.0, buoyancy=0.0)
    tree = lure.tree._replace(base=heavy)
    held = lure.__class__(**{**lure.__dict__, "tree": tree})
    state = state_at_rest(held, 0.0, lean=0.0)
    _, nodes = flown(held, LOOSE, 1e-3, 200, state, ready=False)
    c = lure.names.index("leg")
    rod = chain(tree, c, tree.mount[c], tree.mount_at[c])
    flight = Flight(rod, STILL, rod.natural.copy())
    a, b = tree.first[c], tree.first[c + 1]
    flight.fly(1e-3, 200)
    moved = np.abs(nodes[-1, a:b] - nodes[0, a:b]).max()
    assert moved > 1e-4
    assert nodes[-1, a:b] == pytest.approx(flight.state().node, abs=1e-6 * moved + 1e-9)


def test_held_eye_stays_on_its_path_and_the_line_carries_the_weight():
    lure = free(CREATURE, elements=4)
    line = Line(HELD, np.zeros(3), 0.0, 1.0, 0.0, 0.0)
    state = state_at_rest(lure, 0.5)
    poses, _ = flown(lure, line, 2e-3, 4000, state)
    assert np.abs(poses[-1, :3]).max() == 0.0
    net = (lure.mass - lure.displaced) * 9.80665
    assert poses[-1, 15] == pytest.approx(net, rel=0.01)
    assert abs(poses[-1, 13]) < 0.02 * net


def test_a_slack_line_does_not_pull_and_a_short_one_does():
    lure = alone(bare_base(0.01, (1e-6,) * 3, weight=0.0981, drag=0.5))
    leads = np.zeros((3000, 3, 3))
    leads[:, 0, 2] = 0.5
    poses, _ = flown(lure, Line(ONE_SIDED, np.zeros(3), 0.0, 0.6, 200.0, 0.2), 1e-3, 3000,
                     state_at_rest(lure, 0.0), leads)  # fmt: skip
    taut = np.flatnonzero(poses[:, 15] > 0.0)
    assert np.abs(poses[: taut[0], 13:]).max() == 0.0
    assert poses[taut[0], 2] == pytest.approx(-0.1, abs=0.01)
    assert poses[-1, 15] == pytest.approx(0.0981, rel=0.02)
