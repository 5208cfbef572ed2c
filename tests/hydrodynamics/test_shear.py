"""Added mass and reactive force of a section that moves through a sheared stream."""

import numpy as np
import pytest
from physics import Flight, bare_rod, moved, quaternions, rotation
from test_section_loads import Curve, by_time, rod_with, vector_force, wrench_of

from simsoft.bodies.rod.equilibrium import make_stream
from simsoft.hydrodynamics.section.motion import ROWS, section_states
from simsoft.hydrodynamics.section.reactive import section_reaction

N = 8
START = np.array([0.3, -0.4, 0.2])  # [rad], rotation vector of the first hinge
TURNING = np.array([1.3, -0.8, 0.6])  # [rad/s]


class Swing(Curve):
    """A straight rod that turns as a whole about its first hinge."""

    hinge = 0.125

    def frame(self, s, t):
        return rotation(START) @ rotation(TURNING * t)

    def place(self, s, t):
        return np.array([0.0, 0.0, self.hinge]) + (s - self.hinge) * self.frame(s, t)[:, 2]


@pytest.mark.parametrize("shear", [0.0, 2.0])
@pytest.mark.parametrize("node", [0, 2])
def test_reactive_force_in_shear_is_the_momentum_balance(shear, node):
    curve, added = Swing((1.4, 0.3, -0.5), shear), (1.0, 0.3, 0.05)
    s = 0.25 * (node + 1)
    rod = rod_with(added)._replace(frame=np.eye(3))
    angle, rate = np.zeros((4, 3)), np.zeros((4, 3))
    angle[0] = START
    rate[0] = TURNING
    stream = make_stream(np.linalg.norm(curve.stream), curve.direction, shear)
    work = moved(rod, quaternions(angle), rate, stream)
    rows = [np.zeros((4, 3)) for _ in range(3)]
    state = np.zeros((4, ROWS, 3))
    section_states(rod, stream, work.frame, work.node, work.spin, work.glide, *rows, state)

    def over_clamp(at, when):
        """Return the velocity whose rate stands in the mass matrix."""
        return curve.frame(at, when).T @ (by_time(curve.place, at, when) - curve.stream)

    carried = np.array([*added[:2], 0.0]) * by_time(over_clamp, s, 0.0)
    found = wrench_of(section_reaction, rod, node, state[node])
    expected = vector_force(curve, added, (0.0, 0.0), s, 0.0)
    assert (found[3:] - carried)[:2] == pytest.approx(expected[:2], abs=2e-8)


@pytest.mark.parametrize("shear", [0.0, 3.0])
def test_without_reactive_force_and_drag_a_sheared_stream_has_no_effect(shear):
    rod = bare_rod((20.0, 1.0, 0.8), (1.0, 0.02, 0.01), (1.0, 0.2, 0.02), elements=N, reactive=0.0)
    start = np.random.default_rng(4).normal(0.0, 0.3 / N, (N, 3))
    direction = np.array([0.6, 0.0, 0.8])
    still = Flight(rod, make_stream(0.0, direction), start).fly(2e-3, 300)
    moving = Flight(rod, make_stream(1.0, direction, shear), start).fly(2e-3, 300)
    assert moving == pytest.approx(still, abs=1e-9 * np.abs(still).max())
