"""The plate: energy, tangents, patch tests, rigid motion, roll-up of a strip."""

import numpy as np
import pytest

from simsoft.mechanics.plate import (
    global_matrix,
    make_plate,
    mass_matrix,
    moulded_plate,
    nodal_volume,
    relaxed_plate,
    strains,
)
from simsoft.mechanics.plate_forces import internal_forces, tangent

NU = 0.3


def crooked():
    """Return nodes, quadrilaterals and thickness of a rectangle with crooked inner elements."""
    x, y = np.linspace(0.0, 1.2, 5), np.linspace(0.0, 0.8, 4)
    plan = np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1)
    move = np.random.default_rng(1).uniform(-0.06, 0.06, plan.shape)
    plan[1:-1, 1:-1] += move[1:-1, 1:-1]
    row = np.arange(4)[:, None] * 4 + np.arange(3)
    quads = np.stack([row, row + 4, row + 5, row + 1], axis=2).reshape(-1, 4)
    return plan.reshape(-1, 2), quads


def flat(plan):
    state = np.zeros((len(plan), 6))
    state[:, :2], state[:, 5] = plan, 1.0
    return state


def plate_of(thickness=0.05):
    plan, quads = crooked()
    return plan, make_plate(plan, quads, np.full(len(plan), thickness), NU)


def forces(plate, state):
    result = np.zeros_like(state)
    energy, _ = internal_forces(plate, state, np.zeros_like(state), 0.0, result)
    return energy, result


def disturbed(plan, size=0.05):
    return flat(plan) + size * np.random.default_rng(2).standard_normal((len(plan), 6))


def test_forces_are_the_slope_of_the_energy():
    plan, plate = plate_of()
    state, along = disturbed(plan), np.random.default_rng(3).standard_normal((len(plan), 6))
    h = 1e-6
    slope = (forces(plate, state + h * along)[0] - forces(plate, state - h * along)[0]) / (2 * h)
    assert (forces(plate, state)[1] * along).sum() == pytest.approx(slope, rel=1e-7)


def test_tangent_is_the_slope_of_the_forces():
    plan, plate = plate_of()
    state, along = disturbed(plan), np.random.default_rng(3).standard_normal((len(plan), 6))
    h = 1e-6
    slope = (forces(plate, state + h * along)[1] - forces(plate, state - h * along)[1]) / (2 * h)
    stiffness = global_matrix(plate, *tangent(plate, state, 1.0, 1.0))
    assert np.allclose(stiffness @ along.ravel(), slope.ravel(), atol=1e-7 * np.abs(slope).max())
    assert abs(stiffness - stiffness.T).max() < 1e-12 * abs(stiffness).max()


def test_damping_is_its_tangent_times_the_rate_and_its_power_is_lost():
    plan, plate = plate_of()
    state, rate = disturbed(plan), np.random.default_rng(3).standard_normal((len(plan), 6))
    held, moved = np.zeros_like(state), np.zeros_like(state)
    internal_forces(plate, state, np.zeros_like(state), 0.0, held)
    _, power = internal_forces(plate, state, rate, 0.1, moved)
    damping = global_matrix(plate, *tangent(plate, state, 0.1, 0.0))
    assert np.allclose((moved - held).ravel(), damping @ rate.ravel())
    assert power == pytest.approx(rate.ravel() @ damping @ rate.ravel())


def test_rigid_motion_costs_nothing():
    plan, plate = plate_of()
    state = flat(plan)
    angle = np.array([0.7, -1.1, 2.0])
    turn = np.linalg.qr(np.random.default_rng(5).standard_normal((3, 3)))[0]
    turn *= np.sign(np.linalg.det(turn))
    moved = np.hstack([state[:, :3] @ turn.T + angle, state[:, 3:] @ turn.T])
    energy, force = forces(plate, moved)
    assert energy < 1e-28
    assert np.abs(force).max() < 1e-14


