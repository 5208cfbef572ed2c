"""Drawn outlines: points of the case, SVG and DXF files, holes, and what is refused."""

import numpy as np
import pytest

from simsoft.case.read import load, loads
from simsoft.core.errors import InputError
from simsoft.engine.run import run
from simsoft.geometry.meshing import quads_on
from simsoft.geometry.planform import cut_planform
from simsoft.hydrodynamics.plate.panels import make_panels, panel_added_mass, panel_areas
from simsoft.lure.parts import assemble
from simsoft.results.record import select

pytest.importorskip("shapely")
pytest.importorskip("shapely")

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


PADDLE = """
title = "tail"
[material]
durometer = "46 OO"
[[parts]]
name = "tail"
kind = "paddle-tail"
length = "11 mm"
width = "5 mm"
thickness = "2.4 mm"
paddle_diameter = "15 mm"
paddle_thickness = "3 mm"
paddle_offset = "{offset}"
model = "{model}"
[[scenarios]]
name = "tank"
kind = "hold"
"""


def test_a_paddle_may_be_a_plate_that_the_stem_meets():
    lure = assemble(loads(PADDLE.format(offset="2 mm", model="plate"), "tail.toml"))
    assert lure.strips[0].model == "plate"
    assert "the paddle bends" in lure.strips[0].model_reason
    assert "rim_force" in lure.strips[0].inputs
    loads(PADDLE.format(offset="9 mm", model="rod"), "tail.toml")
    with pytest.raises(InputError, match=r"paddle_offset.*at most 5.25 mm"):
        loads(PADDLE.format(offset="9 mm", model="plate"), "tail.toml")


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


PAD = (
    '<path d="M 0 8 L 8 8 C 12 2 30 0 36 6 L 36 14 C 30 20 12 18 8 12 L 0 12 Z"/>'
    '<circle cx="24" cy="10" r="2.5"/>'
)
TAB = ((0.0, 2.0), (0.0, -2.0), (8.0, -2.0))  # of the drawing: root side and one side of its tab


def drawn_plate(tmp_path, extra, line="", model="plate"):
    svg = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 40 20">{PAD}{line}</svg>'
    (tmp_path / "pad.svg").write_text(svg, encoding="utf-8")
    case = tmp_path / "fin.toml"
    drawn = f'outline_file = "pad.svg"\nmodel = "{model}"\n{extra}'
    case.write_text(TEXT.format(drawn=drawn), encoding="utf-8")
    return case


def held_length(part):
    planform = cut_planform(part, 14, 0.0, 0.0)
    ring = planform.plan[planform.outline]
    held = planform.clamped[planform.outline]
    side = np.linalg.norm(np.roll(ring, -1, axis=0) - ring, axis=1)
    return side[held & np.roll(held, -1)].sum()


@pytest.mark.parametrize(
    ("extra", "line"),
    [
        ('clamp = [["0 mm", "1.667 mm"], ["0 mm", "-1.667 mm"], ["6.667 mm", "-1.667 mm"]]', ""),
        ("", '<path id="clamp" d="M 0 8 L 0 12 L 8 12"/>'),
        ("", '<polyline id="Clamp" points="8,12 0,12 0,8"/>'),
    ],
)
def test_an_outline_file_is_held_along_the_stretch_named(tmp_path, extra, line):
    part = load(drawn_plate(tmp_path, extra, line)).parts[0]
    scale = 30e-3 / 36.0
    assert np.allclose(part.clamp, scale * np.asarray(TAB), atol=1e-6)
    assert held_length(part) == pytest.approx(12.0 * scale, rel=1e-3)


def test_a_stretch_of_an_outline_file_by_shares_of_its_length(tmp_path):
    part = load(drawn_plate(tmp_path, "clamp_share = [0.8, 0.1]")).parts[0]
    ring = np.asarray([*part.outline[0], part.outline[0][0]])
    total = np.linalg.norm(np.diff(ring, axis=0), axis=1).sum()
    # the mesh's chords cut the curves short by little
    assert held_length(part) == pytest.approx(0.3 * total, rel=0.01)


def test_a_dxf_is_held_along_the_line_on_its_layer(tmp_path):
    ezdxf = pytest.importorskip("ezdxf")
    drawing = ezdxf.new()
    drawing.modelspace().add_lwpolyline([(5, -3), (35, -8), (35, 8), (5, 3)], close=True)
    drawing.modelspace().add_line((5, 3), (35, 8), dxfattribs={"layer": "Clamp"})
    drawing.saveas(tmp_path / "pad.dxf")
    case = tmp_path / "fin.toml"
    drawn = 'outline_file = "pad.dxf"\nmodel = "plate"'
    case.write_text(TEXT.format(drawn=drawn), encoding="utf-8")
    part = load(case).parts[0]
    assert np.allclose(part.clamp, [(30e-3, 8e-3), (0.0, 3e-3)])
    assert held_length(part) == pytest.approx(1e-3 * np.hypot(30.0, 5.0), rel=1e-6)


