"""The Python interface: what ``import simsoft`` offers works before a run and after it."""

import simsoft
from simsoft.results.record import select

STRIP = """
title = "Strip in still water"
[material]
durometer = "50 OO"
[[parts]]
name = "strip"
kind = "strip"
length = "40 mm"
width = "6 mm"
thickness = "2 mm"
[numerics]
elements = 4
[[scenarios]]
name = "tank"
kind = "hold"
"""


def test_a_case_is_read_from_text_again_after_a_run():
    """A room of the same name would have taken the function's place by then."""
    first = simsoft.run(simsoft.loads(STRIP), bands=False)
    again = simsoft.run(simsoft.loads(STRIP), bands=False)
    assert select(first.records, "natural_frequency")
    assert first.records == again.records


def test_a_case_is_read_from_a_file(tmp_path):
    path = tmp_path / "strip.toml"
    path.write_text(STRIP, encoding="utf-8")
    case = simsoft.load(path, ["parts.strip.thickness=1 mm"])
    assert case.parts[0].thickness.values == (1e-3, 1e-3)


def test_everything_offered_is_there():
    for name in simsoft.__all__:
        assert getattr(simsoft, name) is not None
