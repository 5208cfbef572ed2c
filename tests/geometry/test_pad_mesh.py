"""Mesh of a paddle that bends: area, middle, the patch that the stem holds."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from simsoft.case.model import PaddleInput, Part, Taper
from simsoft.geometry.paddle import plate_area
from simsoft.geometry.paddle_mesh import corner_sine, cut_pad, stem_patch
from simsoft.hydrodynamics.plate.panels import panel_areas


def tail(shape="disc", width=15e-3, height=15e-3, offset=2e-3, stem=(5e-3, 2.4e-3)):
    paddle = PaddleInput(shape, width, height, 3e-3, math.radians(88.0), offset)
    size, thick = Taper((0.0,), (stem[0],)), Taper((0.0,), (stem[1],))
    return Part("tail", "paddle-tail", 11e-3, size, thick, paddle=paddle)


@settings(max_examples=30, deadline=None)
@given(
    shape=st.sampled_from(["disc", "boot"]),
    around=st.integers(8, 32),
    offset=st.floats(-4.5e-3, 4.5e-3),
    stem=st.tuples(st.floats(2e-3, 12e-3), st.floats(1e-3, 4e-3)),
)
def test_elements_are_right_way_round_and_fill_the_plate(shape, around, offset, stem):
    part = tail(shape, height=15e-3 if shape == "disc" else 19e-3, offset=offset, stem=stem)
    found = cut_pad(part, around, 0.0)
    area = panel_areas(found.plan[found.quads])
    assert area.min() > 0.0
    assert corner_sine(found.plan, found.quads) > 0.05
    np.testing.assert_allclose(area.sum(), plate_area(part.paddle), rtol=1e-9)
    # two triangles an element: the middle of the whole is exact
    corner = found.plan[found.quads]
    middle = np.zeros(2)
    for i, j, k in ((0, 1, 2), (0, 2, 3)):
        a, b = corner[:, j] - corner[:, i], corner[:, k] - corner[:, i]
        half = 0.5 * (a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0])
        middle += half @ (corner[:, i] + corner[:, j] + corner[:, k]) / 3.0
    assert np.abs(middle / area.sum()).max() < 1e-9
    assert found.clamped.sum() >= 9
    assert set(found.outline[:-1]).isdisjoint(np.flatnonzero(found.clamped))


def test_held_patch_is_the_stems_end_section():
    part = tail()
    found = cut_pad(part, 16, 0.0)
    patch = found.plan[found.clamped]
    np.testing.assert_allclose(np.ptp(patch, axis=0), [2.4e-3, 5e-3 / math.sin(math.radians(88))])
    np.testing.assert_allclose(
        0.5 * (patch.min(axis=0) + patch.max(axis=0)), [0.0, 2e-3], atol=1e-9
    )


def test_what_reaches_past_the_rim_is_left_out():
    half_kick, half_up, middle = stem_patch(tail(offset=5e-3, stem=(6e-3, 2e-3)))
    assert middle + half_up == pytest.approx(0.7 * 7.5e-3)
    assert half_kick == pytest.approx(1e-3)


def test_a_stem_that_misses_its_paddle_is_told():
    with pytest.raises(ValueError, match="paddle_offset"):
        cut_pad(tail(offset=12e-3), 16, 0.0)
