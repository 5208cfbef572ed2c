"""Bare rods and independent references that the physics tests share.

The rods here are written down from section properties, without the case, shape and lure
rooms, so that the kernels are tested on inputs anyone can check by hand.
"""

import math

import numpy as np
import pytest

from simsoft.bodies.rod.equilibrium import make_stream
from simsoft.bodies.rod.forces import make_work
from simsoft.bodies.rod.stepper import ENERGY_TERMS, advance
from simsoft.case.model import Case, LoadsInput, MaterialInput, Part, Scenario, Taper, WaterInput
from simsoft.hydrodynamics.rim import RIM_STATES
from simsoft.mechanics.kinematics import held_twist, move, place
from simsoft.mechanics.rod import Rod, no_paddle
from simsoft.mechanics.rotation import quaternion_from_vector, vector_from_quaternion

X = np.array([1.0, 0.0, 0.0])
# Clamp frame of a strip that trails along x and is soft toward y: columns are axes 1, 2, 3.
DOWNSTREAM = np.array([[0.0, 0.0, 1.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0]])
# The same strip lying flat: soft toward z.
FLAT = np.array([[0.0, 0.0, 1.0], [0.0, -1.0, 0.0], [1.0, 0.0, 0.0]])
STILL = make_stream(0.0, X)


def close(expected, rel=1e-6):
    """Return what compares equal within ``rel`` of the largest expected entry.

    Plain ``pytest.approx`` lets 1e-12 pass whatever the size, which is more than many second
    moments and inertias of a lure part have.
    """
    return pytest.approx(expected, rel=rel, abs=1e-3 * rel * float(np.abs(expected).max()))


def skew(vector):
    """Return the matrix (3, 3) of a cross product from the left."""
    x, y, z = vector
    return np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])


def rotation(vector):
    """Return the rotation matrix of a rotation vector by Rodrigues' formula."""
    angle = np.linalg.norm(vector)
    if angle == 0.0:
        return np.eye(3)
    k = skew(np.asarray(vector) / angle)
    return np.eye(3) + math.sin(angle) * k + (1.0 - math.cos(angle)) * (k @ k)


def about_hinge(inertia, reach):
    """Return an inertia (6, 6) about a point ``reach`` before the one it is given about."""
    carry = np.eye(6)
    carry[3, 1], carry[4, 0] = reach, -reach
    return carry.T @ inertia @ carry


def bare_rod(
    stiffness,
    line_inertia,
    added,
    *,
    length=1.0,
    elements=20,
    drag=(0.0, 0.0, 0.0, 0.0),
    damping_time=0.0,
    reactive=1.0,
    frame=DOWNSTREAM,
):
    """Return a uniform rod.

    ``stiffness`` (EI about 1, EI about 2, GJ), ``line_inertia`` (mass per length, rotary inertia
    per length about 1 and 2), ``added`` (along 1, along 2, roll) per length.
    """
    n = elements
    step = np.full(n, length / n)
    span = step.copy()
    span[-1] *= 0.5
    mass, about_1, about_2 = line_inertia
    link = np.full(n, (length / n) ** 2 / 12.0)
    link[-1] = 0.0
    solid = [
        np.diag([about_1 + mass * s, about_2 + mass * s, about_1 + about_2, mass, mass, mass])
        for s in link
    ]
    water = [np.diag([added[1] * s, added[0] * s, added[2], added[0], added[1], 0.0]) for s in link]
    return Rod(
        length=step,
        span=span,
        stiffness=np.tile(np.asarray(stiffness, dtype=float), (n, 1)) * (n / length),
        natural=np.zeros((n, 3)),
        kelvin_voigt=float(damping_time),
        structure=np.array(
            [about_hinge(m * s, 0.5 * length / n) for m, s in zip(solid, span, strict=True)]
        ),
        fluid=np.array(
            [about_hinge(m * s, 0.5 * length / n) for m, s in zip(water, span, strict=True)]
        ),
        added=np.tile(np.asarray(added, dtype=float), (n, 1)),
        added_gain=np.zeros((n, 2)),
        reactive=float(reactive),
        drag=np.tile(np.asarray(drag, dtype=float), (n, 1)),
        weight=np.zeros((n, 3)),
        root_drag=np.zeros(3),
        root_weight=np.zeros(3),
        follower=np.zeros(3),
        tip_moment=np.zeros(3),
        frame=np.array(frame, dtype=float),
        root=np.zeros(3),
        paddle=no_paddle(),
    )


