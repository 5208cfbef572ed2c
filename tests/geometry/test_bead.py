"""Rim beads and ribs: sections of a rod, elements of a plate, and the two against each other."""

from dataclasses import replace

import numpy as np
import pytest
from physics import close

from simsoft.case.model import Beads, Part, Taper
from simsoft.case.read import loads
from simsoft.core.errors import InputError
from simsoft.engine.run import run
from simsoft.geometry.beads import part_sections, stepped
from simsoft.geometry.planform import cut_planform
from simsoft.geometry.section import section_properties
from simsoft.mechanics.plate import make_plate, nodal_volume
from simsoft.results.record import select

PAD = Part("pad", "strip", 0.024, Taper((0.0,), (0.016,)), Taper((0.0,), (0.8e-3,)), model="plate")
RIM = Beads(rim_width=1.5e-3, rim_height=1.2e-3)
RIB = Beads(rib_width=2e-3, rib_height=0.6e-3)
TEXT = """
title = "pad with a frame"
[material]
youngs_modulus = "100 kPa"
density = "1000 kg/m^3"
[[parts]]
name = "pad"
kind = "{kind}"
length = "24 mm"
{size}
thickness = "0.8 mm"
{bead}
[[scenarios]]
name = "tank"
kind = "hold"
gravity = false
"""
FRAME = 'rim_width = "1.5 mm"\nrim_height = "1.2 mm"'


def at(part, share=0.5):
    width, thickness = np.array([0.016]), np.array([0.8e-3])
    return part_sections(part, width, thickness, np.array([share]))


def test_second_moments_are_those_of_the_stepped_section():
    found = at(replace(PAD, beads=RIM))
    assert found.area == close([16e-3 * 0.8e-3 + 3e-3 * 1.2e-3])
    assert found.second_moment_soft == close([(13e-3 * 0.8e-3**3 + 3e-3 * 2e-3**3) / 12.0])
    bands = (16e-3**3 - 13e-3**3) / 12.0
    assert found.second_moment_stiff == close([0.8e-3 * 16e-3**3 / 12.0 + 1.2e-3 * bands])
    found = at(replace(PAD, beads=RIB))
    assert found.area == close([16e-3 * 0.8e-3 + 2e-3 * 0.6e-3])
    assert found.second_moment_soft == close([(14e-3 * 0.8e-3**3 + 2e-3 * 1.4e-3**3) / 12.0])


def test_the_bead_along_the_tip_is_as_thick_all_across():
    found = at(replace(PAD, beads=RIM), share=0.99)
    thick = section_properties("rectangle", np.array([0.016]), np.array([2e-3]))
    assert found.second_moment_soft == close(thick.second_moment_soft)
    assert found.second_moment_stiff == close(thick.second_moment_stiff)
    assert found.torsion_constant == close(thick.torsion_constant)


def test_a_bead_of_no_height_is_none():
    flat = section_properties("rectangle", np.array([0.016]), np.array([0.8e-3]))
    low = at(replace(PAD, beads=Beads(1.5e-3, 1e-15, 2e-3, 1e-15)))
    for name in ("area", "second_moment_soft", "second_moment_stiff", "torsion_constant"):
        assert getattr(low, name) == close(getattr(flat, name))


def plate_of(part, elements=14):
    planform = cut_planform(part, elements, 0.0, 0.0)
    plate = make_plate(planform.plan, planform.quads, planform.thickness, 0.49, planform.stepped)
    return planform, plate


@pytest.mark.parametrize("elements", [8, 14, 23])
@pytest.mark.parametrize("beads", [RIM, RIB, Beads(1.5e-3, 1.2e-3, 2e-3, 0.6e-3)])
def test_volume_is_that_of_web_and_beads_whatever_the_mesh(elements, beads):
    planform, plate = plate_of(replace(PAD, beads=beads), elements)
    rim = 24.0 * 16.0 - 22.5 * 13.0
    rib = (22.5 if beads.rim_width else 24.0) * 2.0
    expected = 24.0 * 16.0 * 0.8 + 1e3 * (beads.rim_height * rim + beads.rib_height * rib)
    found = 1e9 * nodal_volume(plate, len(planform.plan)).sum()
    # what a corner of the bead covers of a cell is not told exactly
    assert found == pytest.approx(expected, rel=2e-3)


