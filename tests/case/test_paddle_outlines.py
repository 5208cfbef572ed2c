"""Outlines of paddles: what fills them, against sums over a fine grid of cells."""

import numpy as np
import pytest

from simsoft.case.paddle_outlines import PADDLE_OUTLINES, PaddleOutline

CELLS = 1000
OVAL, BOX = PADDLE_OUTLINES["disc"], PADDLE_OUTLINES["boot"]
FLARED = PaddleOutline("flared", ("paddle_width", "paddle_height"), lower=1.0, upper=0.6)


def inside(outline):
    """Return places x, y of cells of the unit box about its middle, and which lie inside."""
    edge = (np.arange(CELLS) + 0.5) / CELLS - 0.5
    x, y = np.meshgrid(edge, edge)
    if outline.oval:
        return x, y, np.hypot(x, y) <= 0.5
    return x, y, np.abs(x) <= 0.5 * np.interp(y, [-0.5, 0.5], [outline.lower, outline.upper])


@pytest.mark.parametrize("outline", [OVAL, BOX, FLARED], ids=lambda outline: outline.word)
def test_area_middle_and_second_moments(outline):
    x, y, full = inside(outline)
    area = full.mean()
    assert outline.fill == pytest.approx(area, rel=2e-3)
    middle = y[full].mean()
    assert 0.5 * outline.middle == pytest.approx(middle, abs=1e-3)
    upward, across = outline.second
    assert upward == pytest.approx(((y[full] - middle) ** 2).mean(), rel=2e-3)
    assert across == pytest.approx((x[full] ** 2).mean(), rel=2e-3)


def test_a_box_is_exact():
    assert (BOX.fill, BOX.middle, BOX.second) == (1.0, 0.0, (1.0 / 12.0, 1.0 / 12.0))
    assert BOX.corners == ((-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0))


def test_corners_stand_about_the_middle_of_the_area():
    low, high = FLARED.corners[0][1], FLARED.corners[2][1]
    assert high - low == pytest.approx(2.0)
    assert -low < high  # the wide edge is the lower one
