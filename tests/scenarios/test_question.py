"""The one door to every question: who asks elsewhere, and what it answers by itself."""

import ast
from dataclasses import replace
from pathlib import Path

import pytest

import simsoft
from simsoft.core.errors import SolveError
from simsoft.lure.parts import assemble, values_of
from simsoft.scenarios import question
from simsoft.scenarios.retrieve.marcher import Detail
from simsoft.scenarios.screening import can_screen, screen_paddle

PACKAGE = Path(simsoft.__file__).parent
CASES = PACKAGE.parent / "cases"
# what solves a question; the rooms that ask go through the door
SOLVING = {"hold", "retrieve", "tumble", "sink", "hop", "tow", "screen_part", "screen_paddle"}
ASKING = ("engine", "design", "aquarium", "resolved", "drawn", "report", "cli")


@pytest.mark.parametrize("room", ASKING)
def test_nobody_asks_beside_the_door(room):
    for path in sorted((PACKAGE / room).rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ImportFrom) and node.module.startswith("simsoft.scenarios"):
                beside = SOLVING & {name.name for name in node.names}
                assert not beside, f"{path.relative_to(PACKAGE)} asks {beside} by itself"


@pytest.fixture(scope="module")
def tail():
    case = simsoft.load(CASES / "paddle_100.toml")
    lure = assemble(case)
    scenario = next(s for s in case.scenarios if can_screen(lure.strips[0], s))
    return lure.strips[0], lure.water, scenario


def test_a_screened_paddle_is_what_its_screening_says(tail):
    strip, water, scenario = tail
    asked = question.solve(strip, water, values_of(strip), scenario, question.SCREENED)
    assert asked.answers == screen_paddle(strip, water, values_of(strip), scenario).answers
    assert ("start_speed", ()) in asked.answers


def test_a_question_to_the_whole_lure_is_none_to_a_part(tail):
    strip, water, scenario = tail
    with pytest.raises(SolveError, match="about the whole lure"):
        question.solve(strip, water, values_of(strip), replace(scenario, kind="sink"), Detail())
