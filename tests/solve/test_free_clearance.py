"""Hook clearance over a fall: positions from nodes alone, and a falling part beside a wire."""

from dataclasses import replace

import numpy as np
import pytest
from physics import case_of, strip_part

from simsoft.case.model import BodyInput, HookInput, RigInput, Scenario, Taper
from simsoft.engine import run
from simsoft.record import select
from simsoft.solve.free_clearance import along_nodes

X, Y, Z = np.eye(3)
SIZE = Taper((0.0, 1.0), (0.01, 0.01))


def test_a_straight_part_keeps_its_width_axis():
    node = np.linspace(0.01, 0.05, 5)[:, None] * X
    place = along_nodes(node[None], X, Z)
    assert place.centre[0, 0] == pytest.approx([0.0, 0.0, 0.0], abs=1e-15)
    assert place.width_axis[0] == pytest.approx(np.tile(Z, (6, 1)))
    assert place.tangent[0] == pytest.approx(X)


def test_a_bend_about_the_width_leaves_it_and_one_across_turns_it():
    """A quarter circle in the plane x, y: width along z stays, width along y turns to -x."""
    angle = np.linspace(0.1, 1.5, 15)
    arc = np.column_stack([np.sin(angle), 1.0 - np.cos(angle), np.zeros(15)])
    assert along_nodes(arc[None], X, Z).width_axis[0] == pytest.approx(np.tile(Z, (16, 1)))
    turned = along_nodes(arc[None], X, Y)
    for axis, tangent in zip(turned.width_axis[0][1:], angle, strict=True):
        assert axis == pytest.approx([-np.sin(tangent), np.cos(tangent), 0.0], abs=0.06)


def test_a_fall_tells_how_near_a_part_comes_to_the_hook():
    part = strip_part(name="leg", length=0.02, position=(0.05, 0.0, 0.0))
    body = BodyInput("grub", 0.05, SIZE, SIZE, density=1100.0)
    wire = HookInput(0.001, ((0.02, 0.0, 0.0), (0.04, 0.0, 0.012), (0.06, 0.0, 0.012)))
    case = replace(
        case_of(part, density=1050.0), body=body, rig=RigInput(wire),
        scenarios=(Scenario("fall", "sink"),),
    )  # fmt: skip
    found = run(case, bands=False)
    (record, *_) = select(found.records, "hook_clearance", state="fall")
    assert record.part == "leg"
    assert "speed" not in record.at
    assert 0.0 < record.value < 0.012
    assert {c.state for c in found.closest} == {"fall"}
