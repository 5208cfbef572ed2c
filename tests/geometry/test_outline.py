"""Cutting a part into elements."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from physics import close, strip_part

from simsoft.case.model import Taper
from simsoft.geometry.stations import IMPERFECTION, along, cut, lobes


@given(st.integers(2, 60), st.floats(1e-3, 1.0))
def test_elements_fill_the_length_and_nodes_share_it(elements, length):
    stations = cut(strip_part(length=length), elements, 0.0, 0.0)
    assert stations.length.sum() == close(length)
    assert stations.span[:-1] == close(stations.length[:-1])
    assert stations.span[-1] == close(0.5 * stations.length[-1])


def test_dimensions_are_linear_between_stations():
    taper = Taper((0.0, 0.25, 1.0), (1.0, 2.0, 0.5))
    assert along(taper, np.array([0.0, 0.125, 0.25, 0.625, 1.0])) == close(
        [1.0, 1.5, 2.0, 1.25, 0.5]
    )


def test_elements_take_their_middle_and_nodes_their_end():
    part = strip_part(width=Taper((0.0, 1.0), (0.0, 0.4)), thickness=Taper((0.0, 1.0), (0.2, 0.1)))
    stations = cut(part, 2, 0.0, 0.0)
    assert stations.element_width == close([0.1, 0.3])
    assert stations.node_width == close([0.2, 0.4])
    assert stations.element_thickness == close([0.175, 0.125])
    assert stations.node_thickness == close([0.15, 0.1])


def test_thickness_shift_leaves_the_width_but_of_a_leg():
    part = strip_part()
    plain, thick = cut(part, 3, 0.0, 0.0), cut(part, 3, 1e-4, 0.0)
    assert thick.node_thickness - plain.node_thickness == close(np.full(3, 1e-4))
    assert thick.element_thickness - plain.element_thickness == close(np.full(3, 1e-4))
    assert thick.node_width == close(plain.node_width)
    leg = cut(replace(part, kind="leg"), 3, 1e-4, 0.0)
    assert leg.node_width - plain.node_width == close(np.full(3, 1e-4))
    assert leg.element_width - plain.element_width == close(np.full(3, 1e-4))


@pytest.mark.parametrize("elements", [3, 17])
def test_curl_and_set_add_up_whatever_the_element_count(elements):
    part = strip_part(arc_angle=2.4, set_angle=-0.8)
    turn = cut(part, elements, 0.0, 0.25).turn
    assert turn.sum(axis=0) == close([0.0, 2.4 - 0.2, 0.0])
    assert np.ptp(turn[:, 1]) < 1e-15


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_sickle_turns_in_its_plane_with_a_little_way_out_of_it(sign):
    part = strip_part(arc_angle=sign * 1.5, curl="in-plane")
    turn = cut(part, 8, 0.0, 0.0).turn
    assert turn.sum(axis=0) == close([-sign * 1.5, sign * IMPERFECTION, 0.0])


def test_one_strip_keeps_the_name_of_its_part():
    part = strip_part(name="ribbon")
    assert lobes(part) == [("ribbon", part)]


@pytest.mark.parametrize("degrees", [0.0, 20.0, 60.0])
def test_lobes_of_a_fork_leave_the_root_at_the_fork_angle(degrees):
    angle = math.radians(degrees)
    part = strip_part(kind="fork-tail", fork_angle=angle, name="fork")
    (upper_name, upper), (lower_name, lower) = lobes(part)
    assert (upper_name, lower_name) == ("fork/upper", "fork/lower")
    for lobe, sign in ((upper, 1.0), (lower, -1.0)):
        ahead, across = np.array(lobe.direction), np.array(lobe.width_axis)
        assert ahead @ np.array(part.direction) == close(math.cos(angle))
        assert ahead @ np.array(part.width_axis) == close(sign * math.sin(angle))
        assert ahead @ across == pytest.approx(0.0, abs=1e-15)
        assert np.linalg.norm(across) == close(1.0)
        assert lobe.length == part.length
