"""The beat of a part: the same whatever was guessed, and two motions told where there are two."""

from dataclasses import replace
from pathlib import Path

import pytest

from simsoft.case.read import load
from simsoft.lure.parts import assemble, values_of
from simsoft.scenarios.retrieve.driver import retrieve
from simsoft.scenarios.retrieve.marcher import Detail

CASES = Path(__file__).parents[2] / "cases"
SPEED = 0.6


def ribbon_beat(**changes):
    """Return frequency and stroke of the demo ribbon on a coarse mesh."""
    case = load(CASES / "ribbon_150.toml")
    scenario = next(s for s in case.scenarios if s.kind == "retrieve")
    scenario = replace(scenario, speeds=(SPEED,), **changes)
    lure = assemble(case)
    strip = lure.strips[0]
    detail = Detail(elements=24, step_factor=1.5, pictures=False)
    found = retrieve(strip, lure.water, values_of(strip), scenario, detail)
    at = (("speed", SPEED),)
    return [found.answers[name, at].value for name in ("flap_frequency", "stroke")]


def test_stroke_of_a_ribbon_does_not_hang_on_the_search_of_its_start():
    with_search, without = ribbon_beat(onset=True), ribbon_beat(onset=False)
    assert without == pytest.approx(with_search, rel=0.01)
    assert with_search[1] > 1e-3
