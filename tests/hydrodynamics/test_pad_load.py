"""Load on a paddle that bends: the stiff paddle's where it moves as one, none of its own beyond."""

from pathlib import Path

import numpy as np
import pytest

from simsoft.case.read import load
from simsoft.hydrodynamics.flexible_paddle import (
    pad_axes,
    pad_force,
    pad_motion,
    put_right,
    stiff_rate,
)
from simsoft.hydrodynamics.paddle import paddle_load, paddle_motion
from simsoft.lure.paddle_model import build_stem
from simsoft.lure.parts import Specimen, assemble, values_of
from simsoft.lure.rod_model import build_rod

CASES = Path(__file__).parents[2] / "cases"


@pytest.fixture(scope="module")
def both():
    case = load(CASES / "paddle_100.toml")
    lure = assemble(case)
    strip = lure.strips[0]
    values = values_of(strip)
    rod = build_rod(Specimen(strip, lure.water, values, gravity=True))
    return rod.paddle, build_stem(Specimen(strip, lure.water, values, gravity=True))


def wrench_of(model, force):
    place = model.local[:, :3]
    return np.concatenate([np.cross(place, force[:, :3]).sum(axis=0), force[:, :3].sum(axis=0)])


@pytest.mark.parametrize("wake", [(0.0, 0.0, 0.0), (0.3, -0.1, 0.4)])
@pytest.mark.parametrize("seed", range(3))
def test_a_plate_that_moves_as_one_meets_the_stiff_paddles_load(both, wake, seed):
    paddle, model = both
    wake = np.array(wake)
    random = np.random.default_rng(seed)
    twist = np.concatenate([20.0 * random.standard_normal(3), random.standard_normal(3)])
    expected, motion = np.zeros(6), np.zeros(6)
    paddle_motion(paddle, twist[3:], twist[:3], motion)
    paddle_load(paddle, motion, wake, expected)
    rate = stiff_rate(model.local, twist)
    force, found = np.zeros_like(model.local), np.zeros(6)
    # an acceleration that undoes the turning of the added momentum with the plate
    still = stiff_rate(model.local, np.zeros(6))
    pad_force(model.pad, model.local, rate, still, wake, force, found)
    np.testing.assert_allclose(found, motion, rtol=2e-3, atol=2e-3)
    normal = model.local[:, 3:]
    spin = np.cross(twist[:3], normal)
    lost = _inertia_of(model, (rate[:, :3] * spin).sum(axis=1))
    scale = np.abs(expected)
    np.testing.assert_allclose(
        wrench_of(model, force) - lost, expected, rtol=0.0, atol=0.01 * scale[3:].max()
    )


def _inertia_of(model, change):
    """Return the wrench of the added mass for rates of the nodes' normal velocity."""
    pad = model.pad
    at_panel = (pad.inset * change[pad.quads]).sum(axis=1)
    force = np.zeros_like(model.local)
    pull = -(pad.added @ at_panel)
    normal = model.local[0, 3:]
    for p, quad in enumerate(pad.quads):
        force[quad, :3] += pull[p] * pad.inset[p][:, None] * normal
    return wrench_of(model, force)


def test_what_the_plate_bends_beyond_has_no_resultant(both):
    _, model = both
    pad, state = model.pad, model.local
    stream = stiff_rate(state, np.array([0.0, 0.0, 0.0, 0.0, 0.0, -0.6]))
    bending = stream.copy()
    x, y = pad.lever.T
    cup = x**2 - y**2
    basis = np.column_stack([np.ones_like(x), x, y])
    cup -= (
        basis
        @ np.linalg.lstsq(pad.share[:, None] ** 0.5 * basis, pad.share**0.5 * cup, rcond=None)[0]
    )
    bending[:, :3] += 1e5 * cup[:, None] * state[:, 3:]
    forces = []
    for rate in (stream, bending):
        force, motion = np.zeros_like(state), np.zeros(6)
        pad_force(pad, state, rate, np.zeros_like(state), np.zeros(3), force, motion)
        forces.append(force)
    change = forces[1] - forces[0]
    assert float((change * (bending - stream)).sum()) < 0.0
    largest = np.abs(change).sum()
    assert np.abs(change[:, :3].sum(axis=0)).max() < 1e-9 * largest
    assert np.abs(wrench_of(model, change)).max() < 1e-9 * largest


def test_mean_axes_follow_a_turned_plate(both):
    _, model = both
    axes, motion = np.zeros((3, 3)), np.zeros(6)
    pad_axes(model.pad, model.local, axes)
    np.testing.assert_allclose(axes.T @ axes, np.eye(3), atol=1e-12)
    np.testing.assert_allclose(axes[:, 2], model.local[0, 3:])
    pad_motion(model.pad, model.local, stiff_rate(model.local, np.ones(6)), axes, motion)
    np.testing.assert_allclose(motion[3:], axes.T @ np.ones(3), rtol=1e-9)


def test_added_mass_as_a_whole_is_the_closed_form(both):
    paddle, model = both
    pad = model.pad
    lever = np.einsum("ea,eax->ex", pad.inset, pad.lever[pad.quads])
    modes = np.column_stack([np.ones(len(lever)), lever[:, 1], lever[:, 0]])
    wanted = np.diag([paddle.added_mass, *paddle.added_rotary])
    np.testing.assert_allclose(modes.T @ pad.added @ modes, wanted, atol=1e-12)
    assert np.linalg.eigvalsh(pad.added).min() > 0.0


def test_put_right_leaves_what_is_orthogonal_to_the_stiff_motions():
    random = np.random.default_rng(1)
    half = random.standard_normal((9, 9))
    added, stiff = half @ half.T, random.standard_normal((9, 3))
    wanted = np.diag([3.0, 2.0, 1.0])
    better = put_right(added, stiff, wanted)
    np.testing.assert_allclose(better, better.T)
    np.testing.assert_allclose(stiff.T @ better @ stiff, wanted, atol=1e-9)
    other = random.standard_normal(9)
    other -= stiff @ np.linalg.solve(stiff.T @ added @ stiff, stiff.T @ added @ other)
    assert other @ better @ other == pytest.approx(other @ added @ other)
