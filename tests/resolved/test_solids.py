"""Signed distances, walls on links, and how far solids reach."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from simsoft.resolved.pieces import form, in_cells, no_pieces, with_body, with_piece
from simsoft.resolved.solids import (
    BODY,
    BOX,
    CYLINDER,
    DISC,
    ELLIPSOID,
    extents,
    local_distance,
    nearest_solid,
    wall_velocity,
)
from simsoft.resolved.walls import bounced, wall_share

TABLE = np.zeros((1, 3), np.float32)
place = st.floats(-12.0, 12.0, allow_subnormal=False)


def distance(kind, sizes, point, rounding=0.0):
    row = np.array(form(kind, *sizes, rounding), np.float32)
    return local_distance(*np.array(point, np.float32), row, TABLE)


@given(place, place, place)
def test_distance_to_a_ball_is_exact(x, y, z):
    found = distance(ELLIPSOID, (4.0, 4.0, 4.0), (x, y, z))
    assert found == pytest.approx(np.sqrt(x * x + y * y + z * z) - 4.0, abs=2e-5)


@pytest.mark.parametrize(
    ("point", "expected"),
    [((0, 0, 0), -1.0), ((3, 0, 0), 1.0), ((0, 0, 4), 1.0), ((3, 5, 0), np.sqrt(5.0))],
)
def test_distance_to_a_box(point, expected):
    assert distance(BOX, (2.0, 3.0, 3.0), point) == pytest.approx(
        expected if point != (0, 0, 0) else -2.0, abs=1e-5
    )


def test_distance_to_a_disc_along_its_axis_and_in_its_plane():
    sizes = (6.0, 6.0, 1.0)
    assert distance(DISC, sizes, (0, 0, 3), 0.25) == pytest.approx(2.0, abs=1e-5)
    assert distance(DISC, sizes, (0, 9, 0), 0.25) == pytest.approx(3.0, abs=1e-5)
    assert distance(DISC, sizes, (0, 0, 0), 0.25) == pytest.approx(-1.0, abs=1e-5)


def test_a_rounded_edge_lies_inside_the_sharp_one():
    sharp = distance(DISC, (6.0, 6.0, 1.0), (5.9, 0, 0.9))
    rounded = distance(DISC, (6.0, 6.0, 1.0), (5.9, 0, 0.9), 0.8)
    assert sharp < 0.0 < rounded


def test_a_body_of_even_sections_is_a_cylinder_between_its_ends():
    pieces = with_body(
        no_pieces(), np.zeros(3), np.full(5, 2.0), np.full(5, 2.0), np.zeros(5), 20.0
    )
    forms, table = in_cells(pieces, 1.0)
    row = forms[0]
    assert row[0] == BODY
    poses = np.zeros((1, 18), np.float32)
    poses[0, :3] = pieces.offset[0]
    poses[0, 3:12] = np.eye(3).ravel()
    found, which = nearest_solid(np.float32(10), np.float32(5), np.float32(0), forms, poses, table)
    assert (which, found) == (0, pytest.approx(3.0, abs=0.01))
    ahead, _ = nearest_solid(np.float32(-1.5), np.float32(0), np.float32(0), forms, poses, table)
    assert ahead == pytest.approx(1.5, abs=0.01)


def test_extents_follow_the_turn_of_a_solid_and_endless_ones_have_none_along_their_axis():
    pieces = with_piece(no_pieces(), form(DISC, 3.0, 3.0, 1.0), 0, np.zeros(3), np.eye(3))
    pieces = with_piece(pieces, form(CYLINDER, 2.0, 2.0, 2.0), 0, np.zeros(3), np.eye(3))
    turned = np.stack([np.roll(np.eye(3), 1, axis=0), np.eye(3)]).astype(np.float32)
    found = extents(pieces.forms.astype(np.float32), turned)
    assert sorted(found[0]) == pytest.approx([1.0, 3.0, 3.0])
    assert found[1, :2] == pytest.approx([2.0, 2.0])
    assert np.isinf(found[1, 2])


def test_wall_velocity_of_a_turning_solid_goes_with_the_arm():
    pose = np.zeros(18, np.float32)
    pose[:3] = (1, 2, 3)
    pose[12:15] = (0.1, 0.0, 0.0)
    pose[15:18] = (0.0, 0.0, 0.5)
    found = wall_velocity(*np.array([1, 4, 3], np.float32), pose)
    assert found == pytest.approx((0.1 - 0.5 * 2.0, 0.0, 0.0), abs=1e-6)


@given(st.floats(0.05, 1.0), st.floats(-1, 1, allow_subnormal=False))
def test_a_still_wall_sends_a_uniform_population_back_as_it_came(share, value):
    v = np.float32(value)
    back = bounced(v, v, v, np.float32(share), True, np.float32(0.0))
    assert back == pytest.approx(value, abs=2e-6)


def test_the_two_forms_of_a_wall_meet_half_way():
    parts = [np.float32(x) for x in (0.3, 0.7, -0.2)]
    none = np.float32(0.01)
    below = bounced(*parts, np.float32(0.4999999), True, none)
    above = bounced(*parts, np.float32(0.5), True, none)
    assert below == pytest.approx(above, abs=1e-5)


def test_the_share_of_a_link_is_where_the_distance_changes_sign():
    assert wall_share(np.float32(0.3), np.float32(-0.7)) == pytest.approx(0.3)