def ribbon(beta, elements, *, span=0.1, normal_drag=0.0, damping_time=0.0, **more):
    """Return a thin ribbon with L = EI = Ma = 1 and mass ratio beta = Ma/(Ma + m).

    ``span`` is b/L. Speed is then u = U L sqrt(Ma/EI) and time counts in sqrt(Ma L^4/EI).
    The stiff bending and twisting are those of a thickness of b/50, far above the soft one.
    """
    mass = 1.0 / beta - 1.0
    thickness = span / 50.0
    density = 4.0 / (math.pi * span**2)
    return bare_rod(
        (2500.0, 1.0, 4.0 / (2.0 * 1.49)),
        (mass, mass * span**2 / 12.0, mass * thickness**2 / 12.0),
        (1.0, 1.0 / 2500.0, span**2 / 32.0),
        elements=elements,
        drag=(0.5 * density * normal_drag * span, 0.0, 0.0, 0.0),
        damping_time=damping_time,
        **more,
    )


def elastica(elements, frame=DOWNSTREAM):
    """Return a weightless rod with L = EI = 1 about axis 2 and no water around it."""
    return bare_rod((400.0, 1.0, 1.0), (1.0, 1e-9, 1e-9), (0.0, 0.0, 0.0), elements=elements,
                    frame=frame)  # fmt: skip


def quaternions(angle):
    """Return unit quaternions (N, 4) of rotation vectors (N, 3)."""
    result = np.zeros((len(angle), 4))
    for k, vector in enumerate(np.ascontiguousarray(angle, dtype=float)):
        quaternion_from_vector(vector, result[k])
    return result


def vectors(quaternion):
    """Return rotation vectors (N, 3) of unit quaternions (N, 4)."""
    result = np.zeros((len(quaternion), 3))
    for k in range(len(quaternion)):
        vector_from_quaternion(quaternion[k], result[k])
    return result


def placed(rod, angle):
    """Return node positions (N, 3) and world frames (N, 3, 3) at hinge angles (N, 3)."""
    work = make_work(len(angle))
    place(rod, quaternions(angle), work.relative, work.frame, work.hinge, work.node)
    return work.node, work.frame


def moved(rod, quaternion, rate, stream=STILL):
    """Return the scratch arrays with positions and velocities filled in."""
    work = make_work(len(rate))
    place(rod, quaternion, work.relative, work.frame, work.hinge, work.node)
    held_twist(rod, stream, work.spare)
    move(rod, work.relative, np.ascontiguousarray(rate), work.spare, work.spin, work.glide)
    return work


def observed_order(sizes, errors):
    """Return the slope of log error against log size by least squares."""
    return float(np.polyfit(np.log(sizes), np.log(np.abs(errors)), 1)[0])


class Flight:
    """A rod in motion, advanced by the compiled kernel and looked at between steps."""

    def __init__(self, rod, stream, angle, rate=None, shed=False):
        n = len(angle)
        self.rod, self.stream, self.shed = rod, stream, shed
        self.quaternion = quaternions(angle)
        self.motion = np.zeros((4, n, 6))
        if rate is not None:
            self.motion[0, :, :3] = rate
        self.wake = np.zeros(RIM_STATES)
        self.energy = np.zeros((2, ENERGY_TERMS))

    def fly(self, step, steps, stride=1):
        """Advance; return the history rows (steps // stride, 13)."""
        rows = steps // stride
        history = np.zeros((rows, 13))
        shapes = np.zeros((rows, len(self.quaternion), 6))
        done = advance(
            self.rod, self.stream, step, steps, stride, self.shed, self.quaternion,
            self.motion, self.wake, self.energy, history, shapes,
        )  # fmt: skip
        assert done == steps
        return history

    def state(self):
        """Return scratch arrays of the present position and motion."""
        return moved(self.rod, self.quaternion, self.motion[0, :, :3], self.stream)

    def total_energy(self):
        """Return kinetic (solid and water) plus stored energy, plus that of the weight."""
        work = self.state()
        twist = np.hstack([work.spin, work.glide])
        inertia = self.rod.structure + self.rod.fluid
        kinetic = 0.5 * np.einsum("ki,kij,kj", twist, inertia, twist)
        strain = vectors(self.quaternion) - self.rod.natural
        return (
            kinetic
            + 0.5 * np.sum(self.rod.stiffness * strain**2)
            - np.sum(self.rod.weight * work.node)
        )


def strip_part(**changes):
    """Return a part: a strip of 50 x 10 x 1 mm by strip theory, fields replaced at will."""
    fields = {
        "name": "strip",
        "kind": "strip",
        "length": 0.05,
        "width": Taper((0.0, 1.0), (0.01, 0.01)),
        "thickness": Taper((0.0, 1.0), (0.001, 0.001)),
        "bending": "beam",
        "loads": LoadsInput(finite_span=False),
    }
    return Part(**(fields | changes))


def case_of(*parts, modulus=300e3, density=1080.0, water_density=1000.0, **material):
    """Return a case of parts in water of a given density, damping off."""
    stated = {"poisson_ratio": 0.49, "loss_factor": 0.0} | material
    return Case(
        title="bench",
        water=WaterInput(density=water_density, viscosity=1e-3),
        material=MaterialInput(youngs_modulus=modulus, density=density, **stated),
        parts=tuple(parts),
        scenarios=(Scenario("stream", "retrieve", (0.5,)),),
    )
