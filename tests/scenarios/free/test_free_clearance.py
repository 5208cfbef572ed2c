"""Hook clearance of parts of a free lure: where they are, and how near on a fall, a hop, a tow."""

from dataclasses import replace

import numpy as np
import pytest
from free_bodies import CREATURE, free
from physics import case_of, strip_part

from simsoft.bodies.free.base_step import FREE, Line
from simsoft.bodies.free.course import march_once, state_at_rest
from simsoft.case.model import BodyInput, HookInput, HopInput, LineInput, RigInput, Scenario, Taper
from simsoft.engine.run import run
from simsoft.lure.free_lure import rows_of
from simsoft.results.record import select
from simsoft.scenarios.free.clearance import placed_part, with_root
from simsoft.scenarios.free.line_path import tow_leads

SIZE = Taper((0.0, 1.0), (0.01, 0.01))
LOOSE = Line(FREE, np.zeros(3), 0.0, 1.0, 0.0, 0.0)


def test_the_clamp_and_the_tip_are_drawn_on():
    """A quarter circle twisted evenly: clamp, its width axis and the tip's tangent follow."""
    turn = np.linspace(0.0, 1.5, 31)
    arc = np.column_stack([np.sin(turn), 1.0 - np.cos(turn), np.zeros(31)])
    tangent = np.column_stack([np.cos(turn), np.sin(turn), np.zeros(31)])
    inward = np.column_stack([-np.sin(turn), np.cos(turn), np.zeros(31)])
    width = np.cos(turn)[:, None] * np.array([0.0, 0.0, 1.0]) + np.sin(turn)[:, None] * inward
    place = with_root(arc[None, 1:], width[None, 1:])
    assert place.centre[0, 0] == pytest.approx(arc[0], abs=3e-3)
    assert place.width_axis[0, 0] == pytest.approx(width[0], abs=6e-3)
    assert place.tangent[0] == pytest.approx(tangent[-1], abs=2e-3)
    assert np.linalg.norm(place.width_axis, axis=2) == pytest.approx(1.0)


def test_parts_that_have_hardly_moved_sit_where_they_were_moulded():
    lure = free(CREATURE, elements=6)
    course = march_once(
        lure, LOOSE, tow_leads(0.0, np.full(2, 1e-4)), 1e-4, 1, state_at_rest(lure, 0.5)
    )
    assert course is not None
    for c, name in enumerate(lure.names):
        place = placed_part(lure, course, name, np.arange(2))
        clamp = lure.origin + lure.tree.mount_at[c]
        length = lure.tree.length[rows_of(lure, name)].sum()
        assert place.centre[0, 0] == pytest.approx(clamp, abs=1e-4 * length)
        axes = lure.tree.mount[c]
        assert place.width_axis[0, 0] == pytest.approx(axes[:, 1], abs=1e-3)


def told(scenario):
    part = strip_part(name="leg", length=0.02, position=(0.05, 0.0, 0.0))
    body = BodyInput("grub", 0.05, SIZE, SIZE, density=1100.0)
    wire = HookInput(0.001, ((0.02, 0.0, 0.0), (0.04, 0.0, 0.012), (0.06, 0.0, 0.012)))
    case = replace(
        case_of(part, density=1050.0), body=body, rig=RigInput(wire), scenarios=(scenario,)
    )
    return run(case, bands=False)


@pytest.mark.parametrize(
    ("scenario", "states", "speeds"),
    [
        (Scenario("fall", "sink"), {"fall"}, {None}),
        (
            Scenario(
                "hop", "hop", duration=2.0, line=LineInput("held", (0.0, 0.0, 1.0)),
                hop=HopInput(motion="lift-drop", amplitude=0.1, cadence=1.0),
            ),
            {"lift", "drop"},
            {None},
        ),
        (Scenario("swim", "retrieve", (0.2, 0.4), free=True, duration=1.0), {"free"}, {0.2, 0.4}),
    ],
)  # fmt: skip
def test_every_scenario_of_a_free_lure_tells_the_clearance(scenario, states, speeds):
    found = told(scenario)
    gaps = [r for r in select(found.records, "hook_clearance") if "spot" not in r.at]
    assert {r.at["state"] for r in gaps} == states
    assert {r.at.get("speed") for r in gaps} == speeds
    for record in gaps:
        assert record.part == "leg"
        assert 0.0 < record.value < 0.012
        at = dict(record.at)
        by_spot = [r for r in select(found.records, "hook_clearance", **at) if "spot" in r.at]
        assert min(r.value for r in by_spot) == record.value
        assert select(found.records, "hook_contact", **at)[0].value == "clear"
    assert {c.state for c in found.closest} == states
