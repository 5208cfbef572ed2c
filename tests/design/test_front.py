"""Start against hook gap: what no other design beats in both."""

import random

from simsoft.design.brief import MEETS, Finding
from simsoft.design.front import Traded, front, traded
from simsoft.report.text.front import front_sentence
from simsoft.results.record import Record


def beaten(one, designs):
    """Tell by definition whether another design is as good in both and better in one."""
    return any(
        d.start <= one.start and d.gap >= one.gap and (d.start, d.gap) != (one.start, one.gap)
        for d in designs
    )


def test_the_front_is_what_is_not_beaten():
    draw = random.Random(4)
    for count in (1, 2, 7, 60):
        designs = [
            Traded(str(k), draw.randrange(9) / 9.0, draw.randrange(9) / 9.0, True)
            for k in range(count)
        ]
        kept = front(designs)
        assert {(d.start, d.gap) for d in kept} == {
            (d.start, d.gap) for d in designs if not beaten(d, designs)
        }
        assert [d.start for d in kept] == sorted({d.start for d in kept})


class Wish:
    def __init__(self, quantity):
        self.quantity = quantity


def finding(quantity, value):
    why = "it does not start" if value is None else None
    record = Record("retrieve", "tail", quantity, value, None, None, "", "", reason=why)
    return Finding(Wish(quantity), MEETS, None, 0.0, record)


def test_a_design_needs_both_numbers():
    start, gap = finding("start_speed", 0.3), finding("hook_clearance", 0.004)
    none = finding("start_speed", None)
    found = traded([("a", [start, gap], True), ("b", [start], True), ("c", [none, gap], False)])
    assert found == [Traded("a", 0.3, 0.004, True)]


def test_the_sentence_names_the_front_in_the_users_unit():
    designs = [Traded("12 mm", 0.2, 0.002, True), Traded("16 mm", 0.3, 0.005, False),
               Traded("20 mm", 0.4, 0.004, True)]  # fmt: skip
    text = front_sentence(designs, "mm")
    assert "of 3 designs" in text
    assert "12 mm (0.2 m/s, 2 mm)" in text
    assert "16 mm (0.3 m/s, 5 mm, misses the brief)" in text
    assert "20 mm" not in text
    assert "ft/s" in front_sentence(designs, "inch")
    assert front_sentence(designs[:1], "mm") == ""
