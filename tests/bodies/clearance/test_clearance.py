"""Hook clearance against hand geometry: gaps, overlap, wrapping, mirror pairs, rigging band."""

import math
from dataclasses import replace

import numpy as np
import pytest
from physics import case_of, strip_part

from simsoft.bodies.clearance.gap import Placed, clearance, placed_rod, swept_turn
from simsoft.bodies.rod.setup import prepare_rod
from simsoft.case.model import HookInput, PaddleInput, RigInput, Scenario, Taper
from simsoft.engine.run import run
from simsoft.lure.parts import Specimen, assemble, values_of
from simsoft.properties.coefficients import RIGGING_SCATTER
from simsoft.results.record import select

LENGTH, WIDTH, THICKNESS, WIRE = 0.05, 0.01, 0.001, 0.0012


def hook_through(*points, diameter=WIRE):
    return RigInput(HookInput(diameter, tuple(points)))


def lure_case(part, rig, *scenarios):
    return replace(case_of(part, density=1000.0), rig=rig, scenarios=scenarios)


def moulded_clearance(part, rig, elements=32):
    lure = assemble(lure_case(part, rig))
    strip = lure.strips[0]
    ready = prepare_rod(
        Specimen(strip, lure.water, values_of(strip), gravity=False, elements=elements)
    )
    return clearance(strip, ready.rod, placed_rod(ready.rod, ready.rod.natural), strip.wire)


def test_the_gap_of_a_flat_strip_above_a_wire():
    """The strip lies along x, its width up: the wire runs along it, beside its face."""
    gap = 0.004
    rig = hook_through((0.01, gap, 0.0), (0.02, gap, 0.0), (0.03, gap, 0.0))
    found = moulded_clearance(strip_part(), rig)
    assert found.margin == pytest.approx(gap - THICKNESS / 2 - WIRE / 2, abs=1e-12)
    assert (found.contact, found.spot) == ("clear", "shank")
    assert found.on_wire[1] == pytest.approx(gap)
    assert found.on_part[1] == pytest.approx(0.0, abs=1e-12)


def test_the_gap_below_the_edge_of_a_strip():
    """The edge is rounded: width/2 from the centreline to the surface, whatever the thickness."""
    below = -0.009
    rig = hook_through((0.01, 0.0, below), (0.02, 0.0, below), (0.03, 0.0, below))
    found = moulded_clearance(strip_part(), rig)
    assert found.margin == pytest.approx(-below - WIDTH / 2 - WIRE / 2, abs=1e-12)


def test_a_wire_through_the_strip_touches():
    rig = hook_through((0.03, -0.01, 0.0), (0.03, 0.0, 0.001), (0.03, 0.01, 0.002))
    found = moulded_clearance(strip_part(), rig)
    assert found.contact == "touches"
    assert found.margin == pytest.approx(-(THICKNESS + WIRE) / 2)


@pytest.mark.parametrize("elements", [3, 7, 16, 50])
def test_the_held_root_is_left_out(elements):
    """A wire at the clamp is closer to the root than to what moves, one width further out."""
    rig = hook_through((-0.01, 0.0, 0.0), (-0.005, 0.0, 0.0), (-0.001, 0.0, 0.0))
    found = moulded_clearance(strip_part(), rig, elements=elements)
    assert found.margin == pytest.approx(0.001 + WIDTH - (THICKNESS + WIRE) / 2)


def test_the_rim_of_a_paddle_counts():
    """A disc square to the stem: its rim is half a diameter away from the axis."""
    disc = PaddleInput("disc", 0.02, 0.02, 0.002, math.pi / 2, 0.0)
    part = strip_part(kind="paddle-tail", paddle=disc)
    x, far = LENGTH + 0.001, 0.015
    rig = hook_through((x, far, -0.01), (x, far, 0.0), (x, far, 0.01))
    found = moulded_clearance(part, rig)
    assert found.margin == pytest.approx(far - 0.01 - 0.001 - WIRE / 2, abs=2e-4)


