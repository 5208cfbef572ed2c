"""What a body ahead leaves of the stream: the rows it was set on, and what it does to a start."""

import csv
import math
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from simsoft.case.model import PaddleInput
from simsoft.case.read import loads
from simsoft.core.errors import InputError
from simsoft.engine.run import run
from simsoft.lure.shading import WITH_PRESSURE, in_shade, shading
from simsoft.results.record import select

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT / "validation" / "resolved"))
ALONE = 0.98  # drag of the disc alone and at rest over q A, 0.2 D thick (held-0)
TAIL = """title = "Weir kicker"
[material]
youngs_modulus = "200 kPa"
loss_factor = 0.16
{body}
[[parts]]
name = "tail"
kind = "paddle-tail"
length = "11 mm"
width = "5 mm"
thickness = "2.4 mm"
paddle_diameter = "15 mm"
paddle_thickness = "3 mm"
paddle_offset = "5 mm"
position = ["{root} mm", "0 mm", "0 mm"]
[[scenarios]]
name = "stream"
kind = "retrieve"
speed = ["0.4 m/s"]
march = false
"""
BODY = """[body]
family = "swim-bait"
length = "60 mm"
height = ["14 mm", "17 mm"]
width = ["12 mm", "13 mm"]
"""


def of_case(root=60, body=BODY):
    return loads(TAIL.format(body=body, root=root))


def test_the_law_meets_the_rows_it_was_set_on():
    """Loss of paddle drag behind three bodies; a beat adds drag of its own, so 0.1 is allowed."""
    from jobs import body_of

    with (ROOT / "validation/resolved/results.csv").open(encoding="utf-8") as file:
        results = {row["run"]: row for row in csv.DictReader(file)}
    part = of_case().parts[0]
    for name in ("slim", "deep", "blunt"):
        for offset in (2.0, 6.0):
            paddle = PaddleInput("disc", 0.015, 0.015, 0.003, math.pi / 2, 1e-3 * offset)
            here = replace(part, paddle=paddle, position=(0.06, 0.0, 0.0))
            band = shading(body_of(name), here)
            found = float(results[f"body-{name}-{offset:g}-0.5"]["paddle_drag"]) / ALONE
            assert band.value**2 == pytest.approx(found, abs=0.1), name
            assert band.low < band.value < band.high < 1.0


def test_only_a_paddle_behind_a_body_is_shaded():
    assert "shading" not in names_of(of_case(body=""))
    assert "shading" not in names_of(of_case(root=20))
    assert "shading" in names_of(of_case())


def names_of(case):
    from simsoft.lure.parts import assemble

    return assemble(case).strips[0].inputs


def test_the_shade_is_moved_even_where_only_a_rest_shape_is_asked_for():
    from simsoft.engine.uncertainty import felt
    from simsoft.lure.parts import assemble
    from simsoft.results.outcome import Outcome

    asked = Outcome()
    asked.add("fold_back", 3.0, "deg", "test", speed=0.4)
    moved = {variant.name for variant in felt(assemble(of_case()).strips[0], asked)}
    assert "shading" in moved
    assert "rim_force" not in moved


def test_a_shaded_paddle_starts_later_by_what_is_taken():
    alone, behind = (run(of_case(body=body), bands=False) for body in ("", BODY))
    share = names_of(of_case())["shading"].value
    starts = [select(result.records, "start_speed")[0].value for result in (alone, behind)]
    assert starts[1] == pytest.approx(starts[0] / share, rel=2e-3)
    assert any("the body ahead leaves" in line for line in behind.warnings)


AHEAD = 'paddle_offset = "5 mm"\nbody_height = "14 mm"\nbody_width = "12 mm"'


def alone(stated=AHEAD):
    return loads(TAIL.format(body="", root=0).replace('paddle_offset = "5 mm"', stated))


def test_a_tail_given_alone_states_what_stands_ahead():
    stated = names_of(alone())["shading"]
    paddle = alone().parts[0].paddle
    base = math.pi / 4 * 0.014 * 0.012
    loss = (0.165 + 0.36 * base / (math.pi / 4 * paddle.width**2)) * math.exp(-5.0 / (0.9 * 15.0))
    assert stated.value == pytest.approx(math.sqrt(1.0 - loss))
    assert "shading" not in names_of(alone('paddle_offset = "5 mm"'))


def test_a_tail_given_alone_is_told_when_it_states_none():
    told = [run(case, bands=False).warnings for case in (alone(), alone('paddle_offset = "5 mm"'))]
    assert not any("state body_height and body_width" in line for line in told[0])
    assert any("state body_height and body_width" in line for line in told[1])


def test_what_stands_ahead_is_stated_whole():
    with pytest.raises(InputError, match="body_width: missing; `body_height` needs it"):
        alone('body_height = "14 mm"')


def test_beside_a_body_what_is_stated_has_no_effect():
    text = TAIL.format(body=BODY, root=60).replace('paddle_offset = "5 mm"', AHEAD)
    case = loads(text)
    assert any("has no effect beside [body]" in line for line in case.warnings)
    assert names_of(case)["shading"] == names_of(of_case())["shading"]


def test_a_towed_tail_in_the_shade_feels_less_pressure():
    values = {"tail": dict.fromkeys(WITH_PRESSURE, 1.0) | {"rim_rate": 2.0, "modulus": 3.0}}
    assert in_shade(values) == values
    shaded = in_shade({"tail": values["tail"] | {"shading": 0.9}})["tail"]
    assert [shaded[key] for key in WITH_PRESSURE] == pytest.approx([0.81] * len(WITH_PRESSURE))
    assert (shaded["rim_rate"], shaded["modulus"]) == pytest.approx((1.8, 3.0))
