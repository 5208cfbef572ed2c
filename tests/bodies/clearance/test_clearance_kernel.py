"""Distances of segments and triangles against dense sampling and hand geometry."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from simsoft.bodies.clearance.kernel import nearest, segment_segment, segment_triangle

POINT = arrays(float, 3, elements=st.floats(-1.0, 1.0, width=32))
TRIANGLE = arrays(float, (3, 3), elements=st.floats(-1.0, 1.0, width=32))
GRID = np.linspace(0.0, 1.0, 41)


def segments(p, u, q, v):
    x, y = np.zeros(3), np.zeros(3)
    return segment_segment(p, u, q, v, x, y), x, y


def to_triangle(p, u, triangle):
    x, y = np.zeros(3), np.zeros(3)
    return segment_triangle(p, u, triangle, x, y), x, y


@settings(deadline=None, max_examples=60)
@given(POINT, POINT, POINT, POINT)
def test_segments_are_as_close_as_dense_sampling_says(p, u, q, v):
    found, x, y = segments(p, u, q, v)
    first, second = p + GRID[:, None] * u, q + GRID[:, None] * v
    sampled = np.linalg.norm(first[:, None] - second[None], axis=2).min()
    slack = 0.5 / 40.0 * (np.linalg.norm(u) + np.linalg.norm(v))
    assert sampled - slack - 1e-9 <= found <= sampled + 1e-9
    assert np.linalg.norm(x - y) == pytest.approx(found, abs=1e-12)


@settings(deadline=None, max_examples=60)
@given(POINT, POINT, TRIANGLE)
def test_a_triangle_is_as_close_as_dense_sampling_says(p, u, triangle):
    found, x, y = to_triangle(p, u, triangle)
    a, b = np.meshgrid(GRID, GRID)
    inside = a + b <= 1.0 + 1e-12
    e1, e2 = triangle[1] - triangle[0], triangle[2] - triangle[0]
    filled = triangle[0] + a[inside][:, None] * e1 + b[inside][:, None] * e2
    line = p + GRID[:, None] * u
    sampled = np.linalg.norm(line[:, None] - filled[None], axis=2).min()
    slack = 0.5 / 40.0 * (np.linalg.norm(u) + np.linalg.norm(e1) + np.linalg.norm(e2)) * 1.5
    assert sampled - slack - 1e-9 <= found <= sampled + 1e-9
    assert np.linalg.norm(x - y) == pytest.approx(found, abs=1e-9)


def test_a_segment_through_a_triangle_has_no_distance():
    flat = np.array([[0.0, 0.0, 0.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0]])
    found, x, _ = to_triangle(np.array([0.25, 0.25, -1.0]), np.array([0.0, 0.0, 3.0]), flat)
    assert found == 0.0
    assert x == pytest.approx([0.25, 0.25, 0.0])
    beside, _, _ = to_triangle(np.array([1.0, 1.0, -1.0]), np.array([0.0, 0.0, 3.0]), flat)
    assert beside == pytest.approx(math.sqrt(0.5))


def test_the_nearest_pieces_are_found_spot_by_spot_and_position_by_position():
    """A square plate passes over two wires; each gap is the height of the lower position."""
    flat = np.array([[[0.0, 0.0, 0.0], [1.0, 0.0, 0.0], [1.0, 1.0, 0.0]],
                     [[0.0, 0.0, 0.0], [1.0, 1.0, 0.0], [0.0, 1.0, 0.0]]])  # fmt: skip
    heights = (0.5, 0.2, 0.9)
    triangles = np.stack([flat + np.array([0.0, 0.0, height]) for height in heights])
    start = np.array([[0.3, 0.3, -0.1], [2.0, 0.5, -1.0]])
    end = np.array([[0.6, 0.6, -0.1], [2.0, 0.5, 1.0]])
    margin, where = np.full(3, np.inf), np.zeros((3, 2, 3))
    frame = np.zeros(3, dtype=np.int64)
    nearest(triangles, np.full(2, 0.05), start, end, np.array([0, 2]), margin, where, frame)
    assert margin == pytest.approx([0.3 - 0.05, math.inf, 1.0 - 0.05])
    assert frame[0] == 1
    assert where[0, 0, 2] == pytest.approx(0.2)
    assert where[0, 1, 2] == pytest.approx(-0.1)
    assert where[2, :, 0] == pytest.approx([1.0, 2.0])


def test_nothing_near_is_passed_over():
    """Spheres around triangles, pieces and spots leave the same gaps as looking at every pair."""
    rng = np.random.default_rng(11)
    triangles = rng.normal(size=(4, 9, 1, 3)) + 0.3 * rng.normal(size=(4, 9, 3, 3))
    start = np.cumsum(0.3 * rng.normal(size=(12, 3)), axis=0)
    end, spot = start + 0.3 * rng.normal(size=(12, 3)), np.repeat([0, 2], 6)
    thick = rng.uniform(0.0, 0.2, 9)
    margin, where, frame = np.full(3, math.inf), np.zeros((3, 2, 3)), np.zeros(3, dtype=np.int64)
    nearest(triangles, thick, start, end, spot, margin, where, frame)
    x, y = np.empty(3), np.empty(3)
    every = np.array(
        [
            [
                [segment_triangle(p, q - p, tri, x, y) - t for tri, t in zip(f, thick, strict=True)]
                for p, q in zip(start, end, strict=True)
            ]
            for f in triangles
        ]
    )
    for row in (0, 2):
        assert margin[row] == pytest.approx(every[:, spot == row].min(), abs=1e-12)
        assert every[frame[row]][spot == row].min() == pytest.approx(margin[row], abs=1e-12)
    assert margin[1] == math.inf
