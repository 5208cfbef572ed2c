"""Quadrilaterals on outlines: they fill it, fold nowhere, keep its corners, and are many-sided."""

import numpy as np
import pytest

from simsoft.geometry import quads
from simsoft.geometry.meshing import quads_on

TURN = np.linspace(0.0, 2.0 * np.pi, 120, endpoint=False)


def ring(x, y):
    return tuple(zip(map(float, x), map(float, y), strict=True))


SHAPES = {
    "box": (((0.0, -5.0), (30.0, -5.0), (30.0, 5.0), (0.0, 5.0)),),
    "ellipse": (ring(15 + 15 * np.cos(TURN), 8 * np.sin(TURN)),),
    "claw": (((0.0, -2.5), (7.0, -2.5), (10.5, -8.0), (30.0, -8.0), (36.0, -4.0), (36.0, 4.0),
              (30.0, 8.0), (10.5, 8.0), (7.0, 2.5), (0.0, 2.5)),),
    "hole": (((0.0, -10.0), (30.0, -10.0), (30.0, 10.0), (0.0, 10.0)),
             ring(15 + 4 * np.cos(-TURN), 4 * np.sin(-TURN))),
    "scallop": (ring(15 + 15 * np.cos(TURN) * (1 + 0.3 * np.cos(5 * TURN)),
                     12 * np.sin(TURN) * (1 + 0.3 * np.cos(5 * TURN))),),
    "needle": (((0.0, -0.6), (40.0, -0.3), (40.0, 0.3), (0.0, 0.6)),),
}  # fmt: skip


def area_of(points):
    x, y = np.asarray(points).T
    return 0.5 * abs(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))


def corners(plan, quads):
    """Return the sine at every corner of every quadrilateral (E, 4); negative where bent in."""
    found = []
    for k in range(4):
        before, here, after = (plan[quads[:, (k + s) % 4]] for s in (-1, 0, 1))
        a, b = after - here, before - here
        cross = a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]
        found.append(cross / np.linalg.norm(a, axis=1) / np.linalg.norm(b, axis=1))
    return np.array(found).T


@pytest.mark.parametrize("size", [3.0, 1.5])
@pytest.mark.parametrize("name", SHAPES)
def test_they_fill_the_outline_and_fold_nowhere(name, size):
    plan, quads = quads_on(SHAPES[name], size)
    assert corners(plan, quads).min() > 0.05
    a = plan[quads[:, 2]] - plan[quads[:, 0]]
    b = plan[quads[:, 3]] - plan[quads[:, 1]]
    whole = 0.5 * np.sum(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0])
    wanted = area_of(SHAPES[name][0]) - sum(area_of(hole) for hole in SHAPES[name][1:])
    assert whole == pytest.approx(wanted, rel=0.06)  # small curves of the rim are cut straight
    edges = np.concatenate([quads[:, [k, (k + 1) % 4]] for k in range(4)])
    _, count = np.unique(np.sort(edges, axis=1), axis=0, return_counts=True)
    assert count.max() == 2


@pytest.mark.parametrize("name", ["box", "claw", "hole"])
def test_most_corners_are_square(name):
    found = corners(*quads_on(SHAPES[name], 1.5))
    assert np.quantile(found.min(axis=1), 0.05) > 0.6
    assert found.mean() > 0.93


def test_a_box_keeps_its_area_and_what_is_asked_becomes_a_node():
    keep = ((8.0, -5.0), (22.0, 5.0))
    outline = ((0.0, -5.0), keep[0], (30.0, -5.0), (30.0, 5.0), keep[1], (0.0, 5.0))
    plan, _ = quads_on((outline,), 2.0, keep)
    for point in (*keep, (0.0, -5.0), (30.0, 5.0)):
        assert np.linalg.norm(plan - point, axis=1).min() < 1e-12


def test_the_same_outline_gives_the_same_mesh():
    quads_on.cache_clear()
    first = quads_on(SHAPES["claw"], 2.0)
    quads_on.cache_clear()
    again = quads_on(SHAPES["claw"], 2.0)
    assert (first[0] == again[0]).all()
    assert (first[1] == again[1]).all()


def test_a_thicket_is_refused_before_its_rim_has_grown_many_times(monkeypatch):
    turn = 2.0 * np.pi * (np.arange(400) + 0.5) / 400
    reach = np.random.default_rng(36).choice([1.0, 1.0, 0.9, 0.3, 0.01, 3.0], 400)
    star = np.stack([15.0 + 15.0 * reach * np.cos(turn), 8.0 * reach * np.sin(turn)], axis=1)
    sizes = []
    cut = quads._triangles

    def counted(rims, side):
        sizes.append(sum(map(len, rims)))
        return cut(rims, side)

    monkeypatch.setattr(quads, "_triangles", counted)
    with pytest.raises(ValueError, match="too fine for this mesh"):
        quads.quads_between([star], 1.0)
    assert max(sizes) <= quads.SPLIT_SIDES * sizes[0]


def test_inside_counts_crossings_of_a_ray_whatever_the_order_of_the_points():
    rng = np.random.default_rng(1)
    for _ in range(50):
        rims = [rng.integers(0, 8, (rng.integers(3, 30), 2)).astype(float) for _ in range(2)]
        points = np.vstack([rng.integers(0, 8, (50, 2)).astype(float), rng.uniform(0, 8, (50, 2))])
        slow = np.zeros(len(points), dtype=bool)
        x, y = points.T
        for rim in rims:
            for (ax, ay), (bx, by) in zip(rim, np.roll(rim, -1, axis=0), strict=True):
                if ay != by:
                    slow ^= ((ay > y) != (by > y)) & (x < (bx - ax) * (y - ay) / (by - ay) + ax)
        assert (quads._inside(rims, points) == slow).all()
