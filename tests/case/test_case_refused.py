"""Wrong case files: each problem is one line that names file, key, given and allowed."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import case_texts
import pytest
from case_texts import STRIP

from simsoft.case.read import loads
from simsoft.core.errors import InputError

WRONG = tomllib.loads((Path(__file__).parent / "refused.toml").read_text(encoding="utf-8"))


def refusal(text: str) -> list[str]:
    """Return the lines a text is refused with, after the file name."""
    with pytest.raises(InputError) as caught:
        loads(text, "bad.toml")
    lines = list(caught.value.problems)
    assert all(line.isprintable() and line.startswith("bad.toml: ") for line in lines)
    return [line.removeprefix("bad.toml: ") for line in lines]


def test_there_are_more_than_sixty_wrong_cases() -> None:
    assert len(WRONG) > 60


@pytest.mark.parametrize("wrong", WRONG.values(), ids=WRONG.keys())
def test_wrong_case_is_one_line_for_each_problem(wrong: dict[str, Any]) -> None:
    base = getattr(case_texts, wrong["base"])
    assert wrong["old"] in base
    assert refusal(base.replace(wrong["old"], wrong["new"], 1)) == wrong["lines"]


def test_monstrous_numbers() -> None:
    text = STRIP.replace('"30 mm"', "0x" + "f" * 5000)
    assert refusal(text) == [
        "parts.strip.length: a value too large to show has no unit; "
        'a quantity with its unit is needed, such as "30 mm"'
    ]
    text = STRIP.replace("[material]", "[material]\nloss_factor = 1" + "0" * 400)
    assert refusal(text) == [
        f"material.loss_factor: `1{'0' * 59}…` is not a finite number; "
        "a plain number is needed, such as 0.16"
    ]


def test_all_problems_of_a_file_are_listed_at_once() -> None:
    text = """\
titl = "x"
[water]
temperature = 20
[material]
durometer = "50"
loss_factor = 0.2
kelvin_voigt_time = "1 mm"
[[parts]]
name = "tail"
kind = "paddle-tail"
length = "-3 mm"
width = "5 mm"
neck_width = "1 mm"
direction = [0, 0, 1]
[[scenarios]]
name = "fast"
kind = "retreive"
"""
    places = {line.split(": ")[0] for line in refusal(text)}
    assert places == {
        "titl",
        "title",
        "water.temperature",
        "material.durometer",
        "material.kelvin_voigt_time",
        "parts.tail.length",
        "parts.tail.thickness",
        "parts.tail.neck_width",
        "parts.tail.paddle_diameter",
        "parts.tail.paddle_thickness",
        "parts.tail.width_axis",
        "scenarios.fast.kind",
    }


def test_an_endless_list_of_problems_is_cut() -> None:
    text = "".join(f"k{number} = 1\n" for number in range(400)) + STRIP
    with pytest.raises(InputError) as caught:
        loads(text, "bad.toml")
    assert len(caught.value.problems) == 101
    assert caught.value.problems[-1] == "and 300 more problems"
