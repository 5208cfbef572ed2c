"""Numbers for reading: unit and digits."""

import dataclasses

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from simsoft.report.units import (
    band_numbers,
    crank_turns,
    decimals,
    rounded,
    show,
    speed_text,
    told_in,
    unit_of,
    user_unit,
)
from simsoft.results.record import Record, missing


def record(value, low=None, high=None, unit=""):
    return Record("s", "p", "q", value, low, high, unit, "test")


@pytest.mark.parametrize(
    ("given_record", "text"),
    [
        (record(5.61, 4.6, 6.9, "Hz"), "5.6 Hz (4.6 to 6.9)"),
        (record(0.243, 0.16, 0.36, "m/s"), "0.24 m/s (0.16 to 0.36)"),
        (record(0.0163, 0.006, 0.043, "m"), "16 mm (6 to 43)"),
        (record(21.95, 19.03, 26.7, "m"), "22 m (19 to 27)"),
        (record(24.13, 16.02, 36.4, "deg"), "24 deg (16 to 36)"),
        (record(0.0334, 0.0271, 0.0412, "N"), "33 mN (27 to 41)"),
        (record(3.34, 2.71, 4.12, "N"), "3.3 N (2.7 to 4.1)"),
        (record(0.00143, 0.0011, 0.0019, "N m"), "1.4 N mm (1.1 to 1.9)"),
        (record(0.00121, 0.00118, 0.00125, "kg"), "1.21 g (1.18 to 1.25)"),
        (record(1234.0, 1000.0, 1500.0, "Hz"), "1200 Hz (1000 to 1500)"),
        (record(3.14159, 3.14159, 3.14159, "Hz"), "3.14 Hz"),
        (record(0.5), "0.500"),
        (record(0.0, 0.0, 0.0, "deg"), "0.00 deg"),
        (record((0.041, 0.0, -0.006), unit="m"), "(41.0, 0.0, -6.0) mm"),
        (record("kicks"), "kicks"),
        (missing("s", "p", "q", "Hz", "test", "it is still"), "none: it is still"),
    ],
)
def test_show(given_record, text):
    assert show(given_record) == text


def test_speeds_of_inch_users_are_feet_a_second():
    assert show(record(0.3048, 0.2, 0.4, "m/s"), "inch") == "1.0 ft/s (0.7 to 1.3)"
    assert speed_text(0.6096, "inch") == "2 ft/s"
    assert speed_text(0.25) == "0.25 m/s"


def test_the_solvers_sentences_are_told_in_the_users_unit():
    said = "no start up to 0.61 m/s; 25.4 mm too wide, 3 modes, 5 m/s2"
    assert told_in(said, "inch") == "no start up to 2 ft/s; 1 inch too wide, 3 modes, 5 m/s2"
    assert told_in(said, "mm") == said


def test_turns_of_the_crank():
    assert crank_turns(0.7, 0.7) == pytest.approx(10.0)


def test_lengths_in_inches():
    assert show(record(30.48, 24.384, 36.576, "m"), "inch") == "100 ft (80 to 120)"
    assert show(record(0.0254, 0.02, 0.03, "m"), "inch") == "1.00 inch (0.79 to 1.18)"
    assert user_unit("m", "inch") == (pytest.approx(39.3701, rel=1e-6), "inch")


def test_forces_in_a_column_share_the_unit_of_the_largest():
    assert band_numbers(record(0.05, 0.04, 0.06, "N"), largest=2.0) == (
        "0.050 (0.040 to 0.060)",
        "N",
    )


def test_a_low_end_far_below_is_not_shown_as_zero():
    assert show(record(0.0009, 0.0001, 0.01, "Hz")) == "0.0009 Hz (0.0001 to 0.0100)"


def test_band_numbers_refuses_words():
    with pytest.raises(TypeError, match="record 'q' is not a number"):
        band_numbers(record("kicks"))


def test_huge_and_tiny_numbers_use_an_exponent_and_zero_has_no_sign():
    assert rounded(1.234e9, -7) == "1.23e+09"
    assert rounded(1.234e-9, 11) == "1.23e-09"
    assert rounded(-1e-9, 2) == "0.00"


@given(
    st.floats(1e-6, 1e6),
    st.floats(1.0, 100.0),
    st.floats(1.0, 100.0),
)
def test_shown_numbers_stay_within_a_quarter_of_the_band(value, down, up):
    low, high = value / down, value * up
    assume(high - low > 1e-3 * high)
    places = decimals(value, low, high)
    assert abs(round(value, places) - value) <= (high - low) / 4.0 * (1 + 1e-9)


def test_lengths_are_not_told_finer_than_a_micrometre():
    still = Record("swim", "claw", "stroke", 5e-9, 3e-9, 6e-8, "m", "screening", {})
    assert band_numbers(still) == ("0.000", "mm")
    thin = Record("swim", "claw", "stroke", 5e-6, 2e-6, 9e-6, "m", "screening", {})
    assert band_numbers(thin) == ("0.005 (0.002 to 0.009)", "mm")


def test_a_start_never_rounds_to_a_speed_that_it_is_not():
    """With a band so wide that one digit would do, 0.27 m/s must not read 0.3 m/s."""
    start = Record("retrieve", "tail", "start_speed", 0.274, 0.08, 0.9, "m/s", "screening")
    assert show(start) == "0.27 m/s (0.08 to 0.90)"
    assert show(dataclasses.replace(start, value=0.3, low=0.1, high=0.7)).startswith("0.30 m/s")
    other = dataclasses.replace(start, quantity="sink_rate", value=0.3, low=0.1, high=0.7)
    assert show(other) == "0.3 m/s (0.1 to 0.7)"


def test_a_fall_is_told_in_inches_a_second_where_inches_are_chosen():
    falls = Record("fall", "", "sink_rate", 0.1524, 0.127, 0.1778, "m/s", "")
    assert show(falls, "inch") == "6.0 in/s (5.0 to 7.0)"
    assert show(falls, "mm").startswith("0.15")
    assert " m/s (" in show(falls, "mm")
    assert unit_of("start_speed", "m/s", "inch")[1] == "ft/s"
    assert told_in("sinks at 0.1524 m/s", "inch", falls=True) == "sinks at 6 in/s"
