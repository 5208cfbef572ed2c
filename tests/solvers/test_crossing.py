"""Sign changes of a known growth, and speeds without a rest shape."""

import math

import numpy as np
import pytest

from simsoft.solvers.crossing import NO_REST, Lead, Samples, brackets, locate, locate_jump, refine


def search(growth, speeds, limit=0.0, length=1.0):
    """Return (speed, starts) of every crossing of a growth given as a function of speed."""

    def sample(speed):
        value = growth(speed)
        return NO_REST if value is None else Lead(value, 1.0, value)

    leads = np.array([sample(speed) for speed in speeds])
    samples = refine(Samples(np.asarray(speeds), *leads.T), length, sample)
    return [
        (locate(low, high, starts, limit, sample), starts)
        for low, high, starts in brackets(samples, limit, sample)
    ]


SPEEDS = np.geomspace(0.1, 2.0, 25)


def test_crossings_are_where_they_are():
    found = search(lambda u: math.sin(3.0 * u), SPEEDS)
    assert [starts for _, starts in found] == [True, False]
    assert found[1][0] == pytest.approx(math.pi / 3.0, rel=1e-3)


def test_a_missing_rest_shape_ends_no_search():
    """One sample and a band of speeds without a rest shape; growth begins beyond."""

    def growth(speed):
        return None if 0.5 < speed < 0.6 else speed - 1.0

    assert [s for s, _ in search(growth, SPEEDS)] == pytest.approx([1.0], rel=1e-3)


def test_a_missing_rest_shape_between_samples_ends_no_search():
    """As with one of the speeds that are put in where the growth is close to zero."""

    def growth(speed):
        asked = np.any(np.isclose(speed, SPEEDS, rtol=1e-12))
        return speed - 1.0 if asked or speed > 0.97 else None

    assert [s for s, _ in search(growth, SPEEDS)] == pytest.approx([1.0], rel=1e-2)


def test_growth_at_the_lowest_speed_is_a_crossing_below_it():
    ((speed, starts),) = search(lambda _: 1.0, SPEEDS)
    assert starts
    assert speed <= SPEEDS[0]


def test_no_rest_shape_at_all_gives_no_crossing():
    assert search(lambda _: None, SPEEDS) == []


def test_a_dip_between_two_samples_is_found():
    def growth(speed):
        return 0.002 - math.exp(-(((speed - 1.03) / 0.02) ** 2))

    found = search(growth, np.linspace(0.9, 1.1, 6), length=50.0)
    assert [starts for _, starts in found] == [True, False, True]


def test_a_jump_is_located_as_well():
    ((speed, _),) = search(lambda u: -3.0 if u < 0.777 else 8.0, SPEEDS)
    assert speed == pytest.approx(0.777, rel=1e-3)


def test_a_jump_is_halved_to_the_lowest_speed_that_grows():
    def sample(speed):
        return Lead(0.2, 0.0, 0.2) if speed >= 0.73 else NO_REST

    found = locate_jump(0.6, 0.8, 0.0, sample, 1e-3)
    assert 0.73 <= found <= 0.73 * 1.001