def test_a_curl_around_the_wire_wraps_and_one_beside_it_does_not():
    """The centreline of 300 degrees of a circle sweeps as much around a wire at its centre."""
    part = strip_part(arc_angle=math.radians(300.0), curl="across")
    radius = LENGTH / math.radians(300.0)
    for offset, contact in ((1.0, "wraps"), (-1.0, "clear")):
        y = offset * math.copysign(radius, part_side(part))
        rig = hook_through((0.0, y, -0.01), (0.0, y, 0.0), (0.0, y, 0.01), diameter=0.01)
        found = moulded_clearance(replace(part, width=flat(0.02)), rig)
        assert found.contact == contact
        if contact == "wraps":
            assert math.degrees(found.turn) == pytest.approx(300.0, abs=1.0)


def flat(size):
    return Taper((0.0, 1.0), (size, size))


def part_side(part):
    """Return the sign of y to which the moulded arc turns."""
    lure = assemble(lure_case(part, None))
    ready = prepare_rod(
        Specimen(lure.strips[0], lure.water, values_of(lure.strips[0]), gravity=False)
    )
    return placed_rod(ready.rod, ready.rod.natural).centre[0, 5, 1]


def test_a_straight_line_sweeps_less_than_half_a_turn():
    wire = (
        assemble(
            lure_case(strip_part(), hook_through((0.0, 0.0, 0.0), (0.0, 0.0, 1.0), (0.0, 0.0, 2.0)))
        )
        .strips[0]
        .wire
    )
    line = np.column_stack([np.linspace(-50.0, 50.0, 201), np.full(201, 0.01), np.ones(201)])
    assert math.pi * 0.99 < swept_turn(line, wire, np.array([0.0, 0.0, 1.0])) < math.pi


def test_no_bare_wire_no_clearance():
    lure = assemble(lure_case(strip_part(), None))
    assert lure.strips[0].wire is None


def test_positions_are_looked_at_one_by_one():
    rig = hook_through((0.01, 0.004, 0.0), (0.02, 0.004, 0.0), (0.03, 0.004, 0.0))
    lure = assemble(lure_case(strip_part(), rig))
    strip = lure.strips[0]
    ready = prepare_rod(Specimen(strip, lure.water, values_of(strip), gravity=False, elements=16))
    still = placed_rod(ready.rod, ready.rod.natural)
    aside = [0.0, 0.001, -0.002]
    moved = Placed(
        np.concatenate([still.centre + np.array([0.0, y, 0.0]) for y in aside]),
        np.repeat(still.width_axis, 3, axis=0),
        np.repeat(still.tangent, 3, axis=0),
    )
    found = clearance(strip, ready.rod, moved, strip.wire)
    assert found.frame == 1
    assert found.margin == pytest.approx(0.004 - 0.001 - (THICKNESS + WIRE) / 2)


def pair_run(bands=False):
    part = strip_part(
        name="claw", mirrored=True, position=(0.03, 0.002, 0.0), direction=(0.8, 0.6, 0.0)
    )
    rig = hook_through((0.0, 0.0, 0.0), (0.05, 0.0, 0.0), (0.06, 0.0, 0.004), (0.05, 0.0, 0.008))
    tank = Scenario("tank", "hold")
    retrieve = Scenario("swim", "retrieve", (0.2,), onset=False, march=True, duration=1.0)
    return run(lure_case(part, rig, tank, retrieve), bands=bands)


def test_both_of_a_pair_are_as_far_from_a_hook_in_the_middle():
    records = pair_run().records
    for at in ({"state": "rest", "speed": 0.0}, {"state": "cycle", "speed": 0.2}):
        left, right = (
            next(r for r in select(records, "hook_clearance", **at) if r.part == f"claw/{side}")
            for side in ("left", "right")
        )
        assert left.value == pytest.approx(right.value, rel=1e-4)
        assert left.unit == "m"
        assert "screening" in left.basis
    words = {r.value for r in select(records, "hook_contact")}
    assert words <= {"clear", "touches", "wraps"}


def test_the_band_holds_the_scatter_of_rigging():
    record = select(pair_run(bands=True).records, "hook_clearance", state="rest", speed=0.0)[0]
    assert record.low <= record.value - RIGGING_SCATTER
    assert record.high >= record.value + RIGGING_SCATTER


def test_the_drawing_shows_the_closest_point_on_wire_and_part():
    found = pair_run().closest
    assert {item.state for item in found} == {"rest", "cycle"}
    for item in found:
        gap = np.linalg.norm(item.on_part - item.on_wire)
        assert gap == pytest.approx(item.margin + (THICKNESS + WIRE) / 2, abs=1e-9)
