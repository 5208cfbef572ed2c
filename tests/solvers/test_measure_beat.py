"""What is read off a march: a beat over its window, a part at rest where it came to rest."""

import numpy as np
import pytest

from simsoft.solvers.limit_cycle import beat_of_march
from simsoft.solvers.time_march import CAME_TO_REST, March

TIME = np.linspace(0.0, 4.0, 401)
ALONG = np.array([1.0, 0.0, 0.0])


def march_of(swing, message):
    tip = np.column_stack([np.full_like(TIME, 0.01), swing, np.zeros_like(TIME)])
    moment = np.column_stack([0.5 + 1.0e3 * swing, np.zeros_like(TIME), np.zeros_like(TIME)])
    tangent = np.tile(ALONG, (len(TIME), 1))
    zeros = np.zeros_like(tip)
    still = (TIME, zeros, zeros, True, message, (0, len(TIME)), {}, 0.01)
    return March(TIME, tip, tangent, zeros, moment, *still)


def test_the_moment_of_a_beating_part_is_its_largest():
    beat = beat_of_march(
        ALONG, march_of(1.0e-3 * np.sin(2.0 * np.pi * 2.0 * TIME), "repeats"), ALONG
    )
    assert beat.frequency == pytest.approx(2.0, rel=1e-3)
    assert beat.root_moment == pytest.approx(1.5, rel=1e-2)


def test_the_moment_of_a_part_at_rest_is_not_that_of_the_dying_kick():
    fading = 1.0e-3 * np.exp(-3.0 * TIME) * np.cos(2.0 * np.pi * 2.0 * TIME)
    beat = beat_of_march(ALONG, march_of(fading, CAME_TO_REST), ALONG)
    assert beat.frequency == 0.0
    assert beat.stroke == 0.0
    assert beat.root_moment == pytest.approx(0.5, rel=1e-4)
