"""The speed from which a part beats: turning aside, or flopping over, is not a beat."""

import math

import numpy as np
import pytest

from simsoft.bodies.answers.beat import (
    JUMP_START,
    Moving,
    add_start,
    start_by_jump,
    start_of_part,
    warn_aside,
)
from simsoft.core.errors import SolveError
from simsoft.engine.uncertainty import with_bands
from simsoft.report.text.answer import headline
from simsoft.report.units import show
from simsoft.results.outcome import Outcome
from simsoft.results.record import select
from simsoft.solvers.stability import Crossing, Onset
from simsoft.solvers.start_speed import LOWEST_TRIED, Start

LENGTH = 0.04
PART = Moving("curl", LENGTH, 0.0)


def onset(*crossings: Crossing, lost_at: float | None = None) -> Onset:
    speeds = np.geomspace(0.05, 2.0, 5)
    return Onset(speeds, -np.ones(5), np.zeros(5), crossings, lost_at=lost_at)


def endless(speed: float) -> tuple[float, float]:
    """Return a large motion that begins with an endless period at 0.2 m/s."""
    return (0.02, 4.0 * math.sqrt(speed - 0.2)) if speed > 0.2 else (1e-12, 0.0)


def test_what_flops_from_shape_to_shape_does_not_beat_yet():
    start = start_by_jump(endless, LENGTH, 0.1, 2.0)
    # a tenth of a beat a passage: 4 sqrt(U - 0.2) = 0.1 U/L at U = 0.2191 m/s
    assert start.speed == pytest.approx(0.2191, rel=0.02)
    assert start.frequency > 0.1 * start.speed / LENGTH


def test_a_shape_that_stays_aside_has_no_start():
    found = onset(Crossing(0.1, 0.0, True))
    start, basis = start_of_part(lambda speed: (1e-12, 0.0), LENGTH, found, 2.0)
    assert start.speed is None
    assert basis == JUMP_START


def test_a_beat_after_turning_aside_comes_before_a_later_one_of_small_motions():
    aside, ends, later = Crossing(0.1, 0.0, True), Crossing(0.8, 0.0, False), Crossing(1, 9, True)
    start, basis = start_of_part(endless, LENGTH, onset(aside, ends, later), 2.0)
    assert start.speed == pytest.approx(0.2191, rel=0.02)
    assert basis == JUMP_START


def test_small_motions_give_the_start_where_nothing_beats_aside():
    aside, ends, later = Crossing(0.05, 0.0, True), Crossing(0.1, 0, False), Crossing(1, 9, True)
    start, basis = start_of_part(endless, LENGTH, onset(aside, ends, later), 2.0)
    assert (start.speed, start.frequency, basis) == (1, 9, None)


def test_small_motions_that_only_flop_are_no_start_of_a_part_turned_aside():
    """4 sqrt(U - 0.2) at 1.05 x 0.205 m/s is less than a tenth of a beat a passage."""
    aside, ends = Crossing(0.1, 0.0, True), Crossing(0.15, 0, False)
    flops = onset(aside, ends, Crossing(0.205, 3.0, True))
    start, basis = start_of_part(endless, LENGTH, flops, 2.0)
    assert start.speed == pytest.approx(0.2191, rel=0.02)
    assert basis == JUMP_START


def test_small_motions_about_a_shape_that_was_never_left_need_no_march():
    def marched(speed: float) -> tuple[float, float]:
        raise AssertionError

    start, basis = start_of_part(marched, LENGTH, onset(Crossing(0.205, 3.0, True)), 2.0)
    assert (start.speed, start.frequency, basis) == (0.205, 3.0, None)


def test_turning_aside_is_told():
    outcome = Outcome()
    crossings = (Crossing(0.1, 0.0, True), Crossing(0.3, 4.0, True))
    warn_aside(outcome, PART, Start(0.2, 3.0), crossings)
    (told,) = outcome.warnings
    assert "turns aside to another shape at 0.1 m/s, but does not beat below 0.2 m/s" in told


def test_a_march_lost_in_the_search_is_no_start_and_says_why():
    def lost(speed: float) -> tuple[float, float]:
        raise SolveError("the march diverged at 3 s")

    aside, ends, later = Crossing(0.1, 0.0, True), Crossing(0.8, 0.0, False), Crossing(1, 9, True)
    for found in (onset(lost_at=0.1), onset(aside, ends, later)):
        start, basis = start_of_part(lost, LENGTH, found, 2.0)
        assert (start.speed, start.frequency, basis) == (None, None, JUMP_START)
        assert start.reason.startswith("no start, because a march in the search for it was lost:")
        assert "the march diverged at 3 s" in start.reason


def test_a_shape_left_in_still_water_is_marched_from_the_lowest_speed_on_and_that_is_told():
    tried = []

    def beats(speed: float) -> tuple[float, float]:
        tried.append(speed)
        return 0.02, 5.0

    found = onset(Crossing(0.0, 0.0, True))
    start, _ = start_of_part(beats, LENGTH, found, 2.0)
    assert tried == [found.speed[0]]
    assert start.speed == found.speed[0]
    outcome = Outcome()
    warn_aside(outcome, PART, start, found.crossings)
    assert outcome.warnings == ["curl: moves at the lowest speed tried already, 0.05 m/s"]


def test_a_start_at_the_lowest_speed_tried_is_an_upper_bound_with_a_band_down_to_zero():
    outcome, coarse = Outcome(), Outcome()
    for found, speed in ((outcome, 0.05), (coarse, 0.052)):
        add_start(found, Start(speed, 5.0, LOWEST_TRIED), (), "march", "flutter")
    records = with_bands("swim", "curl", outcome, coarse, [], outcome)
    (start,), (rate,) = select(records, "start_speed"), select(records, "start_frequency")
    assert (start.value, start.low) == (0.05, 0.0)
    assert start.high > 0.05
    assert start.basis.startswith("march; upper bound: moves at the lowest speed tried already")
    assert rate.value is None
    assert "the start may be slower" in rate.reason
    assert show(start).startswith("at or below 0.05 m/s (0.00 to 0.05")
    assert headline("curl", [start]).startswith("curl starts to beat at or below 0.05 m/s (0.00")
    assert set(start.as_json()) == {
        "scenario", "part", "quantity", "value", "low", "high", "unit", "basis", "at"
    }  # fmt: skip


def test_what_grows_in_still_water_starts_at_or_below_the_lowest_speed_searched():
    found = onset(Crossing(0.0, 3.0, True))
    start, basis = start_of_part(endless, LENGTH, found, 2.0)
    assert (start.speed, start.reason, basis) == (found.speed[0], LOWEST_TRIED, None)
    later, _ = start_of_part(endless, LENGTH, onset(Crossing(0.4, 3.0, True)), 2.0)
    assert (later.speed, later.reason) == (0.4, "")


def test_a_start_between_speeds_tried_has_no_such_words():
    outcome = Outcome()
    add_start(outcome, Start(0.05, 5.0), (), "march", "flutter")
    records = with_bands("swim", "curl", outcome, outcome, [], outcome)
    (start,) = select(records, "start_speed")
    assert start.low == 0.05
    assert show(start) == "0.050 m/s"
    assert headline("curl", [start]) == "curl starts to beat from 0.050 m/s."
