"""The lure in the air: areas by hand, centres, attitude rule, folded strips against the rod."""

import math
from dataclasses import replace

import numpy as np
import pytest
from physics import case_of, strip_part

from simsoft.bodies.rod.equilibrium import make_stream, rest_branch
from simsoft.bodies.rod.setup import prepare_rod
from simsoft.bodies.rod.tangents import at_rest
from simsoft.case.model import BodyInput, HookInput, PaddleInput, RigInput, Taper, WeightInput
from simsoft.hydrodynamics.correlations.drag import cylinder_end_factor, sphere_drag
from simsoft.lure.assembly import assemble_whole, central_values
from simsoft.lure.in_air import (
    Airborne,
    AirFlow,
    AirPiece,
    airborne,
    body_in_air,
    flight_attitude,
    seen,
    strip_in_air,
    strip_seen,
)
from simsoft.lure.parts import Specimen, assemble, values_of
from simsoft.properties.air import air
from simsoft.properties.coefficients import air_coefficients
from simsoft.properties.water import Water

FLOW = AirFlow(1.225, 1.79e-5, 28.0)
CENTRAL = {name: band.value for name, band in air_coefficients(None).items()}
X = np.array([1.0, 0.0, 0.0])


def flat(size):
    return Taper((0.0, 1.0), (size, size))


STICK = BodyInput("stick-worm", 0.12, flat(0.01), flat(0.01), density=1100.0)
FLANK = BodyInput("flat-sided", 0.06, flat(0.02), flat(0.005), density=1030.0)


def in_air(*parts, body=None, rig=None, **changed):
    case = replace(case_of(*parts, density=1050.0), body=body, rig=rig)
    whole = assemble_whole(case, assemble(case))
    values = central_values(whole)
    return airborne(whole, values, seen(whole, values), CENTRAL | changed, FLOW)


def weights(*items):
    hung = [
        WeightInput(f"w{i}", kind, "lead", mass, (x, 0.0, 0.0))
        for i, (kind, mass, x) in enumerate(items)
    ]
    return RigInput(weights=tuple(hung))


def test_a_round_body_is_a_finite_cylinder():
    """Broadside C_d 1.2 times the end factor on L d; end on 0.3 on the section plus friction."""
    piece = body_in_air(STICK, None, 0.0, CENTRAL)
    across = 1.2 * float(cylinder_end_factor(12.0)) * 0.12 * 0.01
    assert piece.drag_area[1:] == pytest.approx([across, across], rel=1e-9)
    section = math.pi / 4 * 0.01**2
    wetted = math.pi * 0.01 * 0.12 + 2.0 * section
    assert piece.drag_area[0] == pytest.approx(0.3 * section + 0.006 * wetted, rel=1e-3)
    assert piece.centre == pytest.approx([0.06, 0.06])


def test_a_soft_body_trails_behind_its_hook():
    """Behind 60 mm of hooked length, 60 mm of a round worm drag as a limp strip on their skin."""
    soft = replace(STICK, flexible=True)
    hook = HookInput(0.001, ((0.0, 0.0, 0.0), (0.03, 0.0, 0.0), (0.06, 0.0, 0.0)))
    straight = body_in_air(STICK, hook, 0.0, CENTRAL).drag_area
    trailing = body_in_air(soft, hook, 0.0, CENTRAL).drag_area
    assert trailing[0] - straight[0] == pytest.approx(0.1 * math.pi * 0.01 * 0.06, rel=0.01)
    assert trailing[1:] == pytest.approx(straight[1:])


def test_a_flat_body_faces_the_side_wind():
    """Seen from the side it is 20 mm high and 5 mm deep, from above the other way round."""
    side, top = body_in_air(FLANK, None, 0.0, CENTRAL).drag_area[1:]
    assert side > 4.0 * top
    assert side == pytest.approx(1.79 * float(cylinder_end_factor(3.0)) * 0.06 * 0.02, rel=1e-6)


def test_stated_drag_of_a_body_is_taken_as_it_is():
    body = replace(STICK, cross_drag=0.8, axial_drag=0.5, skin_friction=0.0)
    constants = {name: band.value for name, band in air_coefficients(body).items()}
    piece = body_in_air(body, None, 0.0, constants)
    assert piece.drag_area == pytest.approx([0.5 * math.pi / 4 * 1e-4, 0.8 * 1.2e-3, 0.8 * 1.2e-3])


def test_an_exposed_weight_is_a_sphere_and_a_nail_is_hidden():
    bare = in_air(body=STICK)
    jig = in_air(body=STICK, rig=weights(("jig-head", 0.007, 0.0)))
    diameter = 2.0 * math.cbrt(0.75 * 0.007 / 11000.0 / math.pi)
    area = math.pi / 4 * diameter**2 * float(sphere_drag(1.225 * 28.0 * diameter / 1.79e-5))
    assert jig.end_on - bare.end_on == pytest.approx(area)
    assert in_air(body=STICK, rig=weights(("nail", 0.007, 0.0))).end_on == bare.end_on


