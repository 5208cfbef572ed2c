"""The study of five ordinary paddles: no verdict without a word on the difference to practice."""

import pytest

from simsoft.results.record import Record
from simsoft.validate.locate import checks_directory
from simsoft.validate.studies.brackets import FOLDER, lure_brackets
from simsoft.validate.studies.practice import SeenTail, section


def record(quantity, value, low, high, unit="m"):
    return Record("swim", "tail", quantity, value, low, high, unit, "test")


def seen(verdict="kicks", start=0.3, edges=(0.020, 0.015, 0.028), practice=0.026):
    started = record("start_speed", start, 0.5 * start, 1.4 * start, "m/s") if start else None
    swept = record("edge_to_edge", *edges) if edges else None
    rate = record("flap_frequency", 6.0, 4.0, 9.0, "Hz")
    stroke = record("stroke", 0.011, 0.006, 0.019)
    return SeenTail("S01", 0.6, verdict, started, rate, stroke, swept, 1.2, practice)


@pytest.mark.parametrize(
    ("row", "word"),
    [
        (seen(), "practice lies in the band"),
        (seen(practice=0.04), "narrower than practice by a factor of 2.0, past the band"),
        (seen(practice=0.01), "wider than practice by a factor of 2.0, past the band"),
        (seen("still", start=0.8, edges=None), "0.8 m/s only; its band reaches down to this speed"),
        (
            seen("still", start=2.0, edges=None),
            "starts at 2 m/s only; its band does not reach down to this speed",
        ),
        (seen("shivers"), "starts below this speed, but strokes too little to be seen"),
        (seen("still", start=None), "does not start; practice says it kicks"),
    ],
)
def test_every_verdict_has_a_word(row, word):
    assert row.word.endswith(word)


def test_the_section_counts_what_kicks_and_what_lies_inside():
    text = section([seen(), seen(practice=0.04), seen("still", start=0.8, edges=None)])
    assert "2 of 3 kick. Taken from edge to edge, practice lies in the band of 1 of these" in text
    assert "as the stroke of the paddle's centre, of 0." in text
    assert "| 20 (15 to 28) | 26 | practice lies in the band |" in text


def test_five_lures_state_what_makers_see():
    stated = [
        told for told in lure_brackets(checks_directory() / FOLDER).values() if "sweep" in told
    ]
    assert len(stated) == 5
    assert all(0.01 < told["sweep"] < 0.05 and len(told["speeds"]) >= 2 for told in stated)
