"""The text report: answer first, 80 columns, nothing dropped."""

import dataclasses

import pytest

from simsoft.engine.uncertainty import MODEL_ERROR, SOFT_ERROR
from simsoft.report.text.answer import (
    SOFT_STILL_MAY_BEAT,
    SOFT_STROKES,
    STILL_MAY_BEAT,
    STROKES,
    how_sure,
    how_wide,
)
from simsoft.report.text.run import CAUTIONS, summary
from simsoft.results.record import ON_SOFT_BODY, Record, missing, select


def with_records(result, records):
    return dataclasses.replace(result, records=tuple(records))


def flat(text):
    return " ".join(text.split())


def test_answer_comes_first(synthetic_result):
    lines = summary(synthetic_result).splitlines()
    assert lines[0] == "tail kicks from 0.24 m/s (0.16 to 0.36), at 2.9 Hz (2.3 to 3.6)."
    assert lines[1].startswith("  How fast: 3.4 Hz (2.8 to 4.2) at 0.3 m/s; 5.6 Hz (4.6 to 6.9)")
    assert lines[2].startswith("  How sure: start speed within a factor of 1.5; rate within 23 %")


def test_doubt_names_the_input(synthetic_result):
    text = flat(summary(synthetic_result))
    assert "In doubt: start speed mostly from durometer (60 %); rate mostly from Strouhal" in text


def test_part_that_does_not_move_says_why(synthetic_result):
    text = flat(summary(synthetic_result))
    expected = (
        "leg does not beat at fishing speeds: still at 0.1 m/s, 0.3 m/s and 0.5 m/s. "
        "No start speed: stable"
    )
    assert expected in text


def test_fits_eighty_columns_in_plain_ascii(synthetic_result):
    text = summary(synthetic_result)
    assert max(map(len, text.splitlines())) <= 80
    assert text.isascii()
    assert text.endswith("\n")


def test_long_names_and_escapes_cannot_break_the_page(synthetic_result):
    long = "a tail with \x1b[31ma name\n" + "x" * 200
    records = [dataclasses.replace(r, part=long) for r in synthetic_result.records]
    result = dataclasses.replace(with_records(synthetic_result, records), warnings=("y" * 300,))
    text = summary(result)
    assert max(map(len, text.splitlines())) <= 80
    assert "\x1b" not in text


def test_missing_value_prints_its_reason(synthetic_result):
    text = summary(synthetic_result)
    assert "none [1]" in text
    assert "[1] the tail does not move" in text


def test_tables_hold_modes_and_response(synthetic_result):
    text = flat(summary(synthetic_result))
    assert "mode in water [Hz] in air [Hz] 1 3.1 (2.5 to 3.8) 6.2 (5.0 to 7.6)" in text
    assert "0.5 5.6 (4.6 to 6.9) 16 (6 to 43) 24 (16 to 36)" in text
    assert "[m/s] drag [mN] side force [mN] root moment [N mm]" in text
    assert "0.5 33 (27 to 41) 12 (6 to 24) 1.4 (1.1 to 1.9)" in text


def test_records_without_a_table_are_listed(synthetic_result):
    text = summary(synthetic_result)
    assert "tip position" not in text
    assert "mass: 1.21 g (1.18 to 1.25)" in text


def test_inches_where_the_case_is_in_inches(synthetic_result):
    case = dataclasses.replace(synthetic_result.case, length_unit="inch")
    text = summary(dataclasses.replace(synthetic_result, case=case))
    assert "stroke [inch]" in text
    assert "0.6 (0.2 to 1.7)" in text


def test_warnings_then_cautions_end_the_page(synthetic_result):
    text = flat(summary(synthetic_result))
    assert "! parts.tail: the stroke rests on a coefficient" in text
    assert text.endswith(" ".join(CAUTIONS))
    assert "not a safety assessment" in text
    assert "safety data sheets" in text


def test_a_class_beyond_the_start_is_named(synthetic_result):
    tumble = Record("stream", "tail", "verdict", "tumbles", None, None, "", "rod", {"speed": 0.9})
    text = summary(with_records(synthetic_result, (*synthetic_result.records, tumble)))
    assert "It tumbles at 0.9 m/s." in flat(text)


def test_moving_without_a_start_speed(synthetic_result):
    records = [r for r in synthetic_result.records if r.part == "tail"]
    reason = "the search was not asked for"
    records = [r for r in records if not r.quantity.startswith("start")]
    records.append(missing("stream", "tail", "start_speed", "m/s", "rod", reason))
    first = flat(summary(with_records(synthetic_result, records)))
    expected = "tail kicks at 0.3 m/s and 0.5 m/s. No start speed: the search was not asked for."
    assert first.startswith(expected)


def test_hold_answers_with_the_first_wet_mode(synthetic_result):
    records = select(synthetic_result.records, "natural_frequency")
    text = summary(with_records(synthetic_result, records))
    assert text.startswith("tail rings at 3.1 Hz (2.5 to 3.8) in still water.\n")


