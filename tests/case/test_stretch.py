"""Stretches of an outline by points and by shares."""

import itertools
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from simsoft.case.shapes.stretch import (
    by_points,
    by_shares,
    lengths_of,
    place_on,
    point_at,
    stretch,
)

BOX = ((0.0, -1.0), (3.0, -1.0), (3.0, 1.0), (0.0, 1.0))  # 10 round, counter-clockwise
SIDE = st.floats(0.0, 10.0, exclude_max=True)


@given(SIDE)
def test_a_place_on_the_curve_is_found_again(way):
    found, gap = place_on(BOX, point_at(BOX, way))
    assert gap == pytest.approx(0.0, abs=1e-12)
    assert math.dist(point_at(BOX, found), point_at(BOX, way)) < 1e-9


@given(SIDE, st.floats(0.01, 10.0))
def test_a_stretch_is_as_long_as_asked_and_leaves_the_curve_as_it_is(begin, long):
    ring, held = stretch(BOX, begin, begin + long)
    assert lengths_of(ring)[-1] == pytest.approx(10.0)
    assert sum(math.dist(a, b) for a, b in itertools.pairwise(held)) == pytest.approx(long)
    assert set(held) <= set(ring)
    assert set(BOX) <= set(ring)


def test_two_points_hold_the_shorter_way_between_them_in_either_order():
    for points in ([(0.0, -0.5), (2.0, -1.0)], [(2.0, -1.0), (0.0, -0.5)]):
        _, held = stretch(BOX, *by_points(BOX, points, 3.0))
        assert held == ((0.0, -0.5), (0.0, -1.0), (2.0, -1.0))


def test_a_third_point_leads_the_long_way_round():
    points = [(0.0, -0.5), (0.0, 1.0), (3.0, 0.0), (2.0, -1.0)]
    begin, end = by_points(BOX, points, 3.0)
    assert end - begin == pytest.approx(10.0 - 2.5)


def test_ends_near_a_corner_are_put_on_it():
    _, held = stretch(BOX, *by_points(BOX, [(0.02, -1.0), (2.99, -1.01)], 3.0))
    assert held == BOX[:2]


@pytest.mark.parametrize(
    ("points", "said"),
    [
        ([(0.0, 0.0), (1.5, 0.0)], "off the outline, nearest to"),
        ([(0.0, 0.0), (3.0, 0.0)], "a point of the stretch between"),
        ([(0.0, -0.5), (2.0, -1.0), (1.0, -1.0)], "back on itself"),
        ([(0.0, 0.0), (0.0, 0.0)], "has no length"),
    ],
)
def test_points_that_name_no_stretch_are_refused(points, said):
    with pytest.raises(ValueError, match=said):
        by_points(BOX, points, 3.0)


@pytest.mark.parametrize(("shares", "long"), [((0.9, 0.1), 2.0), ((0.1, 0.9), 8.0), ((0, 1), 10.0)])
def test_shares_begin_at_the_middle_of_the_root(shares, long):
    begin, end = by_shares(BOX, (0.0, 0.0), shares)
    assert end - begin == pytest.approx(long)
    assert begin % 10.0 == pytest.approx((9.0 + 10.0 * shares[0]) % 10.0)


def test_a_stretch_all_round_puts_no_point_on_the_curve_twice():
    ring, held = stretch(BOX, 9.0, 19.0)
    assert len(set(ring)) == len(ring) == 5
    assert held[0] == held[-1] == (0.0, 0.0)
