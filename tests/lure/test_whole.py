"""The whole lure against hand calculations: mass, centres, inertia, added mass, areas."""

import math
from dataclasses import replace

import numpy as np
import pytest
from physics import case_of, close, strip_part

from simsoft.case.model import (
    BodyInput,
    HookInput,
    PaddleInput,
    RigInput,
    Taper,
    Tolerance,
    WeightInput,
)
from simsoft.lure.assembly import assemble_whole, central_values, mass_properties, moved_values
from simsoft.lure.components import ELEMENTS
from simsoft.lure.parts import THICKNESS_SCATTER, assemble

RHO, WATER = 1080.0, 1000.0
LENGTH, WIDTH, THICKNESS = 0.05, 0.01, 0.001
CYLINDER = BodyInput(
    "worm", 0.1, Taper((0.0, 1.0), (0.01, 0.01)), Taper((0.0, 1.0), (0.01, 0.01)), density=1000.0
)
DISC = PaddleInput("disc", 0.016, 0.016, 0.003, math.pi / 2, 0.0)


def whole_of(*parts, body=None, rig=None, **changes):
    case = replace(case_of(*parts, density=RHO), body=body, rig=rig, **changes)
    return assemble_whole(case, assemble(case))


def weighed(*parts, **changes):
    return mass_properties(whole_of(*parts, **changes))


def weight(name="w", position=(0.0, 0.0, 0.0), mass=0.005, kind="nail", metal="lead", **changes):
    return WeightInput(name, kind, metal, mass, position, **changes)


def test_a_strip_is_a_box():
    """Mass rho L b h; about the middle m (L^2 + h^2)/12 and so on; strips of water pi/4 b^2.

    Lumps at the nodes of N elements have L^2 (1 + 2/N^2) for L^2, the trapezoid rule's error; the
    N - 1 inner ones add that of a link L/N long.
    """
    found = weighed(strip_part())
    mass = RHO * LENGTH * WIDTH * THICKNESS
    assert found.mass == pytest.approx(mass, rel=1e-12)
    assert found.volume == pytest.approx(mass / RHO, rel=1e-12)
    assert found.centre_of_mass == pytest.approx([LENGTH / 2, 0.0, 0.0], abs=1e-12)
    assert found.centre_of_buoyancy == pytest.approx(found.centre_of_mass)
    # along x L, across (thickness) y h, width z b
    l2 = LENGTH**2 * (1.0 + (3.0 - 1.0 / ELEMENTS) / ELEMENTS**2)
    h2, b2 = THICKNESS**2, WIDTH**2
    inertia = mass / 12.0 * np.diag([h2 + b2, l2 + b2, l2 + h2])
    assert found.inertia == close(inertia, rel=1e-9)
    broad, edge = (math.pi / 4 * WATER * size * LENGTH for size in (b2, h2))
    assert found.added_mass[3:, 3:] == close(np.diag([0.0, broad, edge]), rel=1e-9)
    assert found.added_mass[2, 2] == pytest.approx(broad * l2 / 12.0, rel=1e-9)
    assert found.added_mass[3:, :3] == pytest.approx(0.0, abs=1e-12)
    sides = [WIDTH * THICKNESS * 0.0, LENGTH * WIDTH, LENGTH * THICKNESS]
    assert found.projected_areas == pytest.approx(sides, abs=1e-12)
    assert found.length == pytest.approx(LENGTH)


def test_inertia_is_second_order_in_the_elements(monkeypatch):
    exact = RHO * LENGTH * WIDTH * THICKNESS * (LENGTH**2 + THICKNESS**2) / 12.0
    errors = []
    for elements in (16, 32):
        monkeypatch.setattr("simsoft.lure.components.ELEMENTS", elements)
        errors.append(abs(weighed(strip_part()).inertia[2, 2] - exact))
    assert errors[0] / errors[1] == pytest.approx(4.0, rel=0.02)


def test_a_half_circle_has_its_centre_where_a_wire_bow_has():
    """2 R/pi from the diameter, on the side the moulded arc turns to."""
    radius = LENGTH / math.pi
    found = weighed(strip_part(arc_angle=math.pi))
    assert found.centre_of_mass[0] == pytest.approx(2.0 * radius / math.pi, rel=1e-3)
    assert abs(found.centre_of_mass[1]) == pytest.approx(radius, rel=1e-3)
    assert found.length == pytest.approx(radius + 0.5 * THICKNESS, rel=2e-3)


def test_a_paddle_is_weighed_with_its_stem():
    part = strip_part(kind="paddle-tail", paddle=DISC)
    found = weighed(part)
    plate = math.pi / 4 * 0.016**2 * 0.003
    assert found.volume == pytest.approx(LENGTH * WIDTH * THICKNESS + plate, rel=1e-9)
    assert found.mass == pytest.approx(RHO * found.volume, rel=1e-12)
    assert found.projected_areas[0] == pytest.approx(math.pi / 4 * 0.016**2, rel=1e-9)
    assert found.length == pytest.approx(LENGTH + 0.003)