def test_bare_wire_of_a_hook_drags_and_covered_wire_does_not():
    rig = RigInput(HookInput(0.001, ((0.02, 0.0, 0.0), (0.04, 0.0, 0.0), (0.04, 0.0, 0.02))))
    piece = in_air(body=STICK, rig=rig).pieces[-1]
    assert piece.name == "hook"
    out = 1.2 * 0.001 * 0.015
    assert piece.drag_area == pytest.approx([out, out, 0.0], rel=0.05)
    assert piece.centre[0] == pytest.approx(0.04)


@pytest.mark.parametrize(("modulus", "slack"), [(1e10, 0.02), (2e7, 0.15), (2e5, 0.25), (4e4, 0.4)])
def test_folded_strips_drag_as_the_rod_says(modulus, slack):
    """A strip across the stream: the fitted share against the rod bent over in air."""
    up = {"direction": (0.0, 0.0, 1.0), "width_axis": (0.0, 1.0, 0.0)}
    part = strip_part(length=0.04, bending="beam", **up)
    part = replace(part, loads=replace(part.loads, normal_drag=1.2, skin_friction=0.0))
    case = case_of(part, density=1020.0)
    case = replace(case, material=replace(case.material, youngs_modulus=modulus))
    lure = assemble(case)
    strip, values = lure.strips[0], values_of(lure.strips[0])
    fitted = strip_in_air(strip_seen(strip, values, lure.water), 0.0, FLOW).drag_area[0]
    fluid = Water(FLOW.density, FLOW.viscosity)
    ready = prepare_rod(Specimen(strip, fluid, values, gravity=False, elements=40))
    rod = ready.resting_rod()
    rest = rest_branch(rod, np.array([FLOW.speed]), X, start=ready.still.angle)[0]
    drag = at_rest(rod, make_stream(FLOW.speed, X), rest.angle).load[0]
    assert fitted == pytest.approx(drag / FLOW.pressure, rel=slack)


def test_a_limp_strip_still_drags_on_its_faces_at_its_root():
    ribbon = strip_part(length=0.1, position=(0.05, 0.0, 0.0))
    soft = case_of(ribbon, density=1020.0)
    soft = replace(soft, material=replace(soft.material, youngs_modulus=1e3))
    strip = assemble(soft).strips[0]
    piece = strip_in_air(strip_seen(strip, values_of(strip), air(288.15)), 0.1, FLOW)
    assert piece.drag_area[0] == pytest.approx(0.1 * 2.0 * 0.1 * 0.01)
    assert piece.centre[0] == pytest.approx(0.05, abs=0.015)


def test_a_paddle_square_to_the_stream_drags_as_a_disc():
    disc = PaddleInput("disc", 0.02, 0.02, 0.003, math.pi / 2, 0.0)
    tail = strip_part(kind="paddle-tail", length=0.01, thickness=flat(0.004), paddle=disc)
    with_tail, without = in_air(tail, body=STICK), in_air(body=STICK)
    assert with_tail.end_on - without.end_on == pytest.approx(1.2 * math.pi / 4 * 0.02**2, rel=0.15)


def test_attitudes_combine_the_areas():
    lure = in_air(body=FLANK)
    side, top = lure.pieces[0].drag_area[1:]
    assert lure.broadside == max(side, top)
    assert lure.tumbling == pytest.approx(2.0 / 3.0 * 0.5 * (side + top) + lure.end_on / 3.0)
    assert lure.end_on < lure.tumbling < lure.broadside
    assert lure.drag_area("tumbling") == lure.tumbling


def test_weight_in_the_head_flies_head_first():
    lure = in_air(body=STICK, rig=weights(("nail", 0.012, 0.004)))
    attitude, why = flight_attitude(lure)
    assert attitude == "end-on"
    assert why.startswith("flies head first: mass")
    assert lure.margin > 0.05
    tail = in_air(body=STICK, rig=weights(("nail", 0.012, 0.116)))
    assert flight_attitude(tail)[1].startswith("flies tail first")
    assert tail.margin == pytest.approx(-lure.margin, rel=1e-6)


def test_an_even_bait_flies_broadside_and_a_light_head_tumbles():
    assert flight_attitude(in_air(body=STICK))[0] == "broadside"
    light = in_air(body=STICK, rig=weights(("nail", 0.003, 0.0)))
    attitude, why = flight_attitude(light)
    assert attitude == "tumbling"
    assert "only" in why


def test_a_mid_weight_that_is_a_little_ahead_tumbles():
    lure = Airborne(
        0.02, 1e-4, 1e-3, 7e-4, 0.03, 0.1, 0.0, 0.4, (AirPiece("body", np.ones(3), X[:2]),)
    )
    assert flight_attitude(lure) == (
        "tumbling",
        "tumbles: mass 3 % of the length ahead of the drag, too little to hold it straight",
    )


def test_a_shifted_drag_centre_moves_the_margin():
    moved = in_air(body=STICK, air_centre=0.03)
    assert moved.margin == pytest.approx(in_air(body=STICK).margin + 0.03)
