"""Hook wire and weights against bars, rings and spheres."""

import math

import numpy as np
import pytest
from physics import close, skew

from simsoft.geometry.hook import (
    point_inertia,
    sphere_inertia,
    sphere_radius,
    wire_added_mass,
    wire_along,
    wire_areas,
    wire_centre,
    wire_inertia,
    wire_volume,
)

DIAMETER = 0.001
BAR = wire_along([[0.01, 0.0, 0.0], [0.05, 0.0, 0.0]], DIAMETER)


def ring(radius, pieces=400):
    turn = np.linspace(0.0, 2.0 * math.pi, pieces + 1)
    path = radius * np.column_stack([np.cos(turn), np.sin(turn), 0.0 * turn])
    return wire_along(path, DIAMETER)


def test_a_straight_bar_is_a_cylinder():
    length, r = 0.04, 0.5 * DIAMETER
    volume = math.pi * r * r * length
    assert wire_volume(BAR) == pytest.approx(volume)
    centre = wire_centre(BAR)
    assert centre == pytest.approx([0.03, 0.0, 0.0])
    across = r * r / 4.0 + length**2 / 12.0
    expected = volume * np.diag([r * r / 2.0, across, across])
    assert wire_inertia(BAR, centre) == close(expected, rel=1e-12)


def test_cutting_a_bar_changes_nothing():
    pieces = np.linspace([0.01, 0.0, 0.0], [0.05, 0.0, 0.0], 7)
    cut = wire_along(pieces, DIAMETER)
    point = np.array([0.01, 0.02, -0.03])
    assert wire_volume(cut) == pytest.approx(wire_volume(BAR))
    assert wire_inertia(cut, point) == close(wire_inertia(BAR, point), rel=1e-12)
    whole, parts = (wire_added_mass(wire, 1000.0, point) for wire in (BAR, cut))
    assert parts[3:, 3:] == close(whole[3:, 3:], rel=1e-12)
    assert parts[3:, :3] == close(whole[3:, :3], rel=1e-12)


def test_a_ring_of_wire():
    """m R^2 about the axis and m R^2/2 about a diameter; the wire's own is left at d^2/8."""
    wire = ring(0.02)
    volume = wire_volume(wire)
    assert volume == pytest.approx(math.pi / 4 * DIAMETER**2 * math.pi * 0.04, rel=1e-4)
    assert wire_centre(wire) == pytest.approx(np.zeros(3), abs=1e-12)
    half, own = 0.5 * 0.02**2, DIAMETER**2 / 16.0
    expected = volume * np.diag([half + 1.5 * own, half + 1.5 * own, 2.0 * half + own])
    assert wire_inertia(wire, np.zeros(3)) == close(expected, rel=2e-4)


def test_added_mass_of_a_bar_and_its_energy():
    line = math.pi / 4 * DIAMETER**2 * 1000.0
    about_middle = wire_added_mass(BAR, 1000.0, wire_centre(BAR))
    assert about_middle[3:, 3:] == close(line * 0.04 * np.diag([0.0, 1.0, 1.0]), rel=1e-12)
    point = np.array([0.02, 0.03, -0.01])
    wire = ring(0.02, 12)
    motion = np.array([1.0, -2.0, 0.5, 0.1, 0.3, -0.2])
    velocity = motion[3:] + (wire.middle - point) @ skew(motion[:3]).T
    normal = velocity - np.sum(velocity * wire.tangent, axis=1)[:, None] * wire.tangent
    energy = line * float(wire.length @ np.sum(normal**2, axis=1))
    matrix = wire_added_mass(wire, 1000.0, point)
    assert motion @ matrix @ motion == pytest.approx(energy)
    assert np.allclose(matrix, matrix.T)


def test_areas_of_a_bar_seen_along_the_axes():
    assert wire_areas(BAR) == pytest.approx([0.0, 0.04 * DIAMETER, 0.04 * DIAMETER])


def test_a_sphere():
    volume = 4.0 / 3.0 * math.pi * 0.005**3
    assert sphere_radius(volume) == pytest.approx(0.005)
    assert sphere_inertia(volume) == close(0.4 * volume * 0.005**2 * np.eye(3), rel=1e-12)
    assert point_inertia(np.array([3.0, 0.0, 4.0])) == close(
        np.array([[16.0, 0.0, -12.0], [0.0, 25.0, 0.0], [-12.0, 0.0, 9.0]])
    )
