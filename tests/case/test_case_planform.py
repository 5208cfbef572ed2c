"""Drawn outlines: points of the case, SVG and DXF files, holes, and what is refused."""

import numpy as np
import pytest

from simsoft.case.read import load, loads
from simsoft.engine import run
from simsoft.errors import InputError
from simsoft.loads.panels import make_panels, panel_added_mass, panel_areas
from simsoft.record import select
from simsoft.shape.planform import cut_planform
from simsoft.shape.quads import quads_on

pytest.importorskip("shapely")
pytest.importorskip("gmsh")

TEXT = """
title = "drawn fin"
[material]
durometer = "30 OO"
[[parts]]
name = "fin"
kind = "strip"
length = "30 mm"
thickness = ["1.2 mm", "0.8 mm"]
{drawn}
[[scenarios]]
name = "tank"
kind = "hold"
"""
KITE = (
    'outline = [["0 mm", "-3 mm"], ["20 mm", "-8 mm"], ["30 mm", "-2 mm"], ["30 mm", "2 mm"], '
    '["20 mm", "8 mm"], ["0 mm", "3 mm"]]'
)
HOLE = 'holes = [[["14 mm", "-2 mm"], ["18 mm", "-2 mm"], ["18 mm", "2 mm"], ["14 mm", "2 mm"]]]'
SVG = """<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 40 20">
<path d="M 0 8 L 8 8 C 12 2 30 0 36 6 L 36 14 C 30 20 12 18 8 12 L 0 12 Z"/>
<circle cx="24" cy="10" r="2.5"/></svg>"""


def area(planform):
    return panel_areas(planform.plan[planform.quads])


def test_points_and_hole_are_meshed():
    part = loads(TEXT.format(drawn=f"{KITE}\n{HOLE}"), "fin.toml").parts[0]
    planform = cut_planform(part, 14, 0.0, 0.0)
    assert np.all(area(planform) > 0.0)
    assert area(planform).sum() == pytest.approx(1e-6 * (11 * 20 + 10 * 10 - 16), rel=0.01)
    assert np.ptp(planform.plan[planform.clamped, 1]) == pytest.approx(6e-3, rel=1e-3)
    assert planform.plan[planform.tip, 0].min() > 29e-3
    assert np.allclose(planform.plan[planform.centre[[0, -1]], 0], [0.0, 30e-3], atol=1e-6)
    assert max(part.width.values) == pytest.approx(16e-3, rel=0.05)


def test_svg_is_scaled_to_the_length(tmp_path):
    (tmp_path / "pad.svg").write_text(SVG, encoding="utf-8")
    case = tmp_path / "fin.toml"
    case.write_text(TEXT.format(drawn='outline_file = "pad.svg"'), encoding="utf-8")
    part = load(case).parts[0]
    outer, hole = (np.asarray(ring) for ring in part.outline)
    assert np.ptp(outer[:, 0]) == pytest.approx(30e-3)
    assert np.ptp(hole[:, 0]) == pytest.approx(5.0 * 30e-3 / 36.0, rel=0.01)
    root = outer[outer[:, 0] < 1e-6, 1]
    assert root.mean() == pytest.approx(0.0, abs=1e-9)


def test_dxf_is_read(tmp_path):
    ezdxf = pytest.importorskip("ezdxf")
    drawing = ezdxf.new()
    drawing.modelspace().add_lwpolyline([(0, -3), (30, -8), (30, 8), (0, 3)], close=True)
    drawing.modelspace().add_circle((20, 0), 2)
    drawing.saveas(tmp_path / "pad.dxf")
    case = tmp_path / "fin.toml"
    case.write_text(TEXT.format(drawn='outline_file = "pad.dxf"'), encoding="utf-8")
    assert len(load(case).parts[0].outline) == 2


@pytest.mark.parametrize(
    ("drawn", "said"),
    [
        (
            'outline = [["0 mm","-3 mm"], ["30 mm","3 mm"], ["30 mm","-3 mm"], ["0 mm","3 mm"]]',
            "crosses itself",
        ),
        (f'{KITE}\nwidth = "6 mm"', "contradicts `outline`"),
        (f'{KITE}\noutline_file = "pad.svg"', "only one is allowed"),
        ('outline_file = "none.svg"', "`none.svg` does not exist"),
        ('outline_file = "pad.png"', "neither .svg nor .dxf"),
        ('outline = [["0 mm", "1 mm"]]', "at least three points"),
        ('outline = [["0", "1 mm"], ["2 mm", "0 mm"], ["3 mm", "1 mm"]]', "unit"),
        (
            f'{KITE}\nholes = [[["25 mm","0 mm"], ["40 mm","0 mm"], ["25 mm","3 mm"]]]',
            "holes must lie inside",
        ),
    ],
)
def test_what_cannot_be_meshed_is_refused_in_one_line(drawn, said):
    with pytest.raises(InputError) as refused:
        loads(TEXT.format(drawn=drawn), "fin.toml")
    assert any(
        said in line and line.startswith("fin.toml: parts") for line in refused.value.problems
    )