def test_a_rim_as_wide_as_half_the_part_makes_it_thicker_and_nothing_else():
    wide = replace(PAD, beads=Beads(rim_width=8.1e-3, rim_height=0.4e-3))
    thick = replace(PAD, thickness=Taper((0.0,), (1.2e-3,)))
    planform, one = plate_of(wide)
    _, other = plate_of(thick)
    assert one.thickness == close(other.thickness)
    assert one.cube == close(other.cube)
    assert planform.stepped.across == close(np.full(len(one.quads), 1.2e-3**3))
    # each bead twists as a bar of its own
    assert planform.stepped.twist == pytest.approx(np.full_like(one.cube, 1.2e-3**3), rel=0.1)


def test_stiffness_lies_along_the_bead_and_flexibility_across_it():
    # one element, bead over its right half: springs side by side along it, one after the other
    # across it
    plan = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]])
    part = replace(PAD, beads=Beads(rim_width=0.5, rim_height=0.1))
    side = np.array([[[1.0, -9.0], [1.0, 9.0]]])
    line = np.array([[0.0, 9.0], [1.0, 9.0]])
    quads = np.array([[0, 1, 2, 3]])
    found = stepped(part, plan, quads, np.full(4, 0.1), side, line)
    assert np.abs(found.normal) == close(np.array([[1.0, 0.0]]))
    assert found.cube == close(np.array([[1e-3, 8e-3, 8e-3, 1e-3]]))
    assert found.across == close([2.0 / (1.0 / 1e-3 + 1.0 / 8e-3)])
    bend = make_plate(plan, quads, np.full(4, 0.1), 0.0, found).bend[0]
    assert bend[:, 0, 0] == close(np.full(4, found.across[0] / 12.0))
    assert bend[:, 1, 1] == close(found.cube[0] / 12.0)


def frequencies(medium="air", **words):
    size = words.pop("size", 'width = "16 mm"\nmodel = "plate"')
    text = TEXT.format(kind="strip", size=size, bead=words.pop("bead", FRAME))
    records = run(loads(text, "pad.toml", words.pop("set", [])), bands=False).records
    return records, [
        r.value
        for r in select(records, "natural_frequency", medium=medium)
        if r.at["motion"] != "in-plane"
    ]


def test_the_mesh_need_not_know_of_the_bead():
    # the bead is 1.5 mm wide, the elements 2.2, 1.7 and 1 mm
    found = [frequencies(set=[f"numerics.elements={n}"])[1] for n in (11, 14, 24)]
    assert found[0] == pytest.approx(found[2], rel=0.05)
    assert found[1] == pytest.approx(found[2], rel=0.03)
    assert found[0][0] == pytest.approx(found[2][0], rel=0.004)


def test_a_drawn_pad_rings_as_the_mapped_one():
    pytest.importorskip("shapely")
    box = '[["0 mm","-8 mm"], ["24 mm","-8 mm"], ["24 mm","8 mm"], ["0 mm","8 mm"]]'
    bead = f'{FRAME}\nrib_width = "2 mm"\nrib_height = "0.6 mm"'
    drawn = frequencies("water", size=f'outline = {box}\nmodel = "plate"', bead=bead)[1]
    assert drawn == pytest.approx(frequencies("water", bead=bead)[1], rel=0.03)


def test_the_run_says_what_became_of_the_bead():
    records, _ = frequencies()
    (model,) = select(records, "model")
    assert "rim bead 1.5 mm wide and 1.2 mm high" in model.basis
    records, _ = frequencies(size='width = "6 mm"\nmodel = "rod"')
    (model,) = select(records, "model")
    assert "second moments of the rod's sections" in model.basis


@pytest.mark.parametrize(
    ("kind", "size", "bead", "said"),
    [
        ("strip", 'width = "16 mm"', 'rim_width = "1 mm"', "rim_height: missing"),
        ("strip", 'width = "16 mm"', 'rib_height = "1 mm"', "rib_width: missing"),
        ("strip", 'width = ["2 mm", "16 mm"]', FRAME.replace("1.5", "8"), "leaves no web"),
        ("strip", 'width = "16 mm"\nsection = "ellipse"', FRAME, "round section"),
        ("leg", 'diameter = "3 mm"', FRAME, "does not suit a leg"),
        ("strip", 'width = "16 mm"', FRAME.replace('"1.2 mm"', "1.2"), "has no unit"),
    ],
)
def test_a_bead_that_cannot_be_is_refused(kind, size, bead, said):
    with pytest.raises(InputError, match=said):
        loads(TEXT.format(kind=kind, size=size, bead=bead), "pad.toml")
