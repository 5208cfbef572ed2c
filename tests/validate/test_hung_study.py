"""Paddles drawn as they hang: where the march has them, and no boot is called clear and wrong."""

import math

import numpy as np
import pytest

from simsoft.case.model import PaddleInput
from simsoft.validate.studies.film_ends import StiffPaddle, corners
from simsoft.validate.studies.hung import FilmPlan, section

BOOT = PaddleInput("boot", 0.010, 0.020, 0.002, math.radians(60.0), 0.004)


def hanging(paddle, along):
    """Return a paddle below the end of a stem along a direction, and its centre there."""
    s, c = math.sin(paddle.angle), math.cos(paddle.angle)
    up = np.array([0.0, 0.0, 1.0])
    upright, normal = s * up - c * along, c * up + s * along
    centre = 0.5 * paddle.thickness * normal - paddle.offset * upright
    return StiffPaddle(centre[None], corners(paddle), paddle.angle, 1.0), centre


def test_a_boot_is_seen_with_its_width_and_its_sweep_from_below_and_from_the_side():
    along = np.array([1.0, 0.0, 0.0])
    shape, centre = hanging(BOOT, along)
    below = shape.outline(np.zeros(3), along, centre, 1)
    side = shape.outline(np.zeros(3), along, centre, 2)
    swept = 0.020 * math.cos(BOOT.angle) + 0.002 * math.sin(BOOT.angle)
    tall = 0.020 * math.sin(BOOT.angle) + 0.002 * math.cos(BOOT.angle)
    assert np.ptp(below, axis=0) == pytest.approx([swept, 0.010])
    assert np.ptp(side, axis=0) == pytest.approx([swept, tall])
    # The outline is symmetric about the centre, which hangs: rows run down the picture.
    assert 0.5 * (side.max(axis=0) + side.min(axis=0)) == pytest.approx([centre[0], -centre[2]])
    assert centre[2] < 0.0


def test_a_stem_turned_in_the_picture_turns_its_boot():
    turn = math.radians(30.0)
    along = np.array([math.cos(turn), math.sin(turn), 0.0])
    shape, centre = hanging(BOOT, along)
    seen = shape.outline(np.zeros(3), along, centre, 1) * np.array([1.0, -1.0])
    swept = 0.020 * math.cos(BOOT.angle) + 0.002 * math.sin(BOOT.angle)
    assert np.ptp(seen @ along[:2]) == pytest.approx(swept)
    assert np.ptp(seen @ np.array([-along[1], along[0]])) == pytest.approx(0.010)


def test_a_cup_reaches_back_by_its_depth():
    disc = PaddleInput("disc", 0.015, 0.015, 0.002, math.radians(88.0), 0.003)
    flat, hollow = corners(disc), corners(disc, 0.004)
    assert hollow[:, 2].max() - flat[:, 2].max() == pytest.approx(0.004)
    assert hollow[:, 2].min() == flat[:, 2].min()


@pytest.mark.slow
@pytest.mark.parametrize(
    "plan",
    [
        FilmPlan("boot 13 x 15", 88.0, (11.0, 4.0)),
        FilmPlan("boot 13 x 15", 60.0, (11.0, 3.2)),
        FilmPlan("boot 9 x 15", 75.0, (11.0, 4.0)),
        FilmPlan("disc 15", 88.0, (11.0, 3.2)),
        FilmPlan("disc 15", 88.0, (11.0, 2.4), 6.0e-3),
        FilmPlan("disc 15", 45.0, (18.0, 2.4)),
    ],
    ids=lambda plan: plan.name,
)
def test_hung_paddles_are_right_or_flagged(plan):
    """Hung paddles roll: their beat is clear and right, their stroke is flagged."""
    found = plan.filmed()
    assert found is not None
    assert found.beat.clear
    assert abs(found.rate_error) < 2e-3
    assert not found.stroke.clear
    assert found.honest
    assert found.covered
    assert "paddle" in {f.word for f in found.stroke.flags}
    assert plan.name in section([found])


@pytest.mark.slow
def test_a_thicker_stem_beats_faster():
    """The stem of a plan is the one that is filmed."""
    slow, fast = (FilmPlan("boot 13 x 15", 88.0, (11.0, thick)).filmed() for thick in (3.2, 4.0))
    assert fast.true_rate > 1.05 * slow.true_rate
