"""What must not matter does not: where time starts, how large, which way up, which order."""

import numpy as np
import pytest
from bench import sine_rows
from hypothesis import given, settings
from hypothesis import strategies as st

from simsoft.aquarium.agreement import limits_of_agreement
from simsoft.aquarium.files.track import Track
from simsoft.aquarium.signal.beat import measure_beat
from simsoft.aquarium.video.optics import out_of_plane

BEATS = st.floats(2.0, 12.0)


def measured(time, y):
    track = Track("a", time, np.column_stack([np.zeros_like(y), y]), view="below")
    return measure_beat(track)


@settings(max_examples=15, deadline=None)
@given(BEATS, st.floats(-1e4, 1e4), st.floats(0.1, 10.0), st.sampled_from([-1.0, 1.0]))
def test_a_shift_in_time_a_scale_and_a_mirror_change_nothing_else(beat, shift, scale, side):
    time, y = sine_rows(beat, 8e-3, 2.0, 120, noise=2e-4)
    here = measured(time, y)
    there = measured(time + shift, side * scale * y)
    assert there[0].value == pytest.approx(here[0].value, rel=1e-4)
    assert there[1].value == pytest.approx(scale * here[1].value, rel=1e-3)
    assert here[0].value == pytest.approx(beat, rel=5e-3)


@settings(max_examples=20, deadline=None)
@given(st.lists(st.floats(0.5, 2.0), min_size=3, max_size=12), st.floats(0.5, 2.0))
def test_a_common_factor_is_a_bias_and_no_scatter(ratios, factor):
    ones = np.ones(len(ratios))
    here, there = (
        limits_of_agreement(ratios, ones),
        limits_of_agreement(np.multiply(ratios, factor), ones),
    )
    assert there.bias == pytest.approx(factor * here.bias)
    assert there.high / there.low == pytest.approx(here.high / here.low)


@given(st.floats(0.0, 0.14))
def test_a_marker_nearer_makes_the_true_scale_larger(offset):
    assert out_of_plane(offset, 0.6, 0.15) >= 0.0
    assert out_of_plane(-offset, 0.6, 0.15) <= 0.0
