"""Water's load on plates: lift of lifting surfaces, drag, stall, added mass, slopes."""

import math

import numpy as np
import pytest

from simsoft.hydrodynamics.plate.flow import flow_force, flow_tangents, make_flow
from simsoft.hydrodynamics.plate.panels import make_panels
from simsoft.hydrodynamics.plate.tangent import flow_slopes
from simsoft.validate.plate_checks import rectangle

DENSITY, SPEED = 1000.0, 2.0


def flow_of(length, width, along, across, **changes):
    plan, quads = rectangle(length, width, along, across)
    panels = make_panels(plan, quads)
    even = np.full((len(quads), 4), 0.25)
    options = {"drag": 0.0, "friction": 0.0, "stall": 0.0, "attached": True, "added_mass": True}
    state = np.zeros((len(plan), 6))
    state[:, :2], state[:, 5] = plan, 1.0
    pitch = length / along
    slope = np.tile([-0.5, 0.5, 0.5, -0.5], (len(quads), 1)) / pitch
    flow = make_flow(plan, quads, panels, (even, even, slope), DENSITY, **(options | changes))
    return flow, state


def force_at(flow, state, incidence, speed=SPEED):
    water = np.zeros((len(state), 3))
    water[:, 0], water[:, 2] = speed * math.cos(incidence), speed * math.sin(incidence)
    still, force = np.zeros_like(state), np.zeros_like(state)
    flow_force(flow, state, still, still, water, force)
    return force


def lift_slope(length, width, along, across):
    flow, state = flow_of(length, width, along, across)
    normal = force_at(flow, state, 0.01)[:, 2]
    pressure = 0.5 * DENSITY * SPEED**2 * length * width * 0.01
    centre = float((normal * state[:, 0]).sum() / normal.sum() / length)
    return normal.sum() / pressure, centre


def test_slender_wing_lifts_as_elongated_body_theory_says():
    # C_L = pi/2 AR a (Jones 1946, NACA Report 835)
    slope, centre = lift_slope(10.0, 1.0, 60, 6)
    assert slope == pytest.approx(0.5 * math.pi * 0.1, rel=0.05)
    assert centre < 0.1  # all of it where the span begins


def test_wings_as_wide_as_long_lift_as_lifting_surfaces_do():
    # lifting-surface theory: 1.46 for a square, 2.47 at an aspect ratio of 2 (from memory)
    assert lift_slope(1.0, 1.0, 12, 12)[0] == pytest.approx(1.46, rel=0.03)
    assert lift_slope(1.0, 2.0, 12, 20)[0] == pytest.approx(2.47, rel=0.03)
    assert 0.1 < lift_slope(1.0, 1.0, 12, 12)[1] < 0.3  # quarter chord, less for low aspect ratio


def test_force_by_incidence_follows_the_free_streamline_form():
    # C_N = C_N90 (4 + pi) sin a/(4 + pi sin a), the form used for paddles; nothing is fitted
    flow, state = flow_of(1.0, 1.0, 8, 8, drag=1.17, stall=math.sin(math.radians(35.0)))
    for degrees in (10, 20, 30, 45, 60, 90):
        incidence = math.radians(degrees)
        sine = math.sin(incidence)
        expected = 1.17 * (4.0 + math.pi) * sine / (4.0 + math.pi * sine)
        normal = force_at(flow, state, incidence)[:, 2].sum()
        assert normal / (0.5 * DENSITY * SPEED**2) == pytest.approx(expected, rel=0.2)


def test_centre_of_pressure_moves_upstream_as_the_plate_turns_edge_on():
    flow, state = flow_of(1.0, 1.0, 8, 8, drag=1.17, stall=math.sin(math.radians(35.0)))
    centres = []
    for degrees in (90, 60, 45, 30, 10):
        normal = force_at(flow, state, math.radians(degrees))[:, 2]
        centres.append(float((normal * state[:, 0]).sum() / normal.sum()))
    assert centres[0] == pytest.approx(0.5, abs=1e-6)
    assert np.all(np.diff(centres) < 0.0)


def test_drag_alone_is_square_in_the_normal_velocity():
    flow, state = flow_of(2.0, 1.0, 6, 4, drag=1.5, attached=False, added_mass=False)
    force = force_at(flow, state, math.radians(40.0)).sum(axis=0)
    expected = 0.5 * DENSITY * 1.5 * 2.0 * (SPEED * math.sin(math.radians(40.0))) ** 2
    assert force[2] == pytest.approx(expected)
    assert np.allclose(force[:2], 0.0)


def test_added_mass_resists_acceleration_across_and_not_along():
    flow, state = flow_of(1.0, 1.0, 12, 12, attached=False)
    zero = np.zeros_like(state)
    for axis, expected in ((2, 0.579 * math.pi / 4.0 * DENSITY), (0, 0.0)):
        speeding, force = zero.copy(), zero.copy()
        speeding[:, axis] = 1.0
        flow_force(flow, state, zero, speeding, np.zeros((len(state), 3)), force)
        assert -force[:, axis].sum() == pytest.approx(expected, rel=0.01)


def test_slopes_are_those_of_the_force():
    flow, state = flow_of(1.0, 0.7, 5, 4, drag=1.2, friction=0.01, stall=0.6)
    rng = np.random.default_rng(7)
    state = state + 0.02 * rng.standard_normal(state.shape)
    zero = np.zeros_like(state)
    water = np.tile([1.0, 0.1, 0.3], (len(state), 1))
    basis = rng.standard_normal((5, *state.shape))
    by_state, by_rate = flow_tangents(flow, state, zero, zero, water, basis, np.array([1e-6, 1e-6]))
    slope_state, slope_rate = flow_slopes(flow, state, zero, water)
    flat = basis.reshape(5, -1).T
    assert np.allclose(slope_state @ flat, by_state, atol=1e-6 * np.abs(by_state).max())
    # the stall's slope with the speed is left out
    gap = np.abs(slope_rate @ flat - by_rate).max()
    assert gap < 0.3 * np.abs(by_rate).max()
    firm = flow._replace(stall=0.0)
    _, by_rate = flow_tangents(firm, state, zero, zero, water, basis, np.array([1e-6, 1e-6]))
    assert np.allclose(
        flow_slopes(firm, state, zero, water)[1] @ flat, by_rate, atol=1e-6 * np.abs(by_rate).max()
    )