@pytest.mark.parametrize("shape", ["disc", "boot"])
@pytest.mark.parametrize("angle", [60.0, 80.0, 110.0])
def test_a_leaning_paddle_reaches_as_far_as_its_rim(shape, angle):
    """Its front face meets the stem's end; corners of the rim lean past its middle."""
    turn = math.radians(angle)
    plate = replace(DISC, shape=shape, angle=turn, offset=0.004)
    found = weighed(strip_part(kind="paddle-tail", paddle=plate))
    face = 0.5 * plate.height * abs(math.cos(turn)) + plate.thickness * math.sin(turn)
    assert found.length == pytest.approx(LENGTH + 0.004 * math.cos(turn) + face)


def test_an_oval_leg_leaves_its_nose_by_half_its_size_at_most():
    """Across the bait the leg is as long, along x, as it is wide."""
    leg = strip_part(section="ellipse", direction=(0.0, 1.0, 0.0))
    box = strip_part(direction=(0.0, 1.0, 0.0))
    assert weighed(box).length == pytest.approx(weighed(leg).length) == pytest.approx(THICKNESS)


def test_a_lump_at_the_tip_weighs_and_displaces_nothing():
    plain, lumped = weighed(strip_part()), weighed(strip_part(tip_mass=0.002))
    assert lumped.mass - plain.mass == pytest.approx(0.002)
    assert lumped.volume == plain.volume
    assert lumped.centre_of_buoyancy == pytest.approx(plain.centre_of_buoyancy)
    expected = (plain.mass * LENGTH / 2 + 0.002 * LENGTH) / (plain.mass + 0.002)
    assert lumped.centre_of_mass[0] == pytest.approx(expected)


def test_a_pair_is_twice_one_and_lies_on_the_middle_plane():
    aside = strip_part(position=(0.05, 0.004, 0.001), direction=(0.8, 0.6, 0.0), arc_angle=0.5)
    one, pair = weighed(aside), weighed(replace(aside, mirrored=True))
    assert [part.name for part in pair.parts] == ["strip/left", "strip/right"]
    assert pair.mass == pytest.approx(2.0 * one.mass)
    assert pair.centre_of_mass == pytest.approx(one.centre_of_mass * [1.0, 0.0, 1.0], abs=1e-15)
    assert pair.inertia[0, 1] == pytest.approx(0.0, abs=1e-15)
    assert pair.inertia[1, 2] == pytest.approx(0.0, abs=1e-15)
    assert pair.projected_areas == pytest.approx(2.0 * one.projected_areas)
    # side force from roll and yaw only, fore-aft and vertical from pitch only
    assert pair.added_mass[3, [0, 2, 4]] == pytest.approx(0.0, abs=1e-12)


def test_two_point_masses_on_a_neutral_body_trim_as_by_hand():
    """10 g at 20 mm and 5 g at 80 mm, both 3 mm low, of metal twice as dense as water.

    Body: 100 mm, 10 mm round, as dense as water: 7.854 g at 50 mm. Mass moment (7.854 x 50 +
    10 x 20 + 5 x 80)/22.854 = 43.437 mm and -45/22.854 = -1.969 mm; volume moment with 7.5 cm3
    of metal (7.854 x 50 + 5 x 20 + 2.5 x 80)/15.354 = 45.115 mm and -22.5/15.354 = -1.465 mm.
    With buoyancy over weight the nose hangs atan(1.679/0.504) = 73.3 degrees down.
    """
    weights = (
        weight("front", (0.020, 0.0, -0.003), mass=0.010, density=2000.0),
        weight("rear", (0.080, 0.0, -0.003), mass=0.005, density=2000.0),
    )
    found = weighed(body=CYLINDER, rig=RigInput(None, weights))
    assert found.mass == pytest.approx(22.854e-3, rel=1e-4)
    assert found.volume == pytest.approx(15.354e-6, rel=1e-4)
    assert 1e3 * found.centre_of_mass == pytest.approx([43.4366, 0.0, -1.9690], abs=1e-3)
    assert 1e3 * found.centre_of_buoyancy == pytest.approx([45.115, 0.0, -1.4654], abs=1e-3)
    lever = found.centre_of_buoyancy - found.centre_of_mass
    assert math.degrees(math.atan2(lever[0], lever[2])) == pytest.approx(73.3, abs=0.1)