@pytest.mark.parametrize(
    ("place", "director", "energy"),
    [
        # stretched along x: E h e^2/(2 (1 - nu^2)) per area
        (lambda x, y: (1e-6 * x, 0 * x, 0 * x), lambda x, y: (0 * x, 0 * x), (0, 1e-6)),
        # bent to constant curvature: D k^2/2 per area
        (lambda x, y: (0 * x, 0 * x, 5e-7 * x**2), lambda x, y: (-1e-6 * x, 0 * x), (1, 1e-6)),
        # twisted: D (1 - nu) k^2 per area
        (lambda x, y: (0 * x, 0 * x, 1e-6 * x * y), lambda x, y: (-1e-6 * y, -1e-6 * x), (2, 1e-6)),
    ],
    ids=["stretch", "bending", "twist"],
)
def test_patch(place, director, energy):
    plan, plate = plate_of()
    x, y = plan.T
    state = flat(plan)
    state[:, :3] += np.column_stack(place(x, y))
    state[:, 3:5] += np.column_stack(director(x, y))
    kind, size = energy
    h, area = 0.05, 1.2 * 0.8
    stiffness = [h, h**3 / 12.0, 2.0 * h**3 / 12.0 * (1.0 - NU)][kind] / (1.0 - NU**2)
    # a bilinear element holds a quadratic bend at its nodes only: the chord's shear is nothing
    found = forces(plate, state)[0]
    assert found == pytest.approx(0.5 * stiffness * size**2 * area, rel=1e-3)


def test_strip_rolls_up_to_a_full_circle_with_nothing_left():
    length, n = 1.0, 24
    x, y = np.linspace(0.0, length, n + 1), np.linspace(0.0, 0.1, 3)
    plan = np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1).reshape(-1, 2)
    row = np.arange(n)[:, None] * 3 + np.arange(2)
    quads = np.stack([row, row + 3, row + 4, row + 1], axis=2).reshape(-1, 4)
    plate = make_plate(plan, quads, np.full(len(plan), 0.01), 0.0)
    radius, angle = length / (2 * np.pi), 2 * np.pi * plan[:, 0] / length
    state = np.column_stack(
        [
            radius * np.sin(angle),
            plan[:, 1],
            radius * (1.0 - np.cos(angle)),
            -np.sin(angle),
            0.0 * angle,
            np.cos(angle),
        ]
    )
    bend = 0.5 * 0.01**3 / 12.0 / radius**2 * length * 0.1
    assert forces(plate, state)[0] == pytest.approx(bend, rel=0.05)
    assert forces(moulded_plate(plate, state), state)[0] < 1e-25


def test_relaxed_plate_keeps_its_forces_under_a_higher_modulus():
    plan, plate = plate_of()
    state = disturbed(plan, 0.01)
    plate = plate._replace(director=0.0 * plate.director)  # its stretch does not relax
    quick = relaxed_plate(plate, state, 0.5)
    assert np.allclose(2.0 * forces(quick, state)[1], forces(plate, state)[1])


def test_mass_and_volume_add_up():
    plan, plate = plate_of()
    volume = 1.2 * 0.8 * 0.05
    assert nodal_volume(plate, len(plan)).sum() == pytest.approx(volume)
    mass = mass_matrix(plate, len(plan), 1000.0)
    move = np.zeros((len(plan), 6))
    move[:, 2] = 1.0
    assert move.ravel() @ mass @ move.ravel() == pytest.approx(1000.0 * volume)


def test_flat_plate_has_no_strain():
    plan, plate = plate_of()
    found, side = strains(plate, flat(plan))
    assert np.allclose(found, plate.natural)
    assert np.allclose(side, 0.0)


def test_element_inside_out_is_refused():
    plan, quads = crooked()
    with pytest.raises(ValueError, match="turned inside out"):
        make_plate(plan, quads[:, ::-1], np.full(len(plan), 0.05), NU)