def test_disc_has_the_added_mass_of_a_disc():
    # 8/3 rho a^3 across, 16/45 rho a^5 in turning (Lamb, Hydrodynamics, art. 108)
    turn = np.linspace(0.0, 2.0 * np.pi, 181)[:-1]
    plan, quads = quads_on((tuple(zip(np.cos(turn), np.sin(turn), strict=True)),), 0.16)
    panels = make_panels(plan, quads)
    mass = panel_added_mass(panels)
    assert np.linalg.eigvalsh(mass).min() > 0.0
    assert mass.sum() == pytest.approx(8.0 / 3.0, rel=0.015)
    x = panels.middle[:, 0]
    assert x @ mass @ x == pytest.approx(16.0 / 45.0, rel=0.03)


@pytest.mark.parametrize(
    ("extra", "said"),
    [
        ('width = "20 mm"\nsection = "ellipse"', "does not suit"),
        ('width = "20 mm"\ntip_moment = ["0 N mm", "1 N mm", "0 N mm"]', "acts on rods only"),
    ],
)
def test_what_a_plate_cannot_carry_is_refused(extra, said):
    with pytest.raises(InputError, match=said):
        loads(TEXT.format(drawn=f'{extra}\nmodel = "plate"'), "fin.toml")


def frequencies(text, name="fin.toml"):
    records = run(loads(text, name), bands=False).records
    return [
        r.value
        for medium in ("air", "water")
        for r in select(records, "natural_frequency", medium=medium)
        if r.at["motion"] != "in-plane"
    ]


def test_a_part_may_be_held_along_any_stretch_of_its_outline():
    # a fin 30 x 12 mm held along its long side is one 12 mm long and 30 mm wide held at its root
    box = '["0 mm", "0 mm"], ["30 mm", "0 mm"], ["30 mm", "12 mm"], ["0 mm", "12 mm"]'
    side = '[["0 mm", "0 mm"], ["30 mm", "0 mm"]]'
    drawn = f'outline = [{box}]\nmodel = "plate"\nclamp = {side}'
    text = TEXT.replace('["1.2 mm", "0.8 mm"]', '"1 mm"').replace(
        '"hold"', '"hold"\ngravity = false'
    )
    part = loads(text.format(drawn=drawn), "fin.toml").parts[0]
    planform = cut_planform(part, 14, 0.0, 0.0)
    held = planform.plan[planform.clamped]
    assert np.ptp(held[:, 0]) == pytest.approx(30e-3)
    assert np.ptp(held[:, 1]) == 0.0
    found = frequencies(text.format(drawn=drawn))
    turned = text.replace('"30 mm"', '"12 mm"').format(drawn='width = "30 mm"\nmodel = "plate"')
    assert found[:1] == pytest.approx(frequencies(turned)[:1], rel=0.02)
    assert found == pytest.approx(frequencies(turned), rel=0.04)


@pytest.mark.parametrize(
    ("drawn", "needed"),
    [
        (KITE + '\nmodel = "plate"\nclamp = [["5 mm", "0 mm"], ["9 mm", "0 mm"]]', "along it"),
        (KITE + '\nclamp = [["0 mm", "-3 mm"], ["0 mm", "3 mm"]]', 'model = "plate"'),
        (
            'width = "6 mm"\nmodel = "plate"\nclamp = [["0 mm", "0 mm"], ["9 mm", "0 mm"]]',
            "outline",
        ),
        (KITE + '\nmodel = "plate"\nclamp = [["0 mm", "-3 mm"]]', "at least two points"),
    ],
)
def test_a_clamp_that_cannot_be_met_is_refused(drawn, needed):
    with pytest.raises(InputError, match=needed):
        loads(TEXT.format(drawn=drawn), "fin.toml")


def test_a_clamp_along_a_side_is_refused_where_the_whole_lure_moves():
    drawn = KITE + '\nmodel = "plate"\nclamp = [["0 mm", "-3 mm"], ["0 mm", "3 mm"]]'
    text = TEXT.format(drawn=drawn).replace('"hold"', '"sink"')
    with pytest.raises(InputError, match="where the whole lure moves"):
        loads(text, "fin.toml")


def test_tip_of_a_flat_rounded_fin_points_along_it():
    turn = np.linspace(-0.5 * np.pi, 0.5 * np.pi, 13)
    tip = [(25.0 + 5.0 * np.cos(t), 4.0 * np.sin(t)) for t in turn]
    points = ", ".join(f'["{x:.3f} mm", "{y:.3f} mm"]' for x, y in [(0, -4), *tip, (0, 4)])
    text = TEXT.replace('"hold"', '"hold"\ngravity = false')
    drawn = f'outline = [{points}]\nmodel = "plate"'
    case = loads(text.format(drawn=drawn), "fin.toml", ["numerics.elements=20"])
    (angle,) = select(run(case, bands=False).records, "tip_angle")
    assert angle.value == pytest.approx(0.0, abs=1e-3)
