"""The free lure is made of what the whole weighs, each piece once."""

import numpy as np
import pytest
from free_bodies import CREATURE, STICK, WORM, free, whole_of

from simsoft.bodies.free.course import placed_nodes
from simsoft.bodies.free.equilibrium import trims
from simsoft.bodies.free.forces import evaluate_tree
from simsoft.bodies.free.frozen import gather_stiff, stiff_inertia
from simsoft.bodies.free.work import make_tree_work
from simsoft.geometry.soft_lengths import stiff_length
from simsoft.hydrodynamics.rigid_base import base_drag
from simsoft.lure.assembly import mass_properties
from simsoft.lure.free_lure import BASE, build_free, free_values, moved_inputs
from simsoft.lure.parts import GRAVITY

PADDLE = (
    STICK.replace('family = "stick-worm"', 'family = "swim-bait"')
    + """\
[[parts]]
name = "tail"
kind = "paddle-tail"
length = "11 mm"
width = "5 mm"
thickness = "3 mm"
paddle_diameter = "15 mm"
paddle_thickness = "3 mm"
position = ["127 mm", "0 mm", "0 mm"]
"""
)
TEXTS = {"stick": STICK, "creature": CREATURE, "worm": WORM, "paddle": PADDLE}


def still(lure):
    """Return scratch arrays of a lure at rest, upright, in its moulded shape."""
    from simsoft.bodies.free.course import hinge_angles, state_at_rest
    from simsoft.bodies.rod.equilibrium import make_stream

    n = len(lure.tree.length)
    state = state_at_rest(lure, 0.0, lean=0.0)
    work = make_tree_work(len(lure.names), n)
    evaluate_tree(
        lure.tree, make_stream(0.0, np.array([1.0, 0.0, 0.0])), np.eye(3), np.zeros(3),
        np.zeros(6), state.quaternion, hinge_angles(state), np.zeros((n, 3)), state.wake, work,
    )  # fmt: skip
    stiff_inertia(lure.tree, work)
    gather_stiff(lure.tree, work)
    return work


@pytest.mark.parametrize("name", TEXTS)
def test_frozen_it_has_the_mass_and_inertia_of_the_whole(name):
    """Solid plus added inertia about the eye against the sum of the pieces."""
    whole = whole_of(TEXTS[name])
    values = free_values(whole)
    values[BASE]["body_added"] = 1.0  # the water of potential flow, whole
    lure = build_free(whole, values, elements=24)
    found = mass_properties(whole)
    work = still(lure)
    centre = lure.centre_of_mass
    cross = np.array(
        [[0, -centre[2], centre[1]], [centre[2], 0, -centre[0]], [-centre[1], centre[0], 0]]
    )
    move = np.eye(6)
    move[3:, :3] = -cross
    solid = np.zeros((6, 6))
    solid[:3, :3], solid[3:, 3:] = found.inertia, found.mass * np.eye(3)
    expected = move.T @ (solid + found.added_mass) @ move
    size = np.sqrt(np.outer(np.diag(expected), np.diag(expected)))
    assert np.abs(work.total - expected).max(where=size > 0.0, initial=0.0) < 1.0
    assert (np.abs(work.total - expected) / size).max() < 0.03


@pytest.mark.parametrize("name", TEXTS)
def test_frozen_it_has_the_weight_and_buoyancy_of_the_whole(name):
    whole = whole_of(TEXTS[name])
    lure = build_free(whole, elements=24)
    work = still(lure)
    net = (lure.mass - lure.displaced) * GRAVITY
    assert -work.whole[5] == pytest.approx(-net, rel=0.01)
    weight, buoyancy = lure.mass * GRAVITY, lure.displaced * GRAVITY
    moment = weight * lure.centre_of_mass[0] - buoyancy * lure.centre_of_buoyancy[0]
    assert -work.whole[1] == pytest.approx(moment, rel=0.02, abs=1e-5)