@pytest.mark.parametrize(
    ("extra", "line", "said"),
    [
        ('clamp = [["4 mm", "0 mm"], ["5 mm", "0 mm"]]', "", "off the outline, nearest to"),
        ("clamp_share = [0.2, 0.2]", "", "two different shares"),
        ("clamp_share = [0.9, 1.1]", "", "two different shares"),
        ("clamp_share = [0.9, 0.1]", '<path id="clamp" d="M 0 8 L 0 12"/>', "only one is allowed"),
        ("", '<path id="clamp" d="M 9 9 L 10 12"/>', "off the outline"),
        ("", '<path id="clamp" d="M 0 8 L 0 9 M 0 10 L 0 12"/>', "holds 2 lines named"),
        ('clamp_share = [0, 1]\nclamp = [["0 mm", "0 mm"], ["0 mm", "1 mm"]]', "", "contradicts"),
        ("holes = []", "", "drawn in the file"),
    ],
)
def test_a_clamp_that_an_outline_file_cannot_have_is_refused(tmp_path, extra, line, said):
    with pytest.raises(InputError, match=said):
        load(drawn_plate(tmp_path, extra, line))


def test_a_rod_is_not_held_along_a_drawn_line(tmp_path):
    line = '<path id="clamp" d="M 0 8 L 0 12"/>'
    with pytest.raises(InputError, match="a rod is held at its root"):
        load(drawn_plate(tmp_path, "", line, model="auto"))


def test_an_outline_may_be_held_all_round():
    # check A20 has what such a disc rings at
    part = loads(TEXT.format(drawn=f'{KITE}\nmodel = "plate"\nclamp_share = [0, 1]')).parts[0]
    assert part.clamp[0] == part.clamp[-1]
    planform = cut_planform(part, 10, 0.0, 0.0)
    assert planform.clamped[planform.outline].all()
    assert planform.clamped.sum() == len(planform.outline)


@pytest.mark.parametrize(
    ("drawn", "needed"),
    [
        (KITE + '\nmodel = "plate"\nclamp = [["5 mm", "0 mm"], ["9 mm", "0 mm"]]', "run along it"),
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


def test_tip_of_a_flat_rounded_fin_points_along_it():
    turn = np.linspace(-0.5 * np.pi, 0.5 * np.pi, 13)
    tip = [(25.0 + 5.0 * np.cos(t), 4.0 * np.sin(t)) for t in turn]
    points = ", ".join(f'["{x:.3f} mm", "{y:.3f} mm"]' for x, y in [(0, -4), *tip, (0, 4)])
    text = TEXT.replace('"hold"', '"hold"\ngravity = false')
    drawn = f'outline = [{points}]\nmodel = "plate"'
    case = loads(text.format(drawn=drawn), "fin.toml", ["numerics.elements=20"])
    (angle,) = select(run(case, bands=False).records, "tip_angle")
    assert angle.value == pytest.approx(0.0, abs=1e-3)


POINTED = 'outline = [["0 mm", "-4 mm"], ["30 mm", "0 mm"], ["0 mm", "4 mm"]]\nmodel = "plate"'


@pytest.mark.parametrize("elements", [5, 7, 10, 14])
def test_a_drawn_point_has_a_direction_across(elements):
    """It has one node and no chord: what lies across stays that of the row before."""
    part = loads(TEXT.format(drawn=POINTED)).parts[0]
    planform = cut_planform(part, elements, 0.0, 0.0)
    chord = np.diff(planform.plan[planform.edges], axis=1)[:, 0]
    assert np.all(np.abs(chord[:, 1]) > 2.0 * np.abs(chord[:, 0]))


def test_a_drawn_point_is_answered_in_a_stream():
    text = TEXT.format(drawn=POINTED).replace('kind = "hold"', 'kind = "retrieve"')
    case = loads(text + 'speed = ["0.3 m/s"]\nonset = false\nduration = "0.2 s"\n')
    found = run(case, bands=False)
    assert isinstance(select(found.records, "curl_up", speed=0.3)[0].value, float)
    assert not [warning for warning in found.warnings if "failed" in warning]


def test_an_outline_wider_than_long_warns():
    drawn = 'outline = [["0 mm", "-4 mm"], ["20 mm", "-18 mm"], ["30 mm", "0 mm"], ["20 mm", "18 mm"], ["0 mm", "4 mm"]]'  # noqa: E501
    (warning,) = loads(TEXT.format(drawn=drawn), "c.toml").warnings
    assert warning == (
        "c.toml: parts.fin.outline: 36 mm across are more than the length; a part several times "
        "as long as wide is typical"
    )
