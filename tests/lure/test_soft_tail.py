"""A paddle tail on a soft body: one rod behind the hook, its own part on a free lure."""

from dataclasses import replace

import numpy as np
import pytest

from simsoft.bodies.answers.stream import say_root
from simsoft.bodies.clearance.gap import placed_rod, surface
from simsoft.case.read import loads
from simsoft.engine.uncertainty import MODEL_ERROR, SOFT_ERROR, model_error
from simsoft.geometry.soft_lengths import thickness_at_joint
from simsoft.lure.assembly import assemble_whole, mass_properties
from simsoft.lure.parts import Specimen, assemble, values_of
from simsoft.lure.rod_model import build_rod
from simsoft.results.outcome import Outcome
from simsoft.scenarios.screening import screen_paddle

SHAD = """\
title = "Soft bait"
[material]
durometer = "50 OO"
density = "1025 kg/m^3"
[body]
family = "swim-bait"
length = "86 mm"
height = { at = [0, 0.35, 0.6, 0.85, 1], value = ["5 mm", "17 mm", "12 mm", "7 mm", "5 mm"] }
width = { at = [0, 0.35, 0.6, 0.85, 1], value = ["4 mm", "13 mm", "8 mm", "4.5 mm", "3.2 mm"] }
[rig.hook]
wire_diameter = "1.1 mm"
gap = "14 mm"
shank = "38 mm"
[[parts]]
name = "tail"
kind = "paddle-tail"
length = "11 mm"
width = "5 mm"
thickness = "3.2 mm"
paddle_diameter = "15 mm"
paddle_thickness = "3 mm"
position = ["86 mm", "0 mm", "0 mm"]
[[scenarios]]
name = "swim"
kind = "retrieve"
speed = ["0.6 m/s"]
"""
STIFF = SHAD.replace('family = "swim-bait"', 'family = "swim-bait"\nflexible = false')


def tail(text):
    lure = assemble(loads(text))
    return lure.strips[0], lure


def test_a_held_tail_begins_at_the_hook_and_a_free_one_at_its_stem():
    strip, lure = tail(SHAD)
    assert strip.part.soft_ahead > 0.04
    assert lure.own[0].part.soft_ahead == 0.0
    assert strip.elements > lure.own[0].elements
    assert thickness_at_joint(strip.part) == pytest.approx((3.2e-3, 3.2e-3), rel=0.15)
    stiff, alone = tail(STIFF)
    assert stiff is alone.own[0]


def test_the_soft_body_is_weighed_once():
    soft, stiff = (
        mass_properties(assemble_whole(loads(text), assemble(loads(text))))
        for text in (SHAD, STIFF)
    )
    assert soft.mass == pytest.approx(stiff.mass, rel=1e-12)


def test_the_rod_gives_as_much_as_its_sections_in_series():
    strip, lure = tail(SHAD)
    strip = replace(strip, part=replace(strip.part, bending="beam"))
    rod = build_rod(Specimen(strip, lure.water, values_of(strip), gravity=False, elements=200))
    arm = float(rod.length.sum()) - (np.cumsum(rod.length) - 0.5 * rod.length)
    found = np.sum(arm**2 / rod.stiffness[:, 1])
    # the same integral over the case's own sizes: ellipses, then the stem's rectangle
    start, joint, length = strip.part.position[0], strip.part.soft_ahead, strip.part.length
    x = (np.arange(20000) + 0.5) * length / 20000
    share = (start + x) / 0.086
    high = np.interp(share, [0, 0.35, 0.6, 0.85, 1], np.array([5, 17, 12, 7, 5]) * 1e-3)
    wide = np.interp(share, [0, 0.35, 0.6, 0.85, 1], np.array([4, 13, 8, 4.5, 3.2]) * 1e-3)
    second = np.where(x < joint, np.pi / 64 * high * wide**3, 5e-3 * 3.2e-3**3 / 12.0)
    expected = np.sum((length - x) ** 2 / second) * length / 20000
    assert found == pytest.approx(expected, rel=0.02)


def test_only_the_stem_and_its_paddle_come_near_the_hook():
    strip, lure = tail(SHAD)
    rod = build_rod(Specimen(strip, lure.water, values_of(strip), gravity=False))
    triangles, _ = surface(strip, rod, placed_rod(rod, np.zeros((len(rod.length), 3))), 0.0)
    assert triangles[..., 0].min() > 0.086


def test_a_tail_on_a_soft_body_starts_far_below_one_held_at_its_stem():
    starts = []
    for text in (SHAD, STIFF):
        strip, lure = tail(text)
        scenario = loads(text).scenarios[0]
        found = screen_paddle(strip, lure.water, values_of(strip), scenario).answers
        starts.append(found["start_speed", ()].value)
    assert starts[0] < 0.3
    assert starts[1] > 3.0 * starts[0]


def test_the_model_s_error_is_that_of_the_runs_that_are_like_the_tail():
    soft, stiff = (model_error(tail(text)[0].part) for text in (SHAD, STIFF))
    assert stiff == MODEL_ERROR
    assert soft == SOFT_ERROR
    assert soft["flap_frequency"] != stiff["flap_frequency"]


def test_a_body_that_ends_thinner_than_its_stem_is_told():
    told = {}
    for width in ("3.2 mm", "1.9 mm"):
        strip, _ = tail(SHAD.replace('"4.5 mm", "3.2 mm"', f'"4.5 mm", "{width}"'))
        outcome = Outcome()
        say_root(outcome, strip)
        told[width] = outcome.warnings
    assert len(told["3.2 mm"]) == 1
    assert told["1.9 mm"][1].endswith("bends there first: check body.width")
