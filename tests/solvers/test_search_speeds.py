"""Speeds that a search for a start samples: close around a known one, widely below it."""

import numpy as np
import pytest

from simsoft.solvers.start_speed import (
    BELOW_RATIO,
    NARROW_SPAN,
    SEARCH_SPAN,
    SPEED_SAMPLES,
    search_speeds,
)

TOP = 2.5


@pytest.mark.parametrize("near", [0.05, 0.3, 1.0, 2.4])
def test_a_search_around_a_start_goes_down_to_the_lowest_speed_too(near):
    speeds = search_speeds(TOP, near, below=True)
    assert np.all(np.diff(speeds) > 0.0)
    assert speeds[0] <= TOP / SEARCH_SPAN * (1.0 + 1e-12)
    assert speeds[-1] == pytest.approx(min(TOP, near * NARROW_SPAN))
    assert float((speeds[1:] / speeds[:-1]).max()) <= BELOW_RATIO * (1.0 + 1e-12)
    assert len(speeds) < SPEED_SAMPLES


def test_without_a_start_the_whole_range_is_sampled():
    assert len(search_speeds(TOP, None, below=True)) == SPEED_SAMPLES
    assert search_speeds(TOP, None, below=True)[0] == pytest.approx(TOP / SEARCH_SPAN)
