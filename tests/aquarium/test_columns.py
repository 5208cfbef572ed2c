"""The one door of measurement files: how long, how wide, what is possible, what is visible."""

import time

import numpy as np
import pytest
from bench import sine_rows, table, track_text
from hypothesis import given, settings
from hypothesis import strategies as st

from simsoft.aquarium.columns import (
    LENGTH,
    LONGEST_CELL,
    LONGEST_LINE,
    LONGEST_WORD,
    MOST_COLUMNS,
    MOST_LINES,
    MOST_ROWS,
    POSSIBLE,
    TIME,
)  # fmt: skip
from simsoft.aquarium.files.read import measure_files, measure_table, results_text
from simsoft.aquarium.files.table import bare, column, header_number, read_table, shielded
from simsoft.aquarium.measured import Measured, joined_runs, sound
from simsoft.aquarium.signal.sine import LARGEST_SEARCH, MOST_SCANNED, scan, too_long
from simsoft.core.errors import InputError


def refused(text, *said):
    begun = time.monotonic()
    with pytest.raises(InputError) as caught:
        measure_table(table(text))
    assert time.monotonic() - begun < 2.0
    (line,) = caught.value.problems
    assert line.startswith("file.csv")
    assert line.isprintable()
    assert len(line) < 300
    for words in said:
        assert words in line


SINK = "run_id,depth_mm,t_s\n"
IMPOSSIBLE = {
    SINK + "a,1,0\na,1e9,1\n": "line 3: depth_mm is `1e9`; -1000 to 100000 is allowed",
    "run_id,depth_in,t_s\na,1,0\na,1e7,1\n": "line 3: depth_in is `1e7`; -39.3701 to 3937.01",
    SINK + "a,1,0\na,1e308,1\n": "line 3: depth_mm is `1e308`",
    "# temp_C = -400\n" + SINK + "a,1,0\na,2,1\n": "`# temp_C` is `-400`; -2 to 60 is allowed",
    "# speed_mps = 1e300\nt_s,x_mm\n" + "".join(f"{i},{i % 2}\n" for i in range(9)): "speed_mps",
    "part_id,mass_g,mass_sub_g,water_C\na,3,0.1,1000\n": "water_C is `1000`; -2 to 60 is allowed",
    "cast_id,distance_m,wind_mps\n1,-1.2e10,0\n": "distance_m is `-1.2e10`; 0.001 to 1000",
    "cast_id,distance_m,wind_mps\n1,0,0\n": "distance_m is `0`",
    "# t_mm = 3\nL_mm,droop_mm\n40,0\n": "droop_mm is `0`; 0.1 to 1000 is allowed",
    "L_mm,droop_mm,t_mm\n40,6,\n": "t_mm is missing",
    "run_id,t_start_s,t_end_s,n_beats,distance_mm\na,0,1e-6,3,900\n": "distance over time is 9e+05",
    "run_id,quantity,value,unit\na,flap_frequency,900,Hz\n": "above zero up to 200 Hz is allowed",
    SINK: "has no rows below the column names",
}  # fmt: skip


@pytest.mark.parametrize("text", IMPOSSIBLE)
def test_what_is_impossible_is_refused_with_its_line(text):
    refused(text, IMPOSSIBLE[text])


@pytest.mark.parametrize(
    "character", "\u200b\u200d\u2060\u202e\u2066\x7f\x1b\x0b\x0c\x85\u2028\u00ad"
)
@pytest.mark.parametrize("place", ["header", "name", "cell"])
def test_an_invisible_character_is_refused_and_named(character, place):
    header = "# view = below" + character * (place == "header")
    name = "run_id" + character * (place == "name")
    cell = "a" + character * (place == "cell")
    refused(f"{header}\n{name},depth_mm,t_s\n{cell},1,0\n", f"U+{ord(character):04X}")


def test_wide_blanks_and_tabs_become_plain_ones():
    found = measure_table(table("run_id,quantity,value,unit\na\u00a0b\tc,stroke,3,mm\n"))
    assert found[0].run == "a b c"


def test_names_beyond_ascii_are_kept():
    found = measure_table(table("run_id,quantity,value,unit\nköder ä 鱼,stroke,3,mm\n"))
    assert found[0].run == "köder ä 鱼"


