"""Back to CAD: parameters, cavity, shot and cost."""

import csv
import io

import pytest
from sweep_cases import PADDLE

from simsoft.case.read import loads
from simsoft.case.wishes import Shop
from simsoft.design.cad import cavity, csv_text, parameters, shot
from simsoft.design.cost import cost
from simsoft.engine.run import run

SHOP = """
[shop]
mould = "resin"
cavities = 4
"""


def tables(text):
    import tomllib

    return tomllib.loads(text)


def test_parameters_come_back_as_the_user_wrote_them():
    text = PADDLE.replace('width = "4 mm"', 'width = ["0.2 in", "3.50 mm"]')
    found = {p.name: (p.value, p.unit) for p in parameters(tables(text))}
    assert found["tail_thickness"] == ("2", "mm")
    assert found["tail_width_1"] == ("0.2", "in")
    assert found["tail_width_2"] == ("3.5", "mm")
    assert found["durometer"] == ("46", "OO")
    rows = list(csv.reader(io.StringIO(csv_text(parameters(tables(text))))))
    assert rows[0] == ["name", "value", "unit", "comment"]
    assert ["tail_thickness", "2", "mm", "parts.tail.thickness"] in rows


def test_the_cavity_takes_off_the_bias_across_the_parting_plane_and_adds_the_shrinkage():
    text = PADDLE + SHOP
    found = {p.name: float(p.value) for p in cavity(loads(text), tables(text))}
    assert found["tail_thickness_cavity"] == pytest.approx((2.0 - 0.15) * 1.015, abs=5e-4)
    assert found["tail_length_cavity"] == pytest.approx(11 * 1.015, abs=5e-3)
    assert "durometer_cavity" not in found
    metal = text.replace('"resin"', '"aluminium"')
    again = {p.name: float(p.value) for p in cavity(loads(metal), tables(metal))}
    assert again["tail_thickness_cavity"] == pytest.approx((2.0 - 0.05) * 1.015, abs=5e-4)


def test_a_body_in_stations_says_where_and_its_width_opens_the_mould():
    body = (
        '[body]\nfamily = "grub"\nlength = "60 mm"\nheight = "14 mm"\n'
        'width = { at = [0, 0.4, 1], value = ["2 mm", "11 mm", "6 mm"] }\n'
    )
    text = PADDLE + SHOP + body
    stated = {p.name: p.comment for p in parameters(tables(text))}
    assert stated["body_width_2"] == "body.width at 0.4 of the length"
    found = {p.name: float(p.value) for p in cavity(loads(text), tables(text))}
    assert found["body_width_2_cavity"] == pytest.approx((11.0 - 0.15) * 1.015, abs=5e-3)
    assert found["body_height_cavity"] == pytest.approx(14.0 * 1.015, abs=5e-3)


def test_inches_stay_inches():
    text = PADDLE.replace('thickness = "2 mm"', 'thickness = "0.1 in"') + SHOP
    found = {p.name: p for p in cavity(loads(text), tables(text))}["tail_thickness_cavity"]
    assert found.unit == "in"
    assert float(found.value) == pytest.approx((0.1 - 0.15 / 25.4) * 1.015, abs=5e-5)


def test_the_shot_is_the_soft_parts_times_the_cavities_and_the_runner():
    case = loads(PADDLE + SHOP)
    found = shot(case)
    mass = next(r for r in run(case, bands=False).records if r.quantity == "mass" and not r.part)
    assert found.mass == pytest.approx(mass.value, rel=1e-12)
    assert found.plate_mass == pytest.approx(4 * 1.25 * mass.value, rel=1e-12)


def test_the_threshold_is_the_loop_over_the_metal():
    # hours only: 6/25 = 24 points; material only: 1.5/2.5 = 60 points (trade arithmetic)
    hours = Shop(loop_material=0.0, metal_material=0.0)
    assert cost(hours, 0.5).threshold == pytest.approx(0.24)
    material = Shop(hour_value=0.0)
    assert cost(material, 0.5).threshold == pytest.approx(0.60)
    assert cost(hours, 0.5).expected == pytest.approx(12.5)
    assert cost(hours, 0.5).loop_can_pay
    assert not cost(hours, 0.1).loop_can_pay
