"""``--set PATH=VALUE``: what it changes, records and refuses."""

from __future__ import annotations

from typing import Any

import pytest
from case_texts import BODY, PADDLE, RIG, STRIP

from simsoft.case.overrides import comment, parse_value
from simsoft.case.read import loads
from simsoft.core.errors import InputError


@pytest.mark.parametrize(
    "value", ['"2.5 mm"', "2.5 mm", " 2.5 mm ", "'2.5 mm'", '["2.5 mm", "2.5 mm"]']
)
def test_thickness_with_and_without_quotes(value: str) -> None:
    case = loads(STRIP, overrides=[f"parts.strip.thickness={value}"])
    assert case.parts[0].thickness.values == pytest.approx((2.5e-3, 2.5e-3))


@pytest.mark.parametrize(
    ("override", "place", "expected"),
    [
        ("title=Another bait", "title", "Another bait"),
        ("length_unit=inch", "length_unit", "inch"),
        ("material.durometer=60 OO", "material.hardness", 60.0),
        ("material.loss_factor=0.2", "material.loss_factor", 0.2),
        ("water.temperature=41 degF", "water.temperature", 278.15),
        ("numerics.elements=32", "numerics.elements", 32),
        ("tolerance.modulus=20 %", "tolerance.modulus", 0.2),
    ],
)
def test_values_of_tables(override: str, place: str, expected: Any) -> None:
    found: Any = loads(STRIP, overrides=[override])
    for name in place.split("."):
        found = getattr(found, name)
    assert found == (expected if isinstance(expected, str) else pytest.approx(expected))


def test_scenarios_and_loads_are_addressed_by_name() -> None:
    settings = [
        "scenarios.stream.speed=['1 ft/s', '2 ft/s']",
        "scenarios.stream.onset=false",
        "parts.strip.loads.normal_drag=1.5",
    ]
    case = loads(STRIP, overrides=settings)
    assert case.scenarios[0].speeds == pytest.approx((0.3048, 0.6096))
    assert case.scenarios[0].onset is False
    assert case.parts[0].loads.normal_drag == 1.5


def test_paddle_coefficient_and_later_setting_wins() -> None:
    settings = ["parts.p.loads.rim_force=3", "parts.p.loads.rim_force=3.5"]
    assert loads(PADDLE, overrides=settings).parts[0].loads.rim_force == 3.5


def test_body_hook_and_weights_are_addressed_too() -> None:
    settings = [
        "body.salt_fraction=20 %",
        "rig.hook.wire_diameter=1.3 mm",
        "rig.weights.head.mass=1/2 oz",
    ]
    case = loads(RIG, overrides=settings)
    assert case.body is not None
    assert case.rig is not None
    assert case.rig.hook is not None
    assert case.body.salt_fraction == pytest.approx(0.2)
    assert case.rig.hook.wire_diameter == pytest.approx(1.3e-3)
    assert case.rig.weights[0].mass == pytest.approx(14.1748e-3, rel=1e-5)


def test_a_hook_can_be_added() -> None:
    sizes = ['wire_diameter="1 mm"', 'gap="9 mm"', 'shank="20 mm"']
    case = loads(BODY, overrides=[f"rig.hook.{size}" for size in sizes])
    assert case.rig is not None
    assert case.rig.hook is not None


def test_whole_table() -> None:
    case = loads(STRIP, overrides=['material={youngs_modulus = "100 kPa"}'])
    assert case.material.youngs_modulus == pytest.approx(1e5)
    assert case.material.hardness is None


def test_overrides_are_recorded_as_comments() -> None:
    settings = ["parts.strip.thickness=2 mm", "title=New"]
    case = loads(STRIP, overrides=settings)
    assert case.text == STRIP + "# set parts.strip.thickness=2 mm\n# set title=New\n"
    assert loads(STRIP).text == STRIP
    assert loads(case.text).title == "Test strip"


