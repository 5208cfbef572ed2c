"""What a valid case file becomes."""

from __future__ import annotations

import math
import re
import subprocess
import sys
import time

import pytest
from case_texts import CLAW, CURL, FORK, LEG, PADDLE, STRIP, with_part
from clock import slower

from simsoft.case.model import Numerics, Taper, Tolerance, WaterInput
from simsoft.case.read import loads, missing_key
from simsoft.case.schema import LISTS, TABLES, CaseTable
from simsoft.case.starter import KINDS, starter
from simsoft.core.errors import InputError


def test_strip() -> None:
    case = loads(STRIP, "c.toml")
    (part,), (scenario,) = case.parts, case.scenarios
    assert case.title == "Test strip"
    assert case.warnings == ()
    assert case.water == WaterInput(293.15, 0.0)
    assert (case.material.hardness_scale, case.material.hardness) == ("OO", 50.0)
    assert case.material.density == pytest.approx(1020.0)
    assert part.length == pytest.approx(0.03)
    assert part.width.values == pytest.approx((0.006, 0.006))
    assert part.thickness.values == pytest.approx((0.001, 0.001))
    assert (part.section, part.curl, part.bending, part.paddle) == (
        "rectangle",
        "across",
        "blend",
        None,
    )
    assert (part.direction, part.width_axis) == ((1.0, 0.0, 0.0), (0.0, 0.0, 1.0))
    assert scenario.speeds == pytest.approx((0.1, 0.2))
    assert (scenario.onset, scenario.march, scenario.gravity) == (True, True, True)
    assert (case.numerics, case.tolerance, case.length_unit) == (Numerics(), Tolerance(), "mm")


def test_contract_example() -> None:
    text = """\
title = "Contract"
[water]
temperature = "20 degC"
salinity = "0 g/kg"
[material]
youngs_modulus = "120 kPa"
density = "1070 kg/m^3"
loss_factor = 0.16
[[parts]]
name = "strip"
kind = "strip"
length = "30 mm"
width = "6 mm"
thickness = "1 mm"
direction = [0, 0, -1]
width_axis = [0, 1, 0]
[parts.loads]
normal_drag = 1.95
skin_friction = 0.0
reactive = true
finite_span = true
shedding = false
[[scenarios]]
name = "stream"
kind = "retrieve"
speed = ["0.1 m/s", "0.2 m/s"]
gravity = true
onset = true
"""
    case = loads(text)
    assert case.warnings == ()
    assert case.material.youngs_modulus == pytest.approx(120e3)
    assert case.parts[0].loads.normal_drag == 1.95
    assert case.parts[0].loads.shedding is False
    assert case.parts[0].direction == (0.0, 0.0, -1.0)


def test_inch_pound_case_equals_metric() -> None:
    text = STRIP.replace("30 mm", "2 1/2 in").replace("20 degC", "68 degF")
    text = text.replace("0.1 m/s", "0.5 kn").replace("6 mm", "1/4 in")
    case = loads(text)
    assert case.parts[0].length == pytest.approx(0.0635)
    assert case.parts[0].width.values[0] == pytest.approx(0.00635)
    assert case.water.temperature == pytest.approx(293.15)
    assert case.scenarios[0].speeds[0] == pytest.approx(0.5 * 1852 / 3600)


def test_water_by_density_and_viscosity_keeps_temperature() -> None:
    new = 'density = "1000 kg/m^3"\nviscosity = "1 mPa s"'
    water = loads(STRIP.replace('salinity = "0 g/kg"', new)).water
    assert (water.density, water.viscosity) == pytest.approx((1000.0, 1e-3))
    assert water.temperature == pytest.approx(293.15)


def test_tapers() -> None:
    text = STRIP.replace('"1 mm"', '["2 mm", "1 mm"]').replace(
        '"6 mm"', '{ at = [0, 0.7, 1], value = ["6 mm", "9 mm", "4 mm"] }'
    )
    part = loads(text).parts[0]
    assert part.thickness.stations == (0.0, 1.0)
    assert part.thickness.values == pytest.approx((0.002, 0.001))
    assert part.width.stations == (0.0, 0.7, 1.0)
    assert part.width.values == pytest.approx((0.006, 0.009, 0.004))


def test_paddle_disc_and_its_defaults() -> None:
    paddle = loads(PADDLE).parts[0].paddle
    assert paddle is not None
    assert paddle.shape == "disc"
    assert (paddle.width, paddle.height, paddle.thickness) == pytest.approx((0.014, 0.014, 0.003))
    assert paddle.angle == pytest.approx(math.pi / 2)
    assert paddle.offset == pytest.approx(0.2 * 0.014)


