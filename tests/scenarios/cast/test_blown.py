"""A part let go in air as a rod, a plate and a paddle that bends: shapes, mirror image, loss."""

import json
from dataclasses import replace
from itertools import islice

import numpy as np
import pytest
from physics import case_of, strip_part
from threadpoolctl import threadpool_limits

import simsoft.scenarios.cast.let_go as blown
from simsoft.bodies.clearance.gap import Placed, clearance
from simsoft.case.model import BodyInput, HookInput, PaddleInput, RigInput, Scenario, Taper
from simsoft.case.read import loads
from simsoft.cli import main as cli
from simsoft.core.errors import SolveError
from simsoft.engine.run import run
from simsoft.lure.parts import assemble, values_of
from simsoft.properties.air import air
from simsoft.results.record import select
from simsoft.scenarios.cast.let_go import (
    before_the_body,
    densely,
    plate_elements,
    ready_to_go,
    watched,
)
from simsoft.scenarios.cast.tumble import sides, tumble

AIR = air(293.15)
SPEED = 28.0
ROUND = Taper((0.0, 1.0), (0.01, 0.01))
BODY = BodyInput("grub", 0.05, ROUND, ROUND, density=1050.0)
HOOK = HookInput(
    0.001,
    ((0.0, 0.0, 0.0), (0.035, 0.0, 0.0), (0.045, 0.004, 0.006), (0.045, 0.012, 0.006)),
)
CAST = Scenario("reach", "cast")
LENGTH = 0.03
ALL_SIDES = 26


@pytest.fixture(autouse=True)
def one_thread():
    """Small matrices, on one core as the engine has them."""
    with threadpool_limits(limits=1, user_api="blas"):
        yield


def even(size):
    return Taper((0.0, 1.0), (size, size))


def strips(model, width=0.003, modulus=2e5, body=BODY, **changes):
    fields = {
        "name": "claw", "length": LENGTH, "width": even(width), "thickness": even(0.0012),
        "position": (0.05, 0.002, 0.0), "direction": (0.8, 0.6, 0.0), "bending": "beam",
    }  # fmt: skip
    part = strip_part(**(fields | {"model": model} | changes))
    case = case_of(part, density=1040.0, modulus=modulus)
    return assemble(replace(case, body=body, rig=RigInput(HOOK))).strips


def blown_as(strip, **replaced):
    return ready_to_go(strip, AIR, values_of(strip, **replaced), SPEED)


def tips(part, side, count, steps=4):
    """Return the tip (count, 3) [m] over the first positions."""
    places = []
    for place in part.follow(side, steps):
        places.append(place.centre[:, -1])
        if sum(len(p) for p in places) >= count:
            break
    return np.concatenate(places)[:count]


def turned(side):
    """Return a unit vector along a side."""
    return np.array(side) / np.linalg.norm(side)


def rod_and_plate(side, width):
    """Return the tips of a strip as rod and plate over 50 ms, and how far apart they come [m]."""
    same = {"normal_drag": 1.9, "skin_friction": 0.01}
    rod, plate = (
        tips(blown_as(strips(model, width)[0], **same), turned(side), 40)
        for model in ("rod", "plate")
    )
    return rod, float(np.linalg.norm(rod - plate, axis=1).max())


@pytest.mark.parametrize("side", [[0.0, 1.0, 0.0], [1.0, 0.0, 0.0]])
def test_a_slender_plate_is_blown_about_like_a_rod(side):
    """What is left is the water of a finite span, which goes with the width."""
    rod, slender = rod_and_plate(side, 0.0015)
    _, wide = rod_and_plate(side, 0.006)
    assert np.linalg.norm(np.ptp(rod, axis=0)) > 0.6 * LENGTH
    assert slender < 0.04 * LENGTH
    assert slender < 0.5 * wide


def test_a_slender_plate_comes_as_near_the_hook_as_a_rod():
    gaps = []
    for model in ("rod", "plate"):
        strip = strips(model, 0.002)[0]
        part = blown_as(strip, normal_drag=1.9, skin_friction=0.01)
        blowing = [side for side in sides(strip.part) if abs(side[2]) < 0.1]  # about the soft axis
        places = [part.moulded, *(watched(part, side, BODY, 0.002) for side in blowing)]
        gaps.append([clearance(strip, part.rod, place, strip.wire).margin for place in places])
    assert len(gaps[0]) == 9
    assert gaps[1] == pytest.approx(gaps[0], abs=3e-4)
    assert min(gaps[0]) < gaps[0][0] - 3e-3


