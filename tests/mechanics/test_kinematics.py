"""Positions against plain summation, velocities against finite differences of positions."""

import numpy as np
import pytest
from physics import (
    FLAT,
    X,
    bare_rod,
    elastica,
    moved,
    observed_order,
    placed,
    quaternions,
    rotation,
    vectors,
)

from simsoft.bodies.rod.equilibrium import make_stream
from simsoft.mechanics.elastic import hinge_bending
from simsoft.mechanics.kinematics import bend, bend_changes
from simsoft.mechanics.rotation import append_rotation


def uneven_rod(elements=7):
    """Return a rod with elements of different length, clamped off the origin."""
    rod = bare_rod((3.0, 1.0, 1.0), (1.0, 0.1, 0.1), (0.0, 0.0, 0.0), elements=elements)
    length = np.linspace(0.5, 1.5, elements) / elements
    return rod._replace(length=length, root=np.array([0.3, -0.1, 0.2]))


def random_angles(elements, seed=1, size=0.4):
    return np.random.default_rng(seed).normal(0.0, size, (elements, 3))


def test_positions_are_the_sum_of_turned_half_links():
    rod = uneven_rod()
    angle = random_angles(7)
    node, frame = placed(rod, angle)
    here, turn = rod.root.copy(), rod.frame.copy()
    for k in range(7):
        here = here + 0.5 * rod.length[k] * turn[:, 2]
        turn = turn @ rotation(angle[k])
        here = here + 0.5 * rod.length[k] * turn[:, 2]
        assert node[k] == pytest.approx(here, abs=1e-14)
        assert frame[k] == pytest.approx(turn, abs=1e-14)


def test_a_straight_rod_lies_along_the_clamp_direction():
    node, _ = placed(elastica(5, FLAT), np.zeros((5, 3)))
    assert node == pytest.approx(np.outer(np.arange(1, 6) / 5.0, X), abs=1e-15)


def test_velocities_are_those_of_the_positions():
    rod = uneven_rod()
    quaternion = quaternions(random_angles(7))
    rate = random_angles(7, seed=2, size=3.0)
    stream = make_stream(0.8, np.array([0.6, 0.0, 0.8]))
    work = moved(rod, quaternion, rate, stream)
    h = 1e-6
    hinges, frames = [], []
    for sign in (-1.0, 1.0):
        turned = np.zeros_like(quaternion)
        for k in range(7):
            append_rotation(quaternion[k], sign * h * rate[k], turned[k])
        other = moved(rod, turned, rate, stream)
        hinges.append(other.hinge)
        frames.append(other.frame)
    velocity = (hinges[1] - hinges[0]) / (2.0 * h) - stream.velocity
    turning = (frames[1] - frames[0]) / (2.0 * h)
    for k in range(7):
        assert work.frame[k] @ work.glide[k] == pytest.approx(velocity[k], abs=1e-8)
        spin = work.frame[k].T @ turning[k]
        assert work.spin[k] == pytest.approx([spin[2, 1], spin[0, 2], spin[1, 0]], abs=1e-8)


def test_a_rod_at_rest_meets_the_stream_and_nothing_else():
    stream = make_stream(1.3, X)
    work = moved(elastica(4), quaternions(random_angles(4)), np.zeros((4, 3)), stream)
    for k in range(4):
        assert work.frame[k] @ work.glide[k] == pytest.approx(-stream.velocity, abs=1e-14)
    assert np.all(work.spin == 0.0)


def bent(rod, angle, rate):
    result = [np.zeros_like(angle) for _ in range(3)]
    bending = np.zeros((len(angle), 4))
    hinge_bending(angle, rate, bending)
    bend(rod, angle, bending, *result)
    return result


def test_curvature_and_slope_of_a_linear_bend_are_exact():
    n = 10
    middle, node = (np.arange(n) + 0.5) / n, (np.arange(n) + 1.0) / n
    curve, slope = np.array([0.3, -1.2, 0.5]), np.array([1.0, 2.0, -0.7])
    angle = (curve + np.outer(middle, slope)) / n
    curvature, _, found = bent(elastica(n), angle, np.zeros((n, 3)))
    assert curvature == pytest.approx(curve + np.outer(node, slope), abs=1e-12)
    assert found == pytest.approx(np.tile(slope, (n, 1)), abs=1e-11)


def mean_over_elements(antiderivative, n):
    """Return the means over n equal elements of a rod of length one."""
    ends = antiderivative(np.arange(n + 1) / n)
    return np.diff(ends) * n


def test_curvature_of_a_quadratic_bend_is_exact_to_the_tip():
    """A hinge carries the whole turning of its element."""
    n = 9
    node = (np.arange(n) + 1.0) / n
    angle = np.outer(mean_over_elements(lambda s: s - s**2 + s**3, n), [0.2, -1.0, 0.5]) / n
    curvature, rate, _ = bent(elastica(n), angle, np.zeros((n, 3)))
    expected = np.outer(1.0 - 2.0 * node + 3.0 * node**2, [0.2, -1.0, 0.5])
    assert curvature == pytest.approx(expected, abs=1e-12)
    assert np.all(rate == 0.0)


def test_curvature_of_a_smooth_bend_is_third_order_at_least_and_its_rate_too():
    sizes, errors, rates, inside = np.array([30, 60, 120]), [], [], []
    for n in sizes:
        node = (np.arange(n) + 1.0) / n
        angle, rate = np.zeros((n, 3)), np.zeros((n, 3))
        angle[:, 1] = mean_over_elements(lambda s: -np.cos(2.0 * s) / 2.0, n) / n
        rate[:, 1] = mean_over_elements(lambda s: np.sin(3.0 * s) / 3.0, n) / n
        curvature, speed, _ = bent(elastica(n), angle, rate)
        error = np.abs(curvature[:, 1] - np.sin(2.0 * node))
        errors.append(error.max())
        inside.append(error[2:-3].max())
        rates.append(np.abs(speed[:, 1] - np.cos(3.0 * node)).max())
    assert observed_order(1.0 / sizes, errors) > 2.75
    assert observed_order(1.0 / sizes, rates) > 2.75
    assert observed_order(1.0 / sizes, inside) > 3.8


def test_change_of_the_bend_is_the_difference_of_two_bends():
    n = 8
    rod, angle = uneven_rod(n), random_angles(n)
    turn = random_angles(n, seed=4, size=1.0)
    found, slope_found = (values[:, :, 0] for values in bend_changes(rod, angle, turn[:, :, None]))
    ends = []
    for sign in (-1.0, 1.0):
        quaternion = np.zeros((n, 4))
        for k, base in enumerate(quaternions(angle)):
            append_rotation(base, sign * 1e-6 * turn[k], quaternion[k])
        ends.append(bent(rod, vectors(quaternion), np.zeros((n, 3))))
    change = [(b - a) / 2e-6 for a, b in zip(*ends, strict=True)]
    assert found == pytest.approx(change[0], abs=1e-7)
    assert slope_found == pytest.approx(change[2], abs=1e-6)
