"""A claw folded onto its body: the depth by hand, and that no impossible shape counts as good."""

import math

import numpy as np
import pytest

from simsoft.bodies.answers.in_body import YIELDS, add_body_depth
from simsoft.bodies.clearance.gap import Placed
from simsoft.case.read import loads
from simsoft.design.brief import OPEN, judge
from simsoft.engine.run import run
from simsoft.lure.parts import assemble
from simsoft.report.text.clearance import body_sentence, hook_sentence
from simsoft.report.text.run import summary
from simsoft.results.outcome import Outcome
from simsoft.results.record import select, why_untrusted

CLAW = """
title = "Folding claw"
[water]
temperature = "22 degC"
[material]
durometer = "42 OO"
density = "1040 kg/m^3"
[body]
family = "creature"
length = "60 mm"
height = "14 mm"
width = {width}
section = "rectangle"
[rig.hook]
wire_diameter = "1.2 mm"
gap = "15 mm"
shank = "45 mm"
[[parts]]
name = "claw"
kind = "claw"
length = "30 mm"
width = "6 mm"
thickness = "1 mm"
position = ["12 mm", "3 mm", "0 mm"]
direction = [0.3, 1.0, 0.0]
width_axis = [0, 0, 1]
model = "rod"
[numerics]
elements = 8
[[scenarios]]
name = "swim"
kind = "retrieve"
speed = ["0.4 m/s"]
onset = false
march = {march}
[[brief]]
quantity = "hook_clearance"
at_least = "1 mm"
"""
FLARED, SLIM = '["4 mm", "40 mm"]', '"6 mm"'


def strip_of(width=FLARED):
    return assemble(loads(CLAW.format(width=width, march="false"))).strips[0]


def straight(direction, start=(0.012, 0.003, 0.0), stations=31):
    """Return a claw laid out straight, its width up."""
    direction = np.asarray(direction) / np.linalg.norm(direction)
    line = np.asarray(start) + np.linspace(0.0, 0.03, stations)[:, None] * direction
    up = np.broadcast_to([0.0, 0.0, 1.0], line.shape)
    return Placed(line[None], up[None], direction[None])


def depth_told(place, moulded, width=FLARED, state="rest"):
    outcome = Outcome()
    at = {"speed": 0.4, "state": state}
    for spot in ({}, {"spot": "bend"}):
        outcome.add("hook_clearance", 0.008, "m", "", **at, **spot)
    add_body_depth(outcome, strip_of(width), 0.0, place, lambda: moulded, basis="", **at)
    return outcome.answers["body_depth", tuple(at.items())].value, outcome


def test_the_depth_of_a_straight_claw_in_a_wedge():
    """The wall runs out from 2 to 20 mm over 60 mm; the claw lies along x, 8 mm off the axis."""
    start = (0.012, 0.008, 0.0)
    out = straight((0.0, 1.0, 0.0), start, stations=16)  # cut otherwise than the folded one
    slope = 18.0 / 60.0
    deep, _ = depth_told(straight((1.0, 0.0, 0.0), start), out)
    tip = (2.0 + slope * 42.0 - 8.0) / math.hypot(1.0, slope)
    assert 1e3 * deep == pytest.approx(tip + 0.5, rel=1e-3)  # half its thickness lies deeper
    assert depth_told(out, out)[0] == 0.0


def test_what_lies_in_the_body_as_moulded_does_not_count():
    lying = straight((1.0, 0.0, 0.0))
    assert depth_told(lying, lying)[0] == 0.0
    turned = straight((1.0, -0.02, 0.0))
    deep, _ = depth_told(turned, lying)
    assert 0.0 < deep < 0.7e-3  # the tip comes 0.6 mm nearer the axis


@pytest.mark.parametrize(
    ("state", "void"), [("rest", "curl_up"), ("cycle", "fold_back"), ("cycle", "stroke")]
)
def test_a_shape_in_the_body_voids_what_hangs_on_it(state, void):
    _, outcome = depth_told(straight((1.0, 0.0, 0.0)), straight((0.0, 1.0, 0.0)), state=state)
    at = (("speed", 0.4), ("state", state))
    for key in (at, (*at, ("spot", "bend"))):
        assert "into the body" in outcome.distrusted["hook_clearance", key]
    assert (void, (("speed", 0.4),)) in outcome.distrusted
    clear = depth_told(straight((1.0, 0.6, 0.0)), straight((0.0, 1.0, 0.0)), width=SLIM)
    assert clear[0] == 0.0
    assert clear[1].distrusted == {}


def test_a_claw_folded_into_a_flared_body_is_no_good_clearance():
    flared = run(loads(CLAW.format(width=FLARED, march="false")), bands=False)
    deep = select(flared.records, "body_depth")[0]
    assert deep.value > YIELDS
    gap = select(flared.records, "hook_clearance")[0]
    assert gap.value > 1e-3  # the number alone would meet the wish
    assert "into the body" in why_untrusted(gap)
    for banded in (False, True):
        (found,) = judge(flared.case, flared.records, banded=banded)
        assert found.verdict == OPEN
        assert "into the body" in found.reason
    assert (
        hook_sentence(flared.records)
        == "leaves its gap to the hook unknown: no shape of it is to be trusted."
    )
    assert "mm into the body at rest at 0.4 m/s" in body_sentence(flared.records)
    text = " ".join(summary(flared).split())
    assert "the body would hold it off" in text


def test_beside_a_slim_body_the_same_claw_counts():
    slim = run(loads(CLAW.format(width=SLIM, march="true")), bands=False)
    assert [r.value for r in select(slim.records, "body_depth")] == [0.0, 0.0]
    assert judge(slim.case, slim.records, banded=False)[0].verdict == "meets"
    assert body_sentence(slim.records) is None
