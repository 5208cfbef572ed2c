"""One of a mirrored pair answers for both where the scenario is symmetric, and only there."""

from dataclasses import replace

import numpy as np
import pytest
from physics import case_of, strip_part

from simsoft.bodies.rod import time_march as march
from simsoft.case.model import HookInput, RigInput, Scenario
from simsoft.engine import jobs
from simsoft.engine import run as engine

IN_PLANE = ((0.0, 0.0, 0.0), (0.05, 0.0, 0.0), (0.06, 0.0, 0.004), (0.05, 0.0, 0.008))
BESIDE = ((0.0, 0.0, 0.0), (0.05, 0.0, 0.0), (0.06, 0.001, 0.004), (0.05, 0.002, 0.008))
ACROSS = (0.8, 0.6, 0.0)
DOWN = (0.8, 0.0, -0.6)
POLAR = np.array([1.0, -1.0, 1.0])


def pair_case(direction=(1.0, 0.0, 0.0), path=IN_PLANE):
    part = strip_part(
        name="claw", mirrored=True, position=(0.03, 0.002, 0.0), direction=(0.8, 0.6, 0.0)
    )
    swim = Scenario(
        "swim", "retrieve", (0.2,), onset=False, duration=0.5, stream_direction=direction
    )
    return replace(
        case_of(part, density=1000.0), rig=RigInput(HookInput(0.0012, path)), scenarios=(swim,)
    )


def solved_in(monkeypatch, case):
    """Return the result of a case and the names of the strips that were solved for it."""
    names = []
    solve = engine.solve

    def counted(strip, water, values, scenario, detail):
        names.append(strip.name)
        return solve(strip, water, values, scenario, detail)

    monkeypatch.setattr(engine, "solve", counted)
    found = engine.run(case, bands=False)
    monkeypatch.setattr(engine, "solve", solve)
    return found, names


def of(items, side):
    return [item for item in items if item.part == f"claw/{side}"]


@pytest.mark.parametrize("direction", [(1.0, 0.0, 0.0), DOWN])
def test_both_of_a_pair_get_the_same_records(monkeypatch, direction):
    found, names = solved_in(monkeypatch, pair_case(direction))
    assert names == ["claw/left"]
    lefts, rights = of(found.records, "left"), of(found.records, "right")
    swum = [r for r in lefts if r.scenario == "swim"]
    assert {"hook_clearance", "stroke", "drag"} <= {r.quantity for r in swum}
    for one, other in zip(swum, [r for r in rights if r.scenario == "swim"], strict=True):
        if one.quantity == "tip_position":
            assert other.value == tuple(np.array(one.value) * POLAR)
            assert one.value[1] > 0.0
        else:
            assert replace(other, part=one.part) == one


@pytest.mark.parametrize(("direction", "path"), [(ACROSS, IN_PLANE), (DOWN, BESIDE)])
def test_a_cross_flow_or_a_hook_beside_the_plane_tells_them_apart(monkeypatch, direction, path):
    found, names = solved_in(monkeypatch, pair_case(direction, path))
    assert names == ["claw/left", "claw/right"]
    left, right = (
        next(r.value for r in of(found.records, side) if r.quantity == "hook_clearance")
        for side in ("left", "right")
    )
    assert abs(left - right) > 1e-5


def test_the_image_is_what_the_other_does_when_kicked_in_the_mirror(monkeypatch):
    mirrored, _ = solved_in(monkeypatch, pair_case(DOWN))
    monkeypatch.setattr(jobs, "twin_of", lambda *_: None)
    # in the axes of the image a mirrored turning has its parts along width and tangent reversed
    monkeypatch.setattr(march, "KICK", tuple(np.array(march.KICK) * (1.0, -1.0, -1.0)))
    both, names = solved_in(monkeypatch, pair_case(DOWN))
    assert names == ["claw/left", "claw/right"]
    for kind, arrays in (
        ("shapes", ("centreline", "edges")),
        ("closest", ("centreline", "edges", "on_part", "on_wire")),
        ("traces", ("tip", "tangent", "force", "moment", "strobe")),
    ):
        ones, others = of(getattr(mirrored, kind), "right"), of(getattr(both, kind), "right")
        for one, other in zip(ones, others, strict=True):
            for name in arrays:
                expected = getattr(other, name)
                near = pytest.approx(expected, abs=1e-6 * np.abs(expected).max())
                assert getattr(one, name) == near, name