ROW = "a,1,0\n"
LONG = {
    "lines": ("t_s,x_mm\n" + "1,2\n" * (MOST_LINES + 1), f"at most {MOST_LINES} are allowed"),
    "one line": ("t" * (LONGEST_LINE + 1), f"at most {LONGEST_LINE}"),
    "comment": ("#" + "a" * (LONGEST_LINE + 1) + "\n" + SINK + ROW, f"at most {LONGEST_LINE}"),
    "columns": (",".join(f"c{i}" for i in range(MOST_COLUMNS + 1)), "101 columns"),
    "cell": (SINK + "a" * (LONGEST_CELL + 1) + ",1,0\n", f"at most {LONGEST_CELL}"),
    "word": (SINK + "a" * (LONGEST_WORD + 1) + ",1,0\n", f"at most {LONGEST_WORD}"),
    "sink": (SINK + ROW * (MOST_ROWS["sink"] + 1), "at most 5000 of sink"),
    "droop": ("# t_mm = 3\nL_mm,droop_mm\n" + "50,12\n" * 501, "at most 500 of droop"),
    "quotes": ('t_s,x_mm\n"' + '"' * 9000, ""),
}


@pytest.mark.parametrize("kind", LONG)
def test_what_is_too_long_is_refused_at_once(kind):
    text, said = LONG[kind]
    refused(text, said)


BIG = {  # text of about so many thousand bytes
    "short rows": lambda n: "t_s,x_mm\n" + "1,2\n" * (250 * n),
    "one line": lambda n: "t" * (1000 * n),
    "header words": lambda n: ("# " + "a-" * 490 + "\n") * n,
    "quotes": lambda n: "t_s,x_mm\n" + '"1,2\n' * (20 * n),
    "last row": lambda n: "t_s,x_mm,note\n" + f"1,2,{'x' * 45}\n" * (19 * n) + "a,b\n",
}


@pytest.mark.parametrize("kind", BIG)
def test_ten_million_bytes_are_refused_in_a_time_that_goes_with_their_number(tmp_path, kind):
    taken = {}
    for thousands in (1_000, 10_000):
        path = tmp_path / f"{thousands}.csv"
        path.write_text(BIG[kind](thousands))
        begun = time.process_time()
        with pytest.raises(InputError):
            measure_files([path])
        taken[thousands] = time.process_time() - begun
    # a time that goes with the square would be a hundredfold; a ratio, so that any machine will do
    assert taken[10_000] < 30.0 * max(taken[1_000], 0.02)


def test_every_limit_holds_something():
    for name, span in POSSIBLE.items():
        assert span.low < span.high, name


@given(st.floats(allow_nan=True, allow_infinity=True), st.sampled_from(sorted(LENGTH)))
def test_a_column_holds_what_is_possible_or_is_refused(value, unit):
    rows = table(f"x_{unit}\n{value!r}\n")
    try:
        found = column(rows, "x", LENGTH)
    except InputError:
        return
    if found is not None:
        assert np.isnan(found).all() or (np.abs(found) <= 1000.0 * (1.0 + 1e-9)).all()


@given(st.floats(allow_nan=True, allow_infinity=True), st.sampled_from(sorted(TIME)))
def test_a_header_holds_what_is_possible_or_is_refused(value, unit):
    rows = table(f"# t_{unit} = {value!r}\na\n1\n")
    try:
        found = header_number(rows, "t", TIME)
    except InputError:
        return
    if found is not None:
        assert abs(found) <= 1e10 * (1.0 + 1e-9)


PLAIN_TEXT = st.text(st.characters(exclude_categories=("C", "Z")), max_size=30)


@given(st.text(st.sampled_from("=+-@#'ab"), max_size=5) | PLAIN_TEXT)
def test_a_shielded_cell_is_no_formula_and_comes_back(text):
    cell = shielded(text)
    assert cell[:1] not in set("=+-@#") or not cell
    assert bare(cell) == text


@settings(max_examples=60)
@given(
    st.lists(
        st.builds(
            Measured,
            quantity=st.sampled_from(["stroke", "density", "attitude", "odd thing", "=1+1"]),
            value=st.none() | st.floats(),
            u=st.none() | st.floats(0.0, None),
            unit=st.just(""),
            method=PLAIN_TEXT.filter(bool),
            n=st.integers(0, 10**9),
            run=PLAIN_TEXT.filter(bool),
            reason=st.none(),
        ),
        min_size=1,
        max_size=4,
    )
)
def test_what_is_written_can_be_read(found):
    unit = {"stroke": "m", "density": "kg/m^3", "attitude": "deg"}
    found = [sound(m.__class__(**{**vars(m), "unit": unit.get(m.quantity, "")})) for m in found]
    again = measure_table(table(results_text(found), "results.csv"))
    for old, new in zip(found, again, strict=True):
        assert (new.run, new.quantity, new.n) == (old.run, old.quantity, old.n)
        assert (new.value is None) == (old.value is None)
        if old.value is not None:
            assert new.value == pytest.approx(old.value, rel=1e-5, abs=1e-300)


