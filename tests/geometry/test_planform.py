"""Planforms: which model, grid, moulded shape, axes."""

from dataclasses import replace

import numpy as np
import pytest

from simsoft.case.model import Part, Taper
from simsoft.geometry.planform import axes_of, bends_as, cut_planform, mapped
from simsoft.geometry.stations import mirror_image

WIDE = Part("fin", "strip", 0.03, Taper((0.0, 1.0), (0.012, 0.02)), Taper((0.0,), (0.001,)))


@pytest.mark.parametrize(
    ("changes", "model"),
    [
        ({}, "plate"),
        ({"model": "rod"}, "rod"),
        ({"width": Taper((0.0,), (0.006,))}, "rod"),
        ({"width": Taper((0.0,), (0.006,)), "model": "plate"}, "plate"),
        ({"kind": "curl-tail"}, "rod"),
        ({"section": "ellipse"}, "rod"),
    ],
)
def test_model_by_shape_or_by_the_case(changes, model):
    found, reason = bends_as(replace(WIDE, **changes))
    assert found == model
    assert reason


def test_grid_covers_the_planform():
    grid = mapped(WIDE, 12, 0.0, 0.0)
    corner = grid.plan[grid.quads]
    a, b = corner[:, 2] - corner[:, 0], corner[:, 3] - corner[:, 1]
    area = 0.5 * (a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0])
    assert np.all(area > 0.0)
    assert area.sum() == pytest.approx(0.03 * 0.016)
    assert np.array_equal(np.flatnonzero(grid.clamped), np.flatnonzero(grid.plan[:, 0] == 0.0))
    assert len(grid.outline) == 2 * 12 + len(grid.tip)


def test_thickness_shift_is_added():
    assert np.allclose(mapped(WIDE, 6, 1e-4, 0.0).thickness, 1.1e-3)


def test_moulded_curl_turns_the_tip_toward_the_thickness_axis():
    grid = mapped(replace(WIDE, arc_angle=1.0), 12, 0.0, 0.0)
    axes = axes_of(WIDE)
    tip = axes @ grid.state[grid.centre[-1], :3]
    thickness_axis = np.cross(WIDE.width_axis, WIDE.direction)
    assert tip @ thickness_axis == pytest.approx(0.03 * (1.0 - np.cos(1.0)))
    assert tip @ np.asarray(WIDE.direction) == pytest.approx(0.03 * np.sin(1.0))
    assert np.allclose(np.linalg.norm(grid.state[:, 3:], axis=1), 1.0)


def test_mirror_image_curls_the_other_way():
    part = replace(WIDE, arc_angle=1.0, direction=(1.0, 0.0, 0.0), width_axis=(0.0, 0.0, 1.0))
    one, other = part, mirror_image(part)
    places = [mapped(p, 6, 0.0, 0.0).state[:, :3] @ axes_of(p).T for p in (one, other)]
    assert np.allclose(places[0] * [1.0, -1.0, 1.0], places[1])


def test_sickle_bends_in_its_own_plane():
    grid = mapped(replace(WIDE, arc_angle=1.0, curl="in-plane"), 12, 0.0, 0.0)
    assert np.allclose(grid.state[:, 2], 0.0)
    assert grid.plan[grid.centre[-1], 1] == pytest.approx(0.03 * (1.0 - np.cos(1.0)))


@pytest.mark.parametrize("elements", [16, 60])
def test_only_the_rim_of_a_drawn_root_is_held(elements):
    """A mesh finer than the share of the length that counts as root holds no second row."""
    ring = ((0.0, -6e-3), (30e-3, -6e-3), (30e-3, 6e-3), (0.0, 6e-3))
    part = Part("pad", "strip", 30e-3, Taper((0.0,), (12e-3,)), Taper((0.0,), (1e-3,)),
                outline=(ring,))  # fmt: skip
    made = cut_planform(part, elements, 0.0, 0.0)
    assert made.clamped.sum() > 3
    assert made.plan[made.clamped, 0].max() == 0.0
    assert (made.plan[~made.clamped, 0] > 0.0).all()