def test_paddle_boot() -> None:
    new = 'paddle_shape = "boot"\npaddle_width = "10 mm"\npaddle_height = "15 mm"\n'
    text = PADDLE.replace('paddle_diameter = "14 mm"\n', new)
    text += 'paddle_angle = "80 deg"\npaddle_offset = "0 mm"\n'
    paddle = loads(text).parts[0].paddle
    assert paddle is not None
    assert paddle.shape == "boot"
    assert (paddle.width, paddle.height) == pytest.approx((0.010, 0.015))
    assert paddle.angle == pytest.approx(math.radians(80))
    assert paddle.offset == 0.0


def test_leg_is_round() -> None:
    part = loads(LEG).parts[0]
    assert part.section == "ellipse"
    assert part.width == part.thickness
    assert part.width.values == pytest.approx((0.002, 0.001))


def test_curl_tail_curls_in_its_plane_unless_told_otherwise() -> None:
    part = loads(CURL).parts[0]
    assert (part.curl, part.arc_angle) == ("in-plane", pytest.approx(math.radians(200)))
    assert loads(CURL + 'curl = "across"\n').parts[0].curl == "across"


def test_fork_angle() -> None:
    assert loads(FORK).parts[0].fork_angle == pytest.approx(math.radians(30))
    text = FORK + 'fork_angle = "20 deg"\n'
    assert loads(text).parts[0].fork_angle == pytest.approx(math.radians(20))
    assert loads(STRIP).parts[0].fork_angle == 0.0


def test_claw_has_a_neck_a_transition_and_a_narrower_tip() -> None:
    part = loads(CLAW).parts[0]
    assert part.width.stations == pytest.approx((0, 0.2, 0.3, 0.86, 1))
    assert part.width.values == pytest.approx((0.00396, 0.00396, 0.012, 0.012, 0.0072))
    assert part.thickness.stations == pytest.approx((0, 0.2, 0.3, 1))
    assert part.thickness.values == pytest.approx((0.00135, 0.00135, 0.0015, 0.0015))


def test_claw_with_stated_neck_and_tapered_pad() -> None:
    text = CLAW.replace('width = "12 mm"', 'width = ["12 mm", "10 mm"]')
    text += 'neck_length = "9 mm"\nneck_width = "5 mm"\nneck_thickness = "1.2 mm"\n'
    part = loads(text).parts[0]
    assert part.width.stations == pytest.approx((0, 0.3, 0.4, 1))
    assert part.width.values == pytest.approx((0.005, 0.005, 0.012, 0.010))
    assert part.thickness.values == pytest.approx((0.0012, 0.0012, 0.0015, 0.0015))


@pytest.mark.parametrize("neck", ["0.02 mm", "1 mm", "10 mm", "21 mm"])
def test_claw_stations_rise_whatever_the_neck(neck: str) -> None:
    width = loads(CLAW + f'neck_length = "{neck}"\n').parts[0].width
    assert width.stations[0] == 0.0
    assert width.stations[-1] == 1.0
    assert list(width.stations) == sorted(set(width.stations))


def test_tip_loads_and_line_weight() -> None:
    body = (
        'tip_mass = "1/4 oz"\ntip_force = ["1 N", "0 N", "-2 mN"]\n'
        'follower_force = ["1 gf", "0 N", "0 N"]\ntip_moment = ["0 N m", "1 mN m", "0 N m"]\n'
        'line_weight = "0.1 N/m"\nposition = ["1 in", "0 mm", "-2 mm"]\n'
    )
    part = loads(STRIP.replace("[[scenarios]]", body + "[[scenarios]]")).parts[0]
    assert part.tip_mass == pytest.approx(0.00708738)
    assert part.tip_force == pytest.approx((1.0, 0.0, -2e-3))
    assert part.follower_force == pytest.approx((9.80665e-3, 0.0, 0.0))
    assert part.tip_moment == pytest.approx((0.0, 1e-3, 0.0))
    assert part.line_weight == pytest.approx(0.1)
    assert part.position == pytest.approx((0.0254, 0.0, -0.002))


def test_axes_are_normalised_and_made_square() -> None:
    text = LEG + "direction = [3, 4, 0]\nwidth_axis = [0.001, 0, 2]\n"
    part = loads(text).parts[0]
    assert part.direction == pytest.approx((0.6, 0.8, 0.0))
    assert math.hypot(*part.width_axis) == pytest.approx(1.0)
    along = sum(a * b for a, b in zip(part.direction, part.width_axis, strict=True))
    assert along == pytest.approx(0.0, abs=1e-15)
    assert loads(text).warnings == loads(LEG).warnings


def test_hold_asks_neither_for_onset_nor_for_a_march() -> None:
    scenario = loads(CLAW).scenarios[0]
    assert (scenario.kind, scenario.speeds) == ("hold", ())
    assert (scenario.onset, scenario.march) == (False, False)