@pytest.mark.parametrize("model", ["rod", "plate"])
def test_a_pair_is_blown_about_as_mirror_images(model):
    left, right = strips(model, 0.01, mirrored=True)
    for side, image in zip(sides(left.part)[::9], reversed_sides(right.part)[::9], strict=True):
        np.testing.assert_allclose(image, side * [1.0, -1.0, 1.0], atol=1e-12)
        path = tips(blown_as(left), side, 30)
        assert np.linalg.norm(np.ptp(path, axis=0)) > 0.2 * LENGTH
        np.testing.assert_allclose(
            tips(blown_as(right), image, 30), path * [1.0, -1.0, 1.0], atol=1e-7
        )


def reversed_sides(part):
    """Return the sides (26, 3) of a part in the order of those of its mirror image."""
    order = np.arange(27).reshape(3, 3, 3)[:, ::-1].ravel()
    order = order[order != 13]
    return sides(part)[np.where(order > 13, order - 1, order)]


def test_no_side_is_exactly_edge_on():
    """Rounding would decide which way a part turns there, and with it how many sides foul."""
    for strip in strips("plate", width_axis=(0.0, 0.0, 1.0)):
        face = np.cross([0.8, 0.6, 0.0], [0.0, 0.0, 1.0])
        assert np.abs(sides(strip.part) @ face).min() > 0.03


def test_a_stiff_plate_hardly_moves():
    limp, stiff = (
        tips(blown_as(strips("plate", modulus=modulus)[0]), turned([0.0, 1.0, 0.0]), 40)
        for modulus in (1e5, 1e11)
    )
    assert np.ptp(limp, axis=0).max() > 0.01
    assert np.ptp(stiff, axis=0).max() < 1e-5


@pytest.mark.parametrize(("thick", "apart"), [(4.0e-3, 0.2e-3), (2.0e-3, 0.8e-3)])
def test_a_thick_paddle_that_bends_is_blown_about_like_a_stiff_one(thick, apart):
    pad = PaddleInput("disc", 0.015, 0.015, thick, 1.5, 0.002)
    for side in ([0.0, 1.0, 0.05], [-0.7, 0.7, 0.05], [-0.6, 0.6, 0.6]):
        stiff, bends = (
            tips(blown_as(tailed(model, pad)), turned(side), 60) for model in ("rod", "plate")
        )
        assert np.ptp(stiff, axis=0).max() > 0.008
        assert np.linalg.norm(stiff - bends, axis=1).max() < apart


def tailed(model, pad):
    """Return a paddle tail behind the body."""
    return strips(
        model, 0.005, kind="paddle-tail", length=0.016, thickness=even(0.0024), paddle=pad,
        position=(0.05, 0.0, 0.0), direction=(1.0, 0.0, 0.0),
    )[0]  # fmt: skip


def test_a_finer_step_changes_the_gap_of_a_plate_little():
    strip = strips("plate", 0.012)[0]
    part = ready_to_go(strip, AIR, values_of(strip), SPEED, coarse=True)
    for side in ([0.0, 1.0, 0.1], [-0.6, 0.6, 0.6]):
        gaps = [
            clearance(strip, None, watched(finer, turned(side), BODY, 0.012), strip.wire).margin
            for finer in (replace(part, steps=(2,)), replace(part, steps=(8,)))
        ]
        assert gaps[0] == pytest.approx(gaps[1], abs=3e-4)


def test_a_wide_plate_gets_fewer_elements_along():
    slender, wide, square = (
        plate_elements(strips("plate", width)[0].part) for width in (0.004, 0.0134, 0.03)
    )
    assert (slender, wide, square) == (14, 14, 8)
    assert plate_elements(strips("plate", 0.09)[0].part) == 6


@pytest.mark.parametrize(("name", "lost"), [("follow_plate", "claw"), ("follow_stem", "tail")])
def test_sides_that_are_lost_leave_the_gap_unknown(monkeypatch, name, lost):
    """The gap found from the other sides says nothing of the one that is lost."""
    calls = []
    true = getattr(blown, name)

    def fails_once(*shape, **how):
        calls.append(how["stride"])
        if len(calls) <= len(blown.PLATE_STEPS):
            raise SolveError("lost")
        return islice(true(*shape, **how), 1)

    monkeypatch.setattr(blown, name, fails_once)
    strip = strips("plate")[0]
    if lost == "tail":
        strip = tailed("plate", PaddleInput("disc", 0.015, 0.015, 0.003, 1.5, 0.002))
    found = tumble(strip, values_of(strip), CAST)
    answer = found.answers["hook_clearance", (("speed", SPEED), ("state", "tumble"))]
    assert answer.value is None
    assert "could not be followed from 1 of 26 sides" in answer.reason
    assert calls[: len(blown.PLATE_STEPS)] == list(blown.PLATE_STEPS)
    assert len(calls) == len(blown.PLATE_STEPS) + ALL_SIDES - 1


