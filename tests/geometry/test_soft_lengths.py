"""The soft body behind the hook as the first length of a paddle tail's stem."""

from dataclasses import replace

import numpy as np
import pytest

from simsoft.case.model import (
    BodyInput,
    Case,
    HookInput,
    MaterialInput,
    PaddleInput,
    Part,
    RigInput,
    Taper,
    WaterInput,
)
from simsoft.geometry.body import body_stations
from simsoft.geometry.section import section_properties
from simsoft.geometry.soft_lengths import held_part, stiff_front
from simsoft.geometry.stations import along

BODY = BodyInput(
    family="swim-bait",
    length=0.08,
    height=Taper((0.0, 0.5, 1.0), (0.006, 0.016, 0.005)),
    width=Taper((0.0, 0.5, 1.0), (0.005, 0.012, 0.0032)),
    flexible=True,
)
HOOK = HookInput(0.001, ((0.0, 0.0, 0.0), (0.03, 0.0, 0.0), (0.035, 0.0, 0.012)))
TAIL = Part(
    name="tail",
    kind="paddle-tail",
    length=0.011,
    width=Taper((0.0, 1.0), (0.005, 0.006)),
    thickness=Taper((0.0, 1.0), (0.0032, 0.003)),
    position=(0.08, 0.0, 0.0),
    paddle=PaddleInput("disc", 0.015, 0.015, 0.003, 1.57, 0.003),
)


def case(body=BODY, part=TAIL, hook=HOOK):
    return Case(
        "bait", WaterInput(), MaterialInput(), (part,), (), body=body, rig=RigInput(hook=hook)
    )


def test_the_tail_begins_where_the_hook_ends():
    held = held_part(case(), TAIL)
    assert held.position == (0.035, 0.0, 0.0)
    assert held.soft_ahead == pytest.approx(0.045)
    assert held.length == pytest.approx(0.056)


def test_the_stem_keeps_its_own_sizes_at_its_own_places():
    held = held_part(case(), TAIL)
    share = np.linspace(0.0, 1.0, 7)
    there = (held.soft_ahead + share * TAIL.length) / held.length
    for name in ("width", "thickness"):
        own, new = along(getattr(TAIL, name), share), along(getattr(held, name), there)
        assert new == pytest.approx(own, rel=1e-6)


@pytest.mark.parametrize("section", ["rectangle", "ellipse"])
def test_sections_of_the_body_keep_area_and_second_moment(section):
    tail = replace(TAIL, section=section)
    held = held_part(case(part=tail), tail)
    place = np.linspace(0.036, 0.078, 9)
    share = (place - 0.035) / held.length
    found = section_properties(section, along(held.width, share), along(held.thickness, share))
    body = body_stations(BODY)
    assert found.area == pytest.approx(np.interp(place, body.x, body.area), rel=5e-3)
    assert found.second_moment_soft == pytest.approx(
        np.interp(place, body.x, body.second_z), rel=1e-2
    )


@pytest.mark.parametrize(
    ("body", "part"),
    [
        (None, TAIL),
        (replace(BODY, flexible=False), TAIL),
        (replace(BODY, stiff_to=0.08), TAIL),
        (BODY, replace(TAIL, paddle=None)),
        (BODY, replace(TAIL, position=(0.06, 0.0, 0.0))),
        (BODY, replace(TAIL, position=(0.08, 0.004, 0.0))),
        (BODY, replace(TAIL, direction=(0.8, 0.6, 0.0), width_axis=(0.0, 0.0, 1.0))),
        (BODY, replace(TAIL, arc_angle=0.5)),
    ],
)
def test_what_does_not_carry_a_soft_body_on_stays_as_it_is(body, part):
    assert held_part(case(body, part), part) is part


def test_without_a_hook_the_middle_of_the_body_is_held():
    held = held_part(case(hook=None), TAIL)
    assert held.position[0] == pytest.approx(0.55 * 0.08)


def test_a_body_cut_off_keeps_its_sizes():
    front = stiff_front(BODY, 0.035)
    assert front.length == 0.035
    x = np.linspace(0.0, 0.035, 11)
    for name in ("height", "width"):
        kept, own = getattr(front, name), getattr(BODY, name)
        assert along(kept, x / 0.035) == pytest.approx(along(own, x / 0.08), rel=2e-3)
    assert stiff_front(BODY, 0.08) is BODY