def test_a_comment_stays_one_line() -> None:
    assert comment("title=a\nb = 1") == "# set title=a\\x0ab = 1"


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("3", 3),
        ("true", True),
        ('"x"', "x"),
        ("x y", "x y"),
        ("[1, 2]", [1, 2]),
        ("", ""),
        ("1\nother = 2", "1\nother = 2"),
        ("[" * 5000, "[" * 5000),
        ("1" + "0" * 5000, "1" + "0" * 5000),
        ("{ " + ".".join(["a"] * 500) + " = 1 }", "{ " + ".".join(["a"] * 500) + " = 1 }"),
    ],
)
def test_parse_value(text: str, expected: Any) -> None:
    assert parse_value(text) == expected


@pytest.mark.parametrize(
    ("override", "line"),
    [
        (
            "parts.strp.thickness=2 mm",
            "--set parts.strp.thickness=2 mm: no entry of `parts` is named `strp` "
            "(did you mean `strip`?); named are strip",
        ),
        (
            "parts.strip.thicknes=2 mm",
            "--set parts.strip.thicknes=2 mm: `thicknes`: unknown key (did you mean `thickness`?)",
        ),
        (
            "parts.strip.loads.normal-drag=2",
            "--set parts.strip.loads.normal-drag=2: `normal-drag`: unknown key "
            "(did you mean `normal_drag`?)",
        ),
        (
            "water.colour=2",
            "--set water.colour=2: `colour`: unknown key; allowed are temperature, salinity, "
            "density, viscosity",
        ),
        (
            "watr.temperature=2",
            "--set watr.temperature=2: `watr`: unknown key (did you mean `water`?)",
        ),
        (
            "strip.thickness=2 mm",
            "--set strip.thickness=2 mm: `strip`: no key; write parts.strip.thickness",
        ),
        (
            "thickness=2 mm",
            "--set thickness=2 mm: `thickness`: no key; write parts.strip.thickness",
        ),
        (
            "rig.weights.x=2",
            "--set rig.weights.x=2: no entry of `rig.weights` is named `x`; named are none",
        ),
        (
            "rig.hook.size=2",
            "--set rig.hook.size=2: `size`: unknown key; allowed are "
            "wire_diameter, gap, shank, bend, point, offset, eye, path, mass",
        ),
        ("parts=2", "--set parts=2: `parts` is a list; write parts.NAME.KEY=VALUE"),
        (
            "parts.strip=2",
            "--set parts.strip=2: `parts.strip` is a table; write parts.strip.KEY=VALUE",
        ),
        (
            "title.x=2",
            "--set title.x=2: `title` is a value, not a table; nothing can follow it",
        ),
        ("nonsense", "--set nonsense: there is no `=`; PATH=VALUE is needed"),
        (
            "parts.strip.length=0 mm",
            "c.toml: parts.strip.length: `0 mm` is zero or negative; 0.01 to 1e6 mm is allowed",
        ),
        (
            "material.youngs_modulus=1 kPa",
            "c.toml: material.youngs_modulus: `1 kPa` contradicts `durometer`; only one of the "
            "two is allowed",
        ),
        (
            "parts.strip.paddle_diameter=9 mm",
            "c.toml: parts.strip.paddle_diameter: `9 mm` does not belong to a strip; "
            "only a paddle-tail has a paddle",
        ),
        (
            "water=3",
            "c.toml: water: `3` is not a table; keys below a line [water] are needed",
        ),
    ],
)
def test_refused_overrides(override: str, line: str) -> None:
    with pytest.raises(InputError) as caught:
        loads(STRIP, "c.toml", [override])
    assert list(caught.value.problems) == [line]


def test_bad_overrides_and_bad_file_are_listed_together() -> None:
    with pytest.raises(InputError) as caught:
        loads(STRIP.replace("30 mm", "30"), "c.toml", ["a=1", "b"])
    assert len(caught.value.problems) == 3


def test_a_value_in_place_of_a_table_is_named() -> None:
    with pytest.raises(InputError, match="`water` is `cold` in the file, where a table is needed"):
        loads(
            STRIP.replace(
                '[water]\ntemperature = "20 degC"\nsalinity = "0 g/kg"\n', 'water = "cold"\n'
            ),
            overrides=["water.temperature=4 degC"],
        )


def test_no_parts_to_address() -> None:
    with pytest.raises(InputError, match="no entry of `parts` is named `x`; named are none"):
        loads('title = "t"', overrides=["parts.x.length=3 mm"])