def test_a_cylinder_with_a_weight_at_its_nose():
    """Parallel axes by hand; m (3 r^2 + L^2)/12 of the cylinder, 2/5 m R^2 of the sphere."""
    sphere = weight("head", (0.0, 0.0, 0.0), mass=0.007, metal="tungsten")
    found = weighed(body=CYLINDER, rig=RigInput(None, (sphere,)))
    body = math.pi / 4 * 0.01**2 * 0.1 * 1000.0
    radius = (0.75 * 0.007 / 17500.0 / math.pi) ** (1 / 3)
    arm = 0.05
    reduced = body * 0.007 / (body + 0.007)
    own = body * (3.0 * 0.005**2 + 0.1**2) / 12.0 + 0.4 * 0.007 * radius**2
    assert found.inertia[1, 1] == pytest.approx(own + reduced * arm**2, rel=1e-9)
    assert found.inertia[2, 2] == pytest.approx(found.inertia[1, 1], rel=1e-9)
    assert found.inertia[0, 0] == pytest.approx(
        body * 0.005**2 / 2.0 + 0.4 * 0.007 * radius**2, rel=1e-9
    )


def test_weights_in_the_water_carry_half_their_water():
    plain = weighed(body=CYLINDER)
    volume = 0.005 / 11000.0
    for kind in ("jig-head", "sliding", "nail", "belly"):
        rig = RigInput(None, (weight(kind=kind, position=(-0.006, 0.0, 0.0)),))
        found = weighed(body=CYLINDER, rig=rig)
        carried = 0.5 * WATER * volume if kind in ("jig-head", "sliding") else 0.0
        gain = np.diag(found.added_mass - plain.added_mass)[3:]
        assert gain == pytest.approx([carried] * 3, abs=1e-12)
        assert found.volume - plain.volume == pytest.approx(volume)
        assert found.length == pytest.approx(0.1)


def test_a_hook_is_steel_wire_or_what_it_weighs():
    path = ((0.0, 0.0, 0.0), (0.03, 0.0, 0.0), (0.03, 0.0, 0.01))
    hook = HookInput(0.001, path)
    volume = math.pi / 4 * 1e-6 * 0.04
    found = weighed(body=CYLINDER, rig=RigInput(hook))
    (steel,) = [part for part in found.parts if part.name == "hook"]
    assert (steel.mass, steel.volume) == pytest.approx((7850.0 * volume, volume))
    assert steel.centre == pytest.approx([(15 * 30 + 30 * 10) / 40e3, 0.0, 10 * 5 / 40e3])
    stated = weighed(body=CYLINDER, rig=RigInput(replace(hook, mass=0.0007)))
    (said,) = [part for part in stated.parts if part.name == "hook"]
    assert (said.mass, said.volume) == pytest.approx((0.0007, volume))


def test_the_pieces_add_up_to_the_whole():
    rig = RigInput(HookInput(0.001, ((0.0, 0.0, 0.0), (0.03, 0.0, 0.0))), (weight(),))
    found = weighed(strip_part(position=(0.1, 0.0, 0.0)), body=CYLINDER, rig=rig)
    assert [part.name for part in found.parts] == ["body", "strip", "hook", "w"]
    assert sum(part.mass for part in found.parts) == pytest.approx(found.mass)
    assert sum(part.volume for part in found.parts) == pytest.approx(found.volume)
    moment = sum(part.mass * part.centre for part in found.parts)
    assert moment / found.mass == pytest.approx(found.centre_of_mass)
    assert found.length == pytest.approx(0.1 + LENGTH)
    assert np.allclose(found.added_mass, found.added_mass.T)
    assert np.linalg.eigvalsh(found.added_mass).min() >= -1e-12
    assert np.linalg.eigvalsh(found.inertia).min() > 0.0


def test_inputs_move_in_every_piece_at_once():
    whole = whole_of(strip_part(), body=CYLINDER)
    central = central_values(whole)
    assert central["body"] == {"density": 1000.0, "thickness": 0.0}
    low, high = moved_values(whole, "density")
    for piece in ("body", "strip"):
        assert low[piece]["density"] < central[piece]["density"] < high[piece]["density"]
        assert low[piece]["thickness"] == central[piece]["thickness"]
    thin, thick = (mass_properties(whole, values) for values in moved_values(whole, "thickness"))
    scatter = THICKNESS_SCATTER
    body = math.pi / 4 * ((0.01 + scatter) ** 2 - (0.01 - scatter) ** 2) * 0.1
    assert thick.volume - thin.volume == pytest.approx(
        body + 2.0 * scatter * LENGTH * WIDTH, rel=1e-9
    )


def test_the_stated_scatter_leaves_half_of_the_thinnest_size():
    thin = replace(CYLINDER, height=Taper((0.0, 1.0), (0.01, 0.001)))
    whole = whole_of(body=thin, tolerance=Tolerance(thickness=0.8e-3))
    band = whole.body_inputs["thickness"]
    assert (band.low, band.high) == (-0.5e-3, 0.8e-3)