def test_second_crossing_is_not_dropped(synthetic_result):
    second = Record("stream", "tail", "start_speed", 0.7, 0.6, 0.8, "m/s", "rod", {"crossing": 2})
    text = summary(with_records(synthetic_result, (*synthetic_result.records, second)))
    assert "start speed crossing 2: 0.70 m/s (0.60 to 0.80)" in text


def test_start_rate_without_a_start_speed_is_not_dropped(synthetic_result):
    reason = "stable"
    records = [
        missing("stream", "tail", "start_speed", "m/s", "rod", reason),
        Record("stream", "tail", "start_frequency", 2.9, 2.3, 3.6, "Hz", "rod"),
    ]
    text = summary(with_records(synthetic_result, records))
    assert text.startswith("tail: No start speed: stable.\n")
    assert "rate at the start: 2.9 Hz (2.3 to 3.6)" in text


def test_several_scenarios_are_told_apart(synthetic_result):
    other = [dataclasses.replace(r, scenario="cold") for r in synthetic_result.records]
    text = summary(with_records(synthetic_result, (*synthetic_result.records, *other)))
    assert text.startswith("stream: tail kicks from")
    assert "\ncold: tail kicks from" in text


@pytest.mark.parametrize("quantity", ["flap_frequency", "drag", "verdict"])
def test_every_quantity_may_be_absent(synthetic_result, quantity):
    records = [r for r in synthetic_result.records if r.quantity != quantity]
    assert max(map(len, summary(with_records(synthetic_result, records)).splitlines())) <= 80


def test_no_records_at_all(synthetic_result):
    assert summary(with_records(synthetic_result, ())).startswith("Case: Demo paddle tail")


def test_a_stroke_that_may_vanish_is_told_in_words_and_not_as_a_factor():
    def stroke(speed, value, low, high):
        return Record("swim", "tail", "stroke", value, low, high, "m", "test", {"speed": speed})

    wide, fading = stroke(0.6, 0.011, 0.006, 0.019), stroke(0.4, 0.004, 0.0001, 0.018)
    moving = [Record("swim", "tail", "verdict", "kicks", None, None, "", "test", {"speed": speed})
              for speed in (0.4, 0.6)]  # fmt: skip
    assert how_sure([wide, fading, *moving]) == (
        "stroke within a factor of 1.8; stroke at 0.4 m/s perhaps next to none."
    )
    assert how_sure([fading, *moving]) == "stroke at 0.4 m/s perhaps next to none."


@pytest.mark.parametrize(
    ("verdicts", "told"),
    [
        (("still", "still"), STILL_MAY_BEAT),
        (("still", "shivers"), f"where {STILL_MAY_BEAT}"),
        (("shivers", "shivers"), None),
    ],
)
def test_a_paddle_is_said_to_be_called_still_only_where_it_is(verdicts, told):
    basis = "march of a paddle"
    records = [
        Record("stream", "tail", "verdict", verdict, None, None, "", basis, {"speed": speed})
        for speed, verdict in zip((0.4, 0.6), verdicts, strict=True)
    ]
    records.append(
        Record("stream", "tail", "stroke", 0.002, 0.0, 0.005, "m", basis, {"speed": 0.6})
    )
    assert how_wide(records) == told


def test_a_soft_bait_called_still_is_told_by_what_soft_baits_do():
    basis = f"march of a paddle; {ON_SOFT_BODY}"
    still = Record("swim", "tail", "verdict", "still", None, None, "", basis, {"speed": 0.4})
    assert how_wide([still]) == SOFT_STILL_MAY_BEAT


def test_the_width_from_edge_to_edge_comes_first():
    """It is what is seen, and what the model tells best."""
    basis = f"march of a paddle; {ON_SOFT_BODY}"
    at = {"speed": 0.6}
    kicks = Record("swim", "tail", "verdict", "kicks", None, None, "", basis, at)
    centre = Record("swim", "tail", "stroke", 0.011, 0.002, 0.019, "m", basis, at)
    edges = Record("swim", "tail", "edge_to_edge", 0.024, 0.020, 0.030, "m", basis, at)
    told = how_wide([kicks, centre, edges])
    assert told.startswith(
        "edges sweep 24 mm (20 to 30) at 0.6 m/s, the paddle's centre 11 mm (2 to 19). Edges hold"
    )
    assert how_sure([kicks, centre, edges]) == "edge to edge within 25 %."


def test_the_text_names_the_errors_that_the_bands_carry():
    for text, errors, digits in ((STROKES, MODEL_ERROR, 1), (SOFT_STROKES, SOFT_ERROR, 2)):
        low, high = errors["edge_to_edge"]
        assert f"Edges hold to {low:.{digits}f} to {high:.{digits}f} times" in text
    low, high = SOFT_ERROR["stroke"]
    assert f"strokes to {low:g} to {high:g}" in SOFT_STROKES