def line_at(height, reach=0.03):
    """Return a straight centreline in the body's middle plane, its root at the body's end."""
    along = np.linspace(0.0, reach, 13)
    centre = np.column_stack([0.05 - along, np.zeros(13), np.full(13, height)])
    return Placed(centre[None], np.tile([0.0, 1.0, 0.0], (1, 13, 1)), np.array([[-1.0, 0.0, 0.0]]))


def test_a_part_is_followed_until_it_lies_against_the_body():
    asked = []

    def falling():
        for height in (0.012, 0.004, -0.02):
            asked.append(height)
            yield line_at(height)

    assert len(before_the_body(line_at(0.02), falling(), BODY, 0.005).centre) == 2
    assert asked == [0.012, 0.004]
    assert len(before_the_body(line_at(0.02), falling(), None, 0.005).centre) == 4


def test_what_sits_in_the_body_as_moulded_does_not_end_the_march():
    tilted = line_at(0.0)
    tilted.centre[0, :, 2] = np.linspace(0.0, 0.03, 13)  # the first stations lie in the body
    onward = (line_at(height) for height in (0.02, 0.002, 0.02))
    assert len(before_the_body(tilted, onward, BODY, 0.001).centre) == 2


def test_a_hook_does_not_slip_through_between_two_positions():
    strip = strips("rod", direction=(1.0, 0.0, 0.0))[0]
    both = Placed(*(np.concatenate([getattr(line_at(z), f) for z in (0.0, 0.012)]) for f in PLACED))
    both.centre[:, :, 1] += 0.008
    wire = strip.wire
    assert clearance(strip, blown_as(strip).rod, both, wire).margin > 0.003
    dense = densely(both, blown.LEAP)
    assert np.abs(np.diff(dense.centre, axis=0)).max() <= blown.LEAP + 1e-12
    np.testing.assert_array_equal(dense.centre[[0, -1]], both.centre)
    assert clearance(strip, blown_as(strip).rod, dense, wire).margin < 0.0


PLACED = ("centre", "width_axis", "tangent")


FIN = """
title = "Soft fin on a hook"
[water]
temperature = "20 degC"
salinity = "0 g/kg"
[material]
durometer = "50 OO"
density = "1040 kg/m^3"
[body]
family = "creature"
length = "55 mm"
height = "13 mm"
[rig.hook]
wire_diameter = "1.2 mm"
gap = "15 mm"
shank = "25 mm"
[[parts]]
name = "fin"
kind = "strip"
model = "plate"
length = "28 mm"
width = "8 mm"
thickness = "1.4 mm"
position = ["54 mm", "3 mm", "0 mm"]
direction = [0.82, 0.57, 0.0]
width_axis = [0, 0, 1]
[[scenarios]]
name = "throw"
kind = "cast"
"""


@pytest.mark.slow
def test_a_cast_with_a_plate_is_answered_as_a_plate(tmp_path, capsys):
    """From the command to the record, with bands: a number, what it was followed as, no rod."""
    case = tmp_path / "fin.toml"
    case.write_text(FIN)
    with pytest.raises(SystemExit) as end:
        cli.main(["run", str(case), "--json"])
    said = capsys.readouterr()
    assert end.value.code == 0
    assert "rod" not in said.err
    records = json.loads(said.out)["records"]
    gaps = [r for r in records if r["quantity"] == "hook_clearance" and "spot" not in r["at"]]
    assert len(gaps) == 1
    assert "a plate of 14 elements along" in gaps[0]["basis"]
    assert gaps[0]["low"] < gaps[0]["value"] < gaps[0]["high"]
    as_rod = run(loads(FIN, "fin.toml", ["parts.fin.model=rod"]), bands=False)
    (rod, *_) = select(as_rod.records, "hook_clearance", state="tumble")
    assert "followed as a rod" in rod.basis
    assert gaps[0]["low"] < rod.value < gaps[0]["high"]
