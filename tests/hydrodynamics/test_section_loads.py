"""Section loads against plain vector algebra on a smooth, moving, bent and twisted curve."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from physics import bare_rod, moved, quaternions, rotation

from simsoft.bodies.rod.equilibrium import make_stream
from simsoft.hydrodynamics.section.dead import section_weight
from simsoft.hydrodynamics.section.motion import (
    CURVATURE,
    CURVATURE_RATE,
    GRADIENT,
    ROWS,
    SLOPE,
    SPIN,
    STREAM,
    VELOCITY,
    section_states,
)
from simsoft.hydrodynamics.section.reactive import section_reaction
from simsoft.hydrodynamics.section.resistive import drag_rate, section_drag

H = 1e-3  # step of the numerical derivatives along length and time, fourth-order formulas
component = st.floats(-3.0, 3.0, allow_nan=False)
vector = st.tuples(component, component, component)


def rod_with(added=(1.0, 0.2, 0.05), gain=(0.0, 0.0), reactive=1.0, drag=(2.0, 0.5, 0.1, 0.03)):
    rod = bare_rod((1.0, 1.0, 1.0), (1.0, 0.1, 0.1), added, elements=4, drag=drag)
    return rod._replace(added_gain=np.tile(gain, (4, 1)), reactive=reactive)


def wrench_of(load, rod, k, state):
    wrench = np.zeros(6)
    load(rod, k, np.ascontiguousarray(state), wrench)
    return wrench / rod.span[k]


# --- drag -----------------------------------------------------------------------------------


@settings(deadline=None)
@given(vector, component)
def test_drag_opposes_the_motion_by_the_independence_principle(velocity, roll):
    rod = rod_with()
    state = np.zeros((ROWS, 3))
    state[VELOCITY], state[SPIN] = velocity, (0.4, -0.2, roll)
    c1, c2, c3, c_roll = rod.drag[1]
    v = np.array(velocity)
    across = v * [1.0, 1.0, 0.0]
    force = -np.linalg.norm(across) * np.array([c1, c2, 0.0]) * across
    force -= c3 * np.linalg.norm(v) * v
    found = wrench_of(section_drag, rod, 1, state)
    assert found == pytest.approx([0.0, 0.0, -c_roll * abs(roll) * roll, *force], abs=1e-12)
    assert found[3:] @ v + found[2] * roll <= 0.0


@settings(deadline=None)
@given(vector)
def test_slope_of_drag_is_exact_along_each_axis(velocity):
    """For motion along a single axis the implicit slope is the true derivative 2 c |v|."""
    rod = rod_with()
    for axis in range(3):
        v = np.zeros(3)
        v[axis] = velocity[axis]
        slope = np.zeros(3)
        drag_rate(rod, 1, v, slope)
        friction = rod.drag[1, 2] if axis < 2 else 0.0
        expected = 2.0 * rod.span[1] * (rod.drag[1, axis] + friction) * abs(velocity[axis])
        assert slope[axis] == pytest.approx(expected)
        assert np.all(slope >= 0.0)


def test_tip_node_carries_half_a_span_of_drag():
    rod = rod_with()
    state = np.zeros((ROWS, 3))
    state[VELOCITY] = 1.0, 0.0, 0.0
    inner, tip = np.zeros(6), np.zeros(6)
    section_drag(rod, 1, state, inner)
    section_drag(rod, 3, state, tip)
    assert tip[3] == pytest.approx(0.5 * inner[3])


# --- reactive force --------------------------------------------------------------------------


class Curve:
    """A clamped inextensible curve that bends, twists and sweeps, given in closed form.

    The frame is a product of three turns with smooth angles of length and time; the place is
    its tangent integrated by Gauss-Legendre quadrature, so that derivatives are clean.
    """

    nodes, weights = np.polynomial.legendre.leggauss(24)

    def __init__(self, stream=(0.0, 0.0, 0.0), shear=0.0):
        self.stream, self.shear = np.array(stream), shear
        speed = np.linalg.norm(self.stream)
        self.direction = self.stream / speed if speed > 0.0 else np.array([1.0, 0.0, 0.0])

    def frame(self, s, t):
        a = 0.7 * s * math.sin(1.3 * t + 2.0 * s) + 0.3 * s
        b = 0.5 * s**2 * math.cos(1.7 * t - s) - 0.4 * s
        c = 0.6 * s * math.sin(0.9 * t + 0.5) + 0.8 * s**2
        return rotation([0, a, 0]) @ rotation([b, 0, 0]) @ rotation([0, 0, c])

    def place(self, s, t):
        points = 0.5 * s * (self.nodes + 1.0)
        tangents = np.array([self.frame(p, t)[:, 2] for p in points])
        return 0.5 * s * self.weights @ tangents

    def water(self, s, t):
        return self.stream + self.shear * self.place(s, t)[2] * self.direction

    def velocity(self, s, t):
        """Return the velocity relative to the water, world axes."""
        return by_time(self.place, s, t) - self.water(s, t)

    def spin(self, s, t):
        return axial(self.frame(s, t).T @ by_time(self.frame, s, t))

    def curvature(self, s, t):
        return axial(self.frame(s, t).T @ by_length(self.frame, s, t))

    def local(self, s, t):
        """Return the velocity relative to the water in the section frame."""
        return self.frame(s, t).T @ self.velocity(s, t)

    def state(self, s, t):
        turn = self.frame(s, t).T
        result = np.zeros((ROWS, 3))
        result[VELOCITY] = self.local(s, t)
        result[SPIN] = self.spin(s, t)
        result[CURVATURE] = self.curvature(s, t)
        result[CURVATURE_RATE] = by_time(self.curvature, s, t)
        result[STREAM] = turn @ self.water(s, t)
        result[GRADIENT] = self.shear * self.frame(s, t)[2, 2] * (turn @ self.direction)
        result[SLOPE] = by_length(self.curvature, s, t)
        return result


def stencil(function):
    """Return the derivative at zero of a function of one number, fourth order."""
    return (8.0 * (function(H) - function(-H)) - function(2.0 * H) + function(-2.0 * H)) / (
        12.0 * H
    )


def by_length(function, s, t):
    return stencil(lambda h: function(s + h, t))


def by_time(function, s, t):
    return stencil(lambda h: function(s, t + h))


def axial(matrix):
    return np.array([matrix[2, 1], matrix[0, 2], matrix[1, 0]])


def vector_force(curve, added, gain, s, t):
    """Return -dp/dt + d(V3 p)/ds - d(T a3)/ds, section frame, from numerical derivatives."""

    def masses(at):
        return np.array([added[0] + gain[0] * (at - s), added[1] + gain[1] * (at - s), 0.0])

    def momentum(at, when):
        return curve.frame(at, when) @ (masses(at) * curve.local(at, when))

    def carried(at, when):
        return curve.local(at, when)[2] * momentum(at, when)

    def pressed(at, when):
        energy = 0.5 * np.sum(masses(at) * curve.local(at, when) ** 2)
        return energy * curve.frame(at, when)[:, 2]

    force = -by_time(momentum, s, t) + by_length(carried, s, t) - by_length(pressed, s, t)
    return curve.frame(s, t).T @ force


@pytest.mark.parametrize("stream", [(0.0, 0.0, 0.0), (1.4, 0.3, -0.5)])
@pytest.mark.parametrize("gain", [(0.0, 0.0), (0.7, 0.3)])
@pytest.mark.parametrize(("s", "t"), [(0.35, 0.2), (0.8, 1.1)])
def test_reactive_force_is_the_momentum_balance_of_the_water(stream, gain, s, t):
    curve, added = Curve(stream), (1.0, 0.3, 0.05)
    expected = vector_force(curve, added, gain, s, t)
    in_mass_matrix = np.array([*added[:2], 0.0]) * by_time(curve.local, s, t)
    found = wrench_of(section_reaction, rod_with(added, gain), 1, curve.state(s, t))
    assert (found[3:] - in_mass_matrix)[:2] == pytest.approx(expected[:2], abs=2e-8)
    assert found[5] == 0.0


def test_tangential_part_of_the_reactive_force_vanishes_for_a_uniform_strip():
    """With m2 = 0 and no twist; the reason why the kernel leaves the axis out."""
    curve = Curve((1.2, 0.0, 0.4))
    curve.frame = lambda s, t: rotation([0, 0.7 * s * math.sin(1.3 * t + 2.0 * s), 0])
    assert abs(vector_force(curve, (1.0, 0.0), (0.0, 0.0), 0.6, 0.4)[2]) < 1e-8


@pytest.mark.parametrize(("s", "t"), [(0.35, 0.2), (0.8, 1.1)])
def test_roll_moment_is_that_of_the_sliding_slice(s, t):
    """Potential-flow moment plus -m_r dW/dt + m_r d(V3 W)/ds, V3 held in dW/dt."""
    curve, added = Curve((0.9, -0.2, 0.3)), (1.0, 0.3, 0.07)

    def turning(at, when):
        return curve.spin(at, when)[2] - curve.local(at, when)[2] * curve.curvature(at, when)[2]

    def carried(at, when):
        return curve.local(at, when)[2] * turning(at, when)

    v = curve.local(s, t)
    spin_rate = by_time(curve.spin, s, t)[2]
    held = spin_rate - v[2] * by_time(curve.curvature, s, t)[2]
    expected = (added[0] - added[1]) * v[0] * v[1]
    expected += added[2] * (-held + by_length(carried, s, t) + spin_rate)
    found = wrench_of(section_reaction, rod_with(added), 1, curve.state(s, t))
    assert found[2] == pytest.approx(expected, abs=2e-8)
    assert found[:2] == pytest.approx([0.0, 0.0], abs=0.0)


def test_still_and_reactive_agree_where_nothing_is_convected():
    """A straight strip that turns about its clamp in still water, at its clamp: no V3."""
    state = np.zeros((ROWS, 3))
    state[VELOCITY], state[SPIN] = (0.3, 0.2, 0.0), (0.0, 0.0, 0.8)
    with_force = wrench_of(section_reaction, rod_with(reactive=1.0), 1, state)
    without = wrench_of(section_reaction, rod_with(reactive=0.0), 1, state)
    assert with_force == pytest.approx(without, abs=1e-15)


# --- states and dead loads -------------------------------------------------------------------


@pytest.mark.parametrize("shear", [0.0, 3.0])
def test_states_of_the_chain_hold_what_the_nodes_do(shear):
    rng = np.random.default_rng(8)
    rod = rod_with()._replace(root=np.array([0.0, 0.1, 0.4]))
    angle, rate = rng.normal(0.0, 0.3, (4, 3)), rng.normal(0.0, 1.0, (4, 3))
    stream = make_stream(0.9, np.array([0.6, 0.8, 0.0]), shear)
    work = moved(rod, quaternions(angle), rate, stream)
    rows = [rng.normal(size=(4, 3)) for _ in range(3)]
    state = np.zeros((4, ROWS, 3))
    section_states(rod, stream, work.frame, work.node, work.spin, work.glide, *rows, state)
    calm = moved(rod, quaternions(angle), rate)
    for k in range(4):
        turn = work.frame[k].T
        water = (0.9 + shear * work.node[k, 2]) * stream.direction
        reach = np.array([0.0, 0.0, 0.5 * rod.length[k]])
        over_ground = calm.glide[k] + np.cross(calm.spin[k], reach)
        assert state[k, VELOCITY] == pytest.approx(over_ground - turn @ water, abs=1e-12)
        assert state[k, STREAM] == pytest.approx(turn @ water, abs=1e-12)
        growth = shear * work.frame[k][2, 2] * (turn @ stream.direction)
        assert state[k, GRADIENT] == pytest.approx(growth, abs=1e-12)
        assert state[k, SPIN] == pytest.approx(work.spin[k])
        for row, kind in zip(rows, (CURVATURE, CURVATURE_RATE, SLOPE), strict=True):
            assert np.array_equal(state[k, kind], row[k])


@settings(deadline=None, max_examples=30)
@given(vector)
def test_dead_loads_keep_their_direction_and_the_follower_turns(turn):
    rod = rod_with()
    weight, moment, follower = np.array([0.1, -0.2, -0.7]), np.array([0.3, 0.0, 0.2]), np.ones(3)
    plate = rod.paddle._replace(centre=np.array([0.1, 0.2, 0.3]), weight=np.array([0, 0, -0.4]))
    rod = rod._replace(
        weight=np.tile(weight, (4, 1)), tip_moment=moment, follower=follower, paddle=plate
    )
    frame = rotation(turn)
    inner, tip = np.zeros(6), np.zeros(6)
    section_weight(rod, 1, frame, inner)
    section_weight(rod, 3, frame, tip)
    assert frame @ inner[3:] == pytest.approx(weight, abs=1e-12)
    assert np.all(inner[:3] == 0.0)
    assert frame @ (tip[3:] - follower) == pytest.approx(weight + plate.weight, abs=1e-12)
    torque = moment + np.cross(frame @ plate.centre, plate.weight)
    assert frame @ tip[:3] == pytest.approx(torque, abs=1e-12)