def test_the_hooked_length_is_stiff_and_the_rest_bends():
    whole = whole_of(STICK)
    start, end = stiff_length(whole.body, whole.rig.hook)
    assert start == 0.0
    assert end == pytest.approx(0.044 + 0.0075, abs=1e-3)
    assert build_free(whole).names == ("body/back",)
    unhooked = whole_of(STICK[: STICK.index("[rig.hook]")])
    assert build_free(unhooked).names == ("body/front", "body/back")


def test_a_part_on_a_soft_length_rides_on_it():
    lure = free(WORM, elements=8)
    assert lure.tree.carrier[0] == -1
    assert 0 <= lure.tree.carrier[1] < 8
    nodes = placed_nodes(lure)
    tail = nodes[lure.tree.first[1] :]
    expected = np.linspace(0.12, 0.15, 9)[1:]
    assert tail[:, 0] == pytest.approx(expected, abs=1e-9)
    assert np.abs(tail[:, 1:]).max() < 1e-9


def test_every_input_of_a_band_is_moved_in_all_pieces_at_once():
    whole = whole_of(WORM)
    moved = moved_inputs(whole)
    names = [name for name, _, _ in moved]
    for name in ("density", "thickness", "modulus", "cross_drag", "axial_drag", "rig_drag"):
        assert names.count(name) == 2
    (low, _) = [values for name, _, values in moved if name == "density"]
    central = free_values(whole)
    assert low["body"]["density"] < central["body"]["density"]
    assert low["tail"]["density"] < central["tail"]["density"]
    assert low[BASE] == central[BASE]


def test_a_flat_body_resists_roll_as_the_strip_that_it_is():
    """Turning about its own axis: C_d rho/2 p^2 int |s|^3 ds over the height, h^4/32 a length."""
    flat = """\
title = "Plate"
[material]
durometer = "55 OO"
[body]
family = "grub"
length = "100 mm"
height = ["40 mm", "40 mm"]
width = ["0.4 mm", "0.4 mm"]
flexible = false
cross_drag = 1.9
axial_drag = 0.0
skin_friction = 0.0
"""
    base = free(flat).tree.base
    wrench = np.zeros(6)
    base_drag(base, np.array([7.0, 0, 0, 0, 0, 0]), wrench, np.zeros((6, 6)))
    expected = 1.9 * 0.5 * 998.2 * 7.0**2 * 0.1 * 0.04**4 / 32.0
    assert wrench[0] == pytest.approx(-expected, rel=0.01)
    assert np.abs(wrench[1:]).max() < 1e-9


def test_where_the_hooked_length_ends_is_no_end_to_the_water():
    """A descent does not depend on how finely the soft length behind it is cut."""
    found = []
    for elements in (5, 20):
        (stable,) = [t for t in trims(free(STICK, elements=elements)) if t.stable]
        found.append(stable)
    assert found[0].sink_rate == pytest.approx(found[1].sink_rate, rel=0.02)
    assert found[0].attitude == pytest.approx(found[1].attitude, abs=np.radians(0.5))


def test_water_that_comes_across_a_body_rubs_along_it_by_the_shorter_way():
    """The root of its length over half the girth: 2.66 for a bar of 100 by 9 mm."""
    bar = """\
title = "Bar"
[material]
durometer = "55 OO"
[body]
family = "stick-worm"
length = "100 mm"
height = ["9 mm", "9 mm"]
width = ["9 mm", "9 mm"]
flexible = false
axial_drag = 0.0
"""
    base = free(bar).tree.base
    forces = []
    for velocity in ((0.001, 0.0, 0.1), (0.1, 0.0, 0.0)):
        wrench = np.zeros(6)
        base_drag(base, np.array([0, 0, 0, *velocity]), wrench, np.zeros((6, 6)))
        forces.append(wrench[3] / (velocity[0] * np.linalg.norm(velocity)))
    assert forces[0] / forces[1] == pytest.approx(np.sqrt(100.0 / (0.5 * np.pi * 9.0)), rel=1e-3)
