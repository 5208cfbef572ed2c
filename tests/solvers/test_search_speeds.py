"""Speeds that a search for a start samples: close around a known one, widely below it."""

import numpy as np
import pytest

from simsoft.solvers.start_speed import (
    BELOW_RATIO,
    LOWEST_TRIED,
    NARROW_SPAN,
    SEARCH_SPAN,
    SPEED_SAMPLES,
    search_speeds,
    start_by_stroke,
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


def searched(start, likely):
    """Return the start found of a stroke that passes at a speed, and the number of marches."""
    tried = []

    def stroke_at(speed):
        tried.append(speed)
        return (0.02, 3.0 * speed) if speed >= start else (0.001, 0.0)

    return start_by_stroke(stroke_at, 0.01, 0.1, TOP, likely), len(tried)


@pytest.mark.parametrize("start", [0.103, 0.1713, 0.5, 2.47])
@pytest.mark.parametrize("share", [0.3, 0.9, 1.0, 1.05, 3.0])
def test_a_guess_of_a_start_changes_nothing_but_the_number_of_marches(start, share):
    plain, marches = searched(start, None)
    found, fewer = searched(start, share * start)
    assert found == plain
    assert found.speed == pytest.approx(start, rel=0.017)
    if share == 1.0:
        assert fewer == 2 < marches


@pytest.mark.parametrize("likely", [None, 0.1, 0.4, 9.0])
def test_nothing_or_everything_that_beats_is_told_with_a_guess_as_without(likely):
    assert searched(9.0, likely)[0].speed is None
    assert searched(0.01, likely)[0].reason == LOWEST_TRIED
    assert searched(0.01, likely)[0].speed == 0.1
