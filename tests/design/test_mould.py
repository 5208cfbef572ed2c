"""What fills a mould ends the range of a change, and the answer says so."""

from pathlib import Path

import pytest
from sweep_cases import PADDLE

from simsoft.case.limits import TYPICAL_BY_KIND
from simsoft.case.read import load, loads
from simsoft.core.errors import InputError
from simsoft.design.mould import WHY, spots, thin_sentences, within_mould
from simsoft.design.sweep.axis import read_axis
from simsoft.design.sweep.run import read_base

GUIDE = Path(__file__).parents[2] / "simsoft" / "guide"
CLAW = """
title = "Claw"
[material]
durometer = "42 OO"
[[parts]]
name = "claw"
kind = "claw"
length = "34 mm"
width = "14 mm"
thickness = ["1.2 mm", "0.9 mm"]
neck_thickness = "1.1 mm"
[[scenarios]]
name = "tank"
kind = "hold"
"""


def cut(tmp_path, text, vary, overrides=()):
    path = tmp_path / "case.toml"
    path.write_text(text)
    base = read_base(path, overrides)
    return within_mould(base, load(path, overrides), [read_axis(vary)])[0]


def test_a_stem_is_not_looked_through_thinner_than_a_neck(tmp_path):
    axis = cut(tmp_path, PADDLE, "parts.tail.thickness=0.6:2:0.2 mm")
    assert axis.values == ("1 mm", "1.2 mm", "1.4 mm", "1.6 mm", "1.8 mm", "2 mm")
    assert axis.low.text == "1 mm"
    assert axis.high.text == "2 mm"
    assert "tail stem is looked through from 1 mm up" in axis.bound
    assert "common practice, no source" in axis.bound
    assert 1e3 * spots(loads(PADDLE))[0].least == TYPICAL_BY_KIND["claw", "neck_thickness"][0]


@pytest.mark.parametrize(
    ("vary", "kept"),
    [
        ("parts.claw.neck_thickness=0.8,0.9,1,1.1 mm", ("1 mm", "1.1 mm")),
        ("parts.claw.thickness=0.7,0.8,0.9 mm", ("0.8 mm", "0.9 mm")),
        ("parts.claw.length=20,30 mm", ("20 mm", "30 mm")),
    ],
)
def test_neck_and_pad_have_their_own_ends(tmp_path, vary, kept):
    assert cut(tmp_path, CLAW, vary).values == kept


def test_what_is_thin_already_takes_nothing_from_other_changes(tmp_path):
    thin = ['parts.tail.thickness="0.5 mm"']
    axis = cut(tmp_path, PADDLE, "material.durometer=40,46 OO", thin)
    assert axis.values == ("40 OO", "46 OO")
    assert axis.bound == ""
    (told,) = thin_sentences(loads(PADDLE, overrides=thin))
    assert told.startswith("tail stem is 0.5 mm thick, the mould gives 1 mm")
    assert WHY in told
    assert cut(tmp_path, PADDLE, "parts.tail.thickness=0.4,0.5,1.2 mm", thin).values == (
        "0.5 mm", "1.2 mm",
    )  # fmt: skip


def test_a_range_that_no_mould_gives_is_refused_in_a_line(tmp_path):
    with pytest.raises(InputError) as refused:
        cut(tmp_path, PADDLE, "parts.tail.thickness=0.4:0.8:0.2 mm")
    (line,) = refused.value.problems
    assert "parts.tail.thickness: every value makes tail stem thinner than 1 mm" in line


def test_the_guide_tells_the_numbers_that_end_a_range():
    told = {}
    for line in (GUIDE / "brief.md").read_text(encoding="utf-8").splitlines():
        cells = [cell.strip() for cell in line.strip("|").split("|")]
        if len(cells) == 2 and cells[1].endswith(" mm"):
            told |= {name.strip(): float(cells[1][:-3]) for name in cells[0].split(",")}
    for kind in ("curl-tail", "strip", "ribbon", "fork-tail", "claw"):
        assert told[kind] == TYPICAL_BY_KIND[kind, "thickness"][0]
    assert told["leg"] == TYPICAL_BY_KIND["leg", "diameter"][0]
    least = {spot.name: 1e3 * spot.least for spot in (*spots(loads(PADDLE)), *spots(loads(CLAW)))}
    assert least["tail paddle"] == told["paddle"] == least["claw"]
    assert least["tail stem"] == told["stem of a paddle"]
    assert least["claw neck"] == told["neck of a claw"]
