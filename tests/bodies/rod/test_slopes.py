"""Tangents put together from slopes of single links against differences of the whole residual."""

from pathlib import Path

import numpy as np
import pytest
from physics import X

from simsoft.bodies.rod.equilibrium import make_stream
from simsoft.bodies.rod.forces import make_work
from simsoft.bodies.rod.setup import prepare_rod
from simsoft.bodies.rod.tangents import residual, tangents, turned_by, whole_stiffness
from simsoft.case.read import load
from simsoft.lure.parts import Specimen, assemble, values_of

CASES = Path(__file__).parents[3] / "cases"
N = 10
STEP = 1e-6


def bent_demo(name, speed, shear, **changes):
    """Return rod, stream and angles of a demo part bent at random in space, off equilibrium."""
    lure = assemble(load(CASES / f"{name}.toml"))
    strip = lure.strips[0]
    ready = prepare_rod(Specimen(strip, lure.water, values_of(strip), gravity=True, elements=N))
    stream = make_stream(speed, X, shear)
    rod = ready.moving_rod(ready.still.angle, stream, 5.0)._replace(
        follower=np.array([1e-3, -2e-3, 3e-3]), tip_moment=np.array([1e-5, 2e-5, -1e-5]), **changes
    )
    angle = ready.still.angle + np.random.default_rng(0).normal(0.0, 0.1, (N, 3))
    return rod, stream, angle


def differences(rod, stream, angle):
    """Return mass, damping and stiffness matrices (3 N, 3 N) by central differences."""
    work, still = make_work(N), np.zeros((N, 3))

    def missing(*state):
        result = np.zeros((N, 3))
        residual(rod, stream, *state, work, result)
        return result.ravel()

    def column(state, size):
        return (missing(*state(size)) - missing(*state(-size))) / (2.0 * size)

    mass, damping, stiffness = [], [], []
    for unit in np.eye(3 * N).reshape(3 * N, N, 3):
        mass.append(column(lambda s, u=unit: (angle, still, s * u), 1.0))
        damping.append(column(lambda s, u=unit: (angle, s * u, still), STEP))
        stiffness.append(column(lambda s, u=unit: (turned_by(angle, s * u), still, still), STEP))
    return [np.array(rows).T for rows in (mass, damping, stiffness)]


@pytest.mark.parametrize(
    ("name", "speed", "shear", "changes"),
    [
        ("curl_grub_75", 0.35, 0.0, {}),
        ("curl_grub_75", 0.35, 0.7, {}),
        ("paddle_100", 0.6, 0.0, {}),
        ("claw_95", 0.0, 0.0, {}),
        ("claw_95", 0.4, 0.5, {"reactive": 0.0}),
    ],
)
def test_tangents_are_the_differences_of_the_residual(name, speed, shear, changes):
    rod, stream, angle = bent_demo(name, speed, shear, **changes)
    expected = differences(rod, stream, angle)
    found = tangents(rod, stream, angle, np.eye(3 * N))
    for matrix, truth in zip(found, expected, strict=True):
        assert matrix == pytest.approx(truth, abs=1e-7 * np.abs(truth).max())
    static = whole_stiffness(rod, stream, angle)
    assert static == pytest.approx(found[2], abs=1e-10 * np.abs(static).max())


def test_a_basis_projects_the_tangents():
    rod, stream, angle = bent_demo("curl_grub_75", 0.35, 0.0)
    basis = np.random.default_rng(1).normal(0.0, 1.0, (3 * N, 5))
    whole = tangents(rod, stream, angle, np.eye(3 * N))
    for matrix, full in zip(tangents(rod, stream, angle, basis), whole, strict=True):
        truth = basis.T @ full @ basis
        assert matrix == pytest.approx(truth, abs=1e-9 * np.abs(truth).max())


def test_drag_adds_no_friction_to_an_aligned_part():
    """Quadratic drag has no slope where nothing moves across: ten times the drag, same tangents."""
    lure = assemble(load(CASES / "ribbon_150.toml"))
    strip = lure.strips[0]
    ready = prepare_rod(Specimen(strip, lure.water, values_of(strip), gravity=False, elements=40))
    stream = make_stream(0.3, X)
    rod = ready.moving_rod(ready.still.angle, stream, 5.0)
    more = rod._replace(drag=rod.drag * np.array([10.0, 1.0, 1.0, 1.0]))
    basis = np.eye(120)
    for a, b in zip(
        tangents(rod, stream, ready.still.angle, basis),
        tangents(more, stream, ready.still.angle, basis),
        strict=True,
    ):
        assert b == pytest.approx(a, abs=1e-5 * np.abs(a).max())
