"""Depth under a body's surface against its surface laid out in points."""

import numpy as np
import pytest

from simsoft.case.model import BodyInput, Taper
from simsoft.geometry.bare_wire import covered
from simsoft.geometry.body_surface import depth_in_body

LENGTH = 0.08
ROUND = Taper((0.0, 1.0), (0.012, 0.012))
TALL = Taper((0.0, 0.5, 1.0), (0.010, 0.016, 0.008))
SLIM = Taper((0.0, 1.0), (0.010, 0.008))


def body_of(height, width, section="ellipse"):
    return BodyInput("creature", LENGTH, height, width, section=section)


def surface_points(body):
    """Return points of the wall of a body, 0.1 to 0.2 mm apart."""
    share = np.linspace(0.0, 1.0, 600)
    tall = np.interp(share, body.height.stations, body.height.values)[:, None] / 2
    wide = np.interp(share, body.width.stations, body.width.values)[:, None] / 2
    turn = np.linspace(0.0, 2.0 * np.pi, 300)
    y, z = np.cos(turn), np.sin(turn)
    if body.section == "rectangle":
        largest = np.maximum(abs(y), abs(z))
        y, z = y / largest, z / largest
    x = np.broadcast_to(share[:, None] * LENGTH, (600, 300))
    return np.stack([x, wide * y, tall * z], axis=2).reshape(-1, 3)


@pytest.mark.parametrize(
    ("body", "off"),
    [
        (body_of(ROUND, ROUND), 0.02),
        (body_of(TALL, SLIM), 0.15),
        (body_of(TALL, SLIM, "rectangle"), 0.02),
    ],
)
def test_the_depth_is_the_way_to_the_nearest_point_of_the_wall(body, off):
    rng = np.random.default_rng(4)
    point = rng.uniform((0.02, -0.007, -0.01), (0.06, 0.007, 0.01), (200, 3))
    depth = depth_in_body(body, point)
    assert np.array_equal(depth > 0.0, covered(body, point))
    wall = surface_points(body)
    near = np.array([np.linalg.norm(wall - p, axis=1).min() for p in point])
    shallow = (depth > 0.0) & (near < 2.5e-3)
    assert shallow.sum() > 20
    assert depth[shallow] == pytest.approx(near[shallow], rel=off, abs=1.5e-4)


def test_no_point_lies_deeper_than_the_nearer_wall_or_past_the_ends():
    body = body_of(ROUND, ROUND)
    middle, tail, behind = depth_in_body(
        body, np.array([[0.04, 0.0, 0.0], [0.079, 0.0, 0.0], [0.085, 0.0, 0.0]])
    )
    assert middle == pytest.approx(0.006)
    assert tail == pytest.approx(0.001)
    assert behind == pytest.approx(-0.005)
