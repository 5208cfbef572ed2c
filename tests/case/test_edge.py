"""Numbers over the edge: a lure past what the models were tried at is refused in one line."""

import pytest
from case_texts import STRIP

from simsoft.case.read import loads
from simsoft.core.errors import InputError
from simsoft.engine.edge import FASTEST_BEAT, past_the_edge, withheld
from simsoft.results.record import Record

MODULUS = 'youngs_modulus = "100 kPa"'


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('"0.2 m/s"', '"8 m/s"', "scenarios.stream.speed: is 8 m/s; at most 5 m/s is allowed"),
        ('thickness = "1 mm"', 'thickness = "0.3 mm"', "thickness: is 0.0003 m; at least 0.35 mm"),
        ('"30 mm"', '"1 m"', "parts.strip.length: is 1 m; at most 0.5 m is allowed"),
    ],
)
def test_a_lure_past_the_edge_is_refused_and_other_things_are_not(old, new, said):
    assert old in STRIP
    text = STRIP.replace(old, new)
    with pytest.raises(InputError) as refused:
        loads(text, "c.toml")
    (line,) = refused.value.problems
    assert said in line
    durometer = next(row for row in text.splitlines() if row.startswith("durometer"))
    loads(text.replace(durometer, MODULUS), "c.toml")


def test_two_hundred_parts_are_refused():
    head, mark, rest = STRIP.partition("[[parts]]")
    part, scenario, tail = (mark + rest).partition("[[scenarios]]")
    parts = "".join(part.replace('"strip"', f'"p{i}"', 1) for i in range(200))
    with pytest.raises(InputError, match="parts: has 200 entries; at most 40 are allowed"):
        loads(head + parts + scenario + tail, "c.toml")


def test_a_rate_that_no_soft_tail_has_is_no_answer():
    case = loads(STRIP, "c.toml")
    at = {"speed": 3.0}
    found = [
        Record("s", "p", "flap_frequency", 230.0, 210.0, 350.0, "Hz", "rod", at),
        Record("s", "p", "stroke", 0.01, 0.0, 0.1, "m", "rod", at),
        Record("s", "p", "flap_frequency", 6.0, 5.0, 7.0, "Hz", "rod", {"speed": 0.3}),
        Record("s", "p", "doubt", "skin", None, None, "", "rod", {"of": "flap_frequency"}),
        Record("s", "p", "natural_frequency", 200.0, None, None, "Hz", "rod", {"mode": 9}),
    ]
    rate, stroke, slow, mode = withheld(case, found)
    assert rate.value is stroke.value is None
    assert f"no soft tail beats faster than {FASTEST_BEAT:g} Hz" in rate.reason
    assert slow == found[2]
    assert mode == found[4]
    stated = loads(STRIP.replace('durometer = "50 OO"', MODULUS), "c.toml")
    assert withheld(stated, found) == found
    assert not past_the_edge(stated, 2.0 * FASTEST_BEAT)