def test_no_estimate_leaves_that_is_not_finite_or_not_possible():
    def value(quantity, value, u=1.0, unit="m"):
        return sound(Measured(quantity, value, u, unit, "m", 1))

    assert value("stroke", 0.01).value == 0.01
    for bad in (
        value("stroke", 0.0),
        value("stroke", -1.0),
        value("stroke", float("nan")),
        value("stroke", 0.01, float("inf")),
        value("odd", 1e16),
        value("stroke", 1e9),
    ):
        assert bad.value is None
        assert bad.u is None
        assert bad.reason


def test_many_runs_are_named_on_a_short_line():
    found = [Measured("stroke", 1.0, 0.1, "m", "m", 1, run=f"run-{i:04d}") for i in range(500)]
    assert joined_runs(found) == "run-0000 and 499 more"
    assert joined_runs(found[:2]) == "run-0000 run-0001"


def test_the_search_for_a_beat_is_bounded_and_the_bound_is_said():
    assert too_long(7200, 60.0, 0.03, 30.0) == ""
    assert "cut the file into shorter runs" in too_long(60_000, 600.0, 0.03, 30.0)
    assert f"more than {MOST_SCANNED}" in too_long(100, 1e6, 0.03, 30.0)
    assert LARGEST_SEARCH >= 7200 * 8 * 60 * 30


def test_a_long_track_and_one_with_a_wide_gap_are_not_searched():
    moment, y = sine_rows(5.0, 9.0, 400.0, 120)
    begun = time.monotonic()
    (found,) = measure_table(table(track_text(moment, 0 * y, y)))
    assert "too many to search for a beat" in found.reason
    late = np.append(moment[:200], 1e6 + moment[200])
    (found,) = measure_table(table(track_text(late, 0 * y[:201], y[:201])))
    assert "cut the file into shorter runs" in found.reason
    assert time.monotonic() - begun < 10.0


def test_slow_frames_are_not_tried_against_thousands_of_images():
    moment, y = sine_rows(0.001, 9.0, 5000.0, 0.02)
    begun = time.monotonic()
    found = measure_table(table(track_text(moment, 0 * y, y)))
    assert time.monotonic() - begun < 5.0
    assert not any(m.clear for m in found)


def direct(time_, signal, low, high, count):
    """Return what `scan` returns, from the least squares themselves."""
    frequency = np.linspace(low, high, count)
    half = 0.5 * (time_[-1] - time_[0])
    middle = 0.5 * (time_[-1] + time_[0])
    drift = np.column_stack([np.ones_like(time_), (time_ - middle) / half])
    rest = signal - drift @ np.linalg.lstsq(drift, signal, rcond=None)[0]
    share = []
    for f in frequency:
        angle = 2.0 * np.pi * f * time_
        model = np.column_stack([drift, np.cos(angle), np.sin(angle)])
        left = signal - model @ np.linalg.lstsq(model, signal, rcond=None)[0]
        share.append(1.0 - (left @ left) / (rest @ rest))
    return frequency, np.array(share)


@pytest.mark.parametrize("uneven", [0.0, 0.3])
def test_the_scan_is_the_least_squares_fit(uneven):
    moment, y = sine_rows(5.0, 9.0, 3.0, 90, noise=2.0)
    moment = moment + uneven / 90.0 * np.random.default_rng(1).uniform(size=len(moment))
    y = y + 3.0 * moment
    frequency, share = scan(moment, y, 0.6, 30.0)
    expected = direct(moment, y, 0.6, 30.0, len(frequency))
    np.testing.assert_allclose(frequency, expected[0])
    np.testing.assert_allclose(share, expected[1], atol=1e-9)


def test_the_size_of_a_file_is_looked_at_before_it_is_read(tmp_path):
    path = tmp_path / "huge.csv"
    with path.open("wb") as file:
        file.truncate(10**12)
    begun = time.monotonic()
    with pytest.raises(InputError, match="of at most 20000000 is allowed"):
        read_table(path)
    assert time.monotonic() - begun < 1.0