def test_retrieve_for_the_start_speed_alone() -> None:
    text = STRIP.replace('speed = ["0.1 m/s", "0.2 m/s"]', 'onset = true\nmax_speed = "1.2 m/s"')
    scenario = loads(text).scenarios[0]
    assert (scenario.speeds, scenario.onset) == ((), True)
    assert scenario.max_speed == pytest.approx(1.2)


def test_one_speed_without_a_list() -> None:
    assert loads(STRIP.replace('["0.1 m/s", "0.2 m/s"]', '"0.3 m/s"')).scenarios[0].speeds == (
        pytest.approx(0.3),
    )


def test_scenario_details() -> None:
    new = (
        'kind = "retrieve"\nduration = "4 s"\nshear = "0.5 1/s"\nstream_direction = [0, 2, 0]\n'
        "modes = 5\nmarch = false\ngravity = false"
    )
    scenario = loads(STRIP.replace('kind = "retrieve"', new)).scenarios[0]
    assert (scenario.duration, scenario.shear) == pytest.approx((4.0, 0.5))
    assert scenario.stream_direction == (0.0, 1.0, 0.0)
    assert (scenario.modes, scenario.march, scenario.gravity) == (5, False, False)


def test_numerics_and_tolerance() -> None:
    text = STRIP + '[numerics]\nelements = 24\nstep = "0.5 ms"\n[tolerance]\nhardness = 2\n'
    case = loads(text + 'thickness = "0.05 mm"\nmodulus = "20 %"\ndensity = "5 kg/m^3"\n')
    assert case.numerics.elements == 24
    assert case.numerics.step == pytest.approx(5e-4)
    stated = case.tolerance
    assert stated.hardness == 2.0
    assert (stated.thickness, stated.modulus, stated.density) == pytest.approx((5e-5, 0.2, 5.0))


def test_salt_fraction_as_share_and_per_cent() -> None:
    for value in ("0.1", '"10 %"', '"100 g/kg"'):
        text = STRIP.replace('density = "1020 kg/m^3"', f"salt_fraction = {value}")
        assert loads(text).material.salt_fraction == pytest.approx(0.1)


def test_scalar_taper_is_flat() -> None:
    assert loads(STRIP).parts[0].width == Taper((0.0, 1.0), (0.006, 0.006))


@pytest.mark.parametrize("kind", KINDS)
def test_starter_loads_without_a_word(kind: str) -> None:
    text = starter(kind)
    case = loads(text, f"{kind}.toml")
    assert case.warnings == ()
    assert case.text == text
    asked = {scenario.kind for scenario in case.scenarios}
    if kind == "lure":
        assert case.body is not None
        assert case.rig is not None
        assert asked == {"sink", "cast"}
    elif kind == "swim-bait":
        assert case.body is not None
        assert case.body.flexible
        assert asked == {"hold", "retrieve"}
    else:
        assert [part.kind for part in case.parts] == [kind]
        assert asked == {"hold", "retrieve"}
    assert text.count("#") > 20
    assert max(map(len, text.splitlines())) <= 100


@pytest.mark.parametrize("kind", KINDS)
def test_the_setting_a_starter_proposes_works(kind: str) -> None:
    text = starter(kind)
    (line,) = (line for line in text.splitlines() if "--set" in line)
    setting = line.split("--set ")[1].replace('"', "")
    assert loads(text, overrides=[setting]).parts != loads(text).parts


def test_unknown_starter() -> None:
    with pytest.raises(InputError) as caught:
        starter("paddletail")
    assert caught.value.problems == (
        "`paddletail` is no kind of part (did you mean `paddle-tail`?); allowed are swim-bait, "
        "strip, ribbon, curl-tail, paddle-tail, fork-tail, claw, leg, lure",
    )


def test_model_import_stays_light() -> None:
    code = (
        "import sys, simsoft.case.model, simsoft.case.starter; "
        "print({'pint', 'pydantic', 'numpy'} & set(sys.modules))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "set()"


def test_a_loaded_case_reads_again_quickly() -> None:
    loads(with_part('kind = "strip"\nlength = "4 cm"\nwidth = "5 mm"\nthickness = "1 mm"\n'))
    text = starter("paddle-tail")
    started = time.process_time()
    for _ in range(10):
        loads(text)
    assert time.process_time() - started < 1.0 * slower()


def tables(top=CaseTable, place=()):
    """Yield every table of a case file with the place it stands in."""
    yield top, place
    for name, table in TABLES.get(top, {}).items():
        yield from tables(table, (*place, name))
    for name, table in LISTS.get(top, {}).items():
        yield from tables(table, (*place, name, 0))


@pytest.mark.parametrize(
    "place",
    [
        (*place, key)
        for table, place in tables()
        for key, field in table.model_fields.items()
        if field.is_required()
    ],
    ids=lambda place: ".".join(map(str, place)),
)
def test_every_key_that_may_be_missing_has_an_example(place):
    assert re.match(r"missing; a (value|table) .* needed", missing_key(place))
