"""Odd but possible values warn with the typical range, one line each."""

from __future__ import annotations

import pytest
from case_texts import CLAW, CURL, LEG, PADDLE, RIG, STRIP

from simsoft.case.read import loads


@pytest.mark.parametrize(
    ("base", "old", "new", "warning"),
    [
        (
            STRIP,
            '"1020 kg/m^3"',
            '"30000 kg/m^3"',
            "material.density: `30000 kg/m^3` is unusual; 880 to 1300 kg/m^3 is typical",
        ),
        (
            STRIP,
            'durometer = "50 OO"',
            'youngs_modulus = "12 Pa"',
            "material.youngs_modulus: `12 Pa` is unusual; 5 to 3000 kPa is typical",
        ),
        (
            STRIP,
            "50 OO",
            "90 OO",
            "material.durometer: `90 OO` is unusual; 25 to 80 OO is typical",
        ),
        (STRIP, "50 OO", "3 A", "material.durometer: `3 A` is unusual; 10 to 35 A is typical"),
        (
            STRIP,
            '"20 degC"',
            '"45 degC"',
            "water.temperature: `45 degC` is unusual; 0 to 35 degC is typical",
        ),
        (
            STRIP,
            '"30 mm"',
            '"400 mm"',
            "parts.strip.length: `400 mm` is unusual; 10 to 200 mm is typical",
        ),
        (
            STRIP,
            '"0.2 m/s"',
            '"4 m/s"',
            "scenarios.stream.speed: `4 m/s` is unusual; 0 to 3 m/s is typical",
        ),
        (
            STRIP,
            '"0.2 m/s"',
            '"10 cm/s"',
            "scenarios.stream.speed: `10 cm/s` is given twice; it is run once",
        ),
        (
            PADDLE,
            'thickness = "3 mm"',
            'thickness = ["3 mm", "1.5 mm"]',
            "parts.p.thickness: `1.5 mm` is unusual; 1.8 to 6 mm is typical",
        ),
        (
            PADDLE,
            'paddle_thickness = "3 mm"',
            'paddle_thickness = "3 mm"\npaddle_angle = "30 deg"',
            "parts.p.paddle_angle: `30 deg` is unusual; 70 to 110 deg is typical",
        ),
        (
            CURL,
            '"200 deg"',
            '"20 deg"',
            "parts.p.arc_angle: `20 deg` is unusual; 150 to 330 deg is typical",
        ),
        (
            STRIP,
            '"1 mm"',
            '"1 mm"\nloads.normal_drag = 5',
            "parts.strip.loads.normal_drag: `5` is unusual; 0.8 to 2.5 is typical",
        ),
        (
            STRIP,
            '"1 mm"',
            '"1 mm"\nset_fraction = 0.1',
            "parts.strip.set_fraction: `0.1` has no effect without `set_angle`",
        ),
        (
            STRIP,
            '"1020 kg/m^3"',
            '"1020 kg/m^3"\nsalt_fraction = 0.1',
            "material.salt_fraction: `0.1` has no effect, because `density` is given; "
            "one of the two is typical",
        ),
        (
            STRIP,
            '"1 mm"',
            '"1 mm"\nloads.shedding = true',
            "parts.strip.loads.shedding: `true` has no effect on a strip unless it is solved as a "
            "plate",
        ),
        (
            LEG,
            'kind = "leg"',
            'kind = "leg"\ndirection = [1, 0, 0.1]',
            "parts.p.width_axis: `[0, 0, 1]` (the default) is not square to `direction`; "
            "it is turned by 5.7 degrees to [-0.0995, 0, 0.995]",
        ),
    ],
)
def test_odd_value_warns(base: str, old: str, new: str, warning: str) -> None:
    assert old in base
    assert loads(base, "c.toml").warnings == ()
    assert loads(base.replace(old, new, 1), "c.toml").warnings == (f"c.toml: {warning}",)


@pytest.mark.parametrize(
    ("old", "new", "warning"),
    [
        (
            '"127 mm"',
            '"13 in"',
            "body.length: `13 in` is unusual; 50 to 200 mm is typical",
        ),
        (
            '"10 mm"',
            '["10 mm", "20 mm"]',
            "body.height: `20 mm` is unusual; 4 to 14 mm is typical",
        ),
        (
            '"10 mm"',
            '"10 mm"\ndensity = "1190 kg/m^3"\nsalt_fraction = 0.2',
            "body.salt_fraction: `0.2` has no effect, because `density` is given; "
            "one of the two is typical",
        ),
        (
            '"10 mm"',
            '"10 mm"\nmicroballoon_density = "200 kg/m^3"',
            "body.microballoon_density: `200 kg/m^3` has no effect without `microballoon_fraction`",
        ),
        (
            '"10 mm"',
            '"10 mm"\nair_fraction = "10 %"',
            "body.air_fraction: `10 %` is unusual; 0 to 0.03 is typical",
        ),
        (
            'wire_diameter = "1.1 mm"',
            'wire_diameter = "1.1 cm"',
            "rig.hook.wire_diameter: `1.1 cm` is unusual; 0.5 to 2 mm is typical",
        ),
        (
            '"1/4 oz"',
            '"1/4 lb"',
            "rig.weights.head.mass: `1/4 lb` is unusual; 0.2 to 60 g is typical",
        ),
    ],
)
def test_odd_body_or_rig_warns(old: str, new: str, warning: str) -> None:
    assert loads(RIG, "c.toml").warnings == ()
    assert loads(RIG.replace(old, new, 1), "c.toml").warnings == (f"c.toml: {warning}",)


def test_thickness_above_width_and_width_above_length() -> None:
    case = loads(STRIP.replace('"1 mm"', '"9 mm"').replace('"30 mm"', '"8 mm"'), "c.toml")
    assert case.warnings == (
        "c.toml: parts.strip.length: `8 mm` is unusual; 10 to 200 mm is typical",
        "c.toml: parts.strip.thickness: `9 mm` is more than the width; the thickness is the "
        "smaller size, in the direction of bending",
        "c.toml: parts.strip.thickness: `9 mm` is more than the length; a part several times as "
        "long as wide is typical",
    )


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('"1020 kg/m^3"', '"1020 kg/m^3"\nloss_factor = 0'),
        ('"1 mm"', '"1 mm"\nloads.normal_drag = 0'),
        ('"30 mm"', '"10 mm"'),
        ('"30 mm"', '"0.2 m"'),
    ],
)
def test_switching_off_and_range_ends_do_not_warn(old: str, new: str) -> None:
    assert loads(STRIP.replace(old, new, 1)).warnings == ()


def test_a_mirrored_curl_is_as_typical_as_its_image() -> None:
    case = loads(CURL.replace('"200 deg"', '"-200 deg"'))
    assert case.warnings == ()
    assert case.parts[0].arc_angle == -loads(CURL).parts[0].arc_angle


def test_every_odd_station_of_a_table_is_found() -> None:
    text = CLAW.replace('"1.5 mm"', '{ at = [0, 0.5, 1], value = ["1.5 mm", "3 mm", "1 mm"] }')
    assert loads(text, "c.toml").warnings == (
        "c.toml: parts.p.thickness: `3 mm` is unusual; 0.8 to 2.5 mm is typical",
    )
