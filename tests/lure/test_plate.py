"""The plate of a paddle tail against closed forms and sums over its area."""

import math
from dataclasses import replace

import numpy as np
import pytest
from physics import close, skew

from simsoft.case.model import LoadsInput, PaddleInput
from simsoft.geometry.paddle import (
    in_plane_mass,
    paddle_added_mass,
    paddle_arrays,
    plate_area,
    plate_axes,
    still_inertia,
)

DISC = PaddleInput("disc", 0.016, 0.016, 0.003, math.radians(70.0), 0.002)
BOOT = PaddleInput("boot", 0.014, 0.020, 0.002, math.radians(70.0), 0.004)
VALUES = {
    "paddle_normal_force": 1.17,
    "centre_of_pressure": 1.0,
    "rotary_damping": 0.5,
    "skin_friction": 0.01,
    "munk": 0.7,
    "rim_force": 4.0,
    "rim_rate": 0.165,
    "rim_damping": 0.36,
    "rim_inertia": 0.8,
    "force_growth": 0.7,
}


def built(paddle, loads=None, gravity=9.8):
    return paddle_arrays(paddle, loads or LoadsInput(), VALUES, 1100.0, 1000.0, gravity)


def summed(paddle, density, points=41):
    """Return the inertia (6, 6) about the tip node of the solid plate, cell by cell."""

    def cells(size, n):
        return (np.arange(n) + 0.5) / n * size - 0.5 * size

    axes = plate_axes(paddle.angle)
    centre = -paddle.offset * axes[:, 1] + 0.5 * paddle.thickness * axes[:, 2]
    across, up, through = np.meshgrid(
        cells(paddle.width, points),
        cells(paddle.height, points),
        cells(paddle.thickness, 15),
        indexing="ij",
    )
    inside = np.ones(across.shape, dtype=bool)
    if paddle.shape == "disc":
        inside = across**2 + up**2 <= (0.5 * paddle.width) ** 2
    local = np.column_stack([across[inside], up[inside], through[inside]])
    mass = density * plate_area(paddle) * paddle.thickness / len(local)
    result = np.zeros((6, 6))
    for place in local @ axes.T + centre:
        carry = np.hstack([-skew(place), np.eye(3)])
        result += mass * carry.T @ carry
    return result


@pytest.mark.parametrize("paddle", [DISC, BOOT], ids=["disc", "boot"])
def test_inertia_is_that_of_the_body_cell_by_cell(paddle):
    _, own, _ = built(paddle)
    expected = summed(paddle, 1100.0)
    assert own == pytest.approx(expected, rel=1e-2, abs=3e-3 * expected[0, 0])
    assert own[3, 3] == close(1100.0 * plate_area(paddle) * paddle.thickness)


def test_areas():
    assert plate_area(DISC) == close(math.pi * 0.008**2)
    assert plate_area(BOOT) == close(0.014 * 0.020)


def test_disc_carries_the_water_of_lamb():
    """8/3 rho a^3 and 16/45 rho a^5 of a thin one (Lamb, Hydrodynamics, art. 108)."""
    carried, turned = paddle_added_mass(replace(DISC, thickness=0.0), 1000.0)
    assert carried == close(8.0 / 3.0 * 1000.0 * 0.008**3)
    assert turned == close(16.0 / 45.0 * 1000.0 * 0.008**5)


def test_a_thick_disc_carries_more():
    """3 mm on 15 mm: normal 1.21, rotary 1.17, along 0.24 of the displaced (boundary elements)."""
    thick = replace(DISC, width=0.015, height=0.015, thickness=0.003)
    thin = replace(thick, thickness=0.0)
    carried = (paddle_added_mass(disc, 1000.0) for disc in (thick, thin))
    pairs = zip(*carried, (1.21, 1.17), strict=True)
    for found, thin, factor in pairs:
        assert found / thin == pytest.approx(factor, abs=5e-3)
    assert still_inertia(thick) == pytest.approx(0.24)


@pytest.mark.parametrize(("ratio", "share"), [(1.0, 0.579), (2.0, 0.757), (5.0, 0.897)])
def test_boot_carries_the_tabulated_share(ratio, share):
    """C_A rho (pi/4) a^2 b (DNV-RP-C205 appendix D, from memory); either way up."""
    tall = replace(BOOT, width=0.01, height=0.01 * ratio, thickness=0.0)
    wide = replace(BOOT, height=0.01, width=0.01 * ratio, thickness=0.0)
    expected = share * 1000.0 * math.pi / 4.0 * 0.01**2 * 0.01 * ratio
    assert paddle_added_mass(tall, 1000.0)[0] == close(expected)
    assert paddle_added_mass(wide, 1000.0)[0] == close(expected)


def test_added_inertia_acts_at_the_centre():
    arrays, _, fluid = built(DISC)
    carried, turned = paddle_added_mass(DISC, 1000.0)
    rng = np.random.default_rng(6)
    spin, velocity = rng.normal(size=3), rng.normal(size=3)
    twist = np.concatenate([spin, velocity])
    at_centre = velocity + np.cross(spin, arrays.centre)
    kick, upright, normal = arrays.axes.T
    along = in_plane_mass(DISC, VALUES, 1000.0)
    assert along == close(0.8 * 1000.0 * plate_area(DISC) * DISC.thickness)
    energy = carried * (at_centre @ normal) ** 2
    energy += along * ((at_centre @ kick) ** 2 + (at_centre @ upright) ** 2)
    energy += turned * ((spin @ kick) ** 2 + (spin @ upright) ** 2)
    assert twist @ fluid @ twist == close(energy)


def test_square_plate_faces_down_the_stem_and_a_swept_one_trails():
    assert plate_axes(0.5 * math.pi) == pytest.approx(np.eye(3), abs=1e-15)
    axes = plate_axes(math.radians(60.0))
    assert axes.T @ axes == close(np.eye(3))
    assert np.linalg.det(axes) == close(1.0)
    hanging = -axes[:, 1]
    assert hanging[2] == close(math.cos(math.radians(60.0)))


def test_centre_hangs_below_the_stem_and_half_a_thickness_behind():
    arrays, *_ = built(replace(DISC, angle=0.5 * math.pi))
    assert arrays.centre == pytest.approx([0.0, -0.002, 0.0015], abs=1e-15)


def test_coefficients_and_switches_reach_the_arrays():
    arrays, *_ = built(DISC)
    assert arrays.normal_force == close(1.17 * 500.0 * (1.0 - 0.7 * (3.0 / 16.0 - 0.07)))
    assert arrays.friction == close(0.01 * 500.0 * 2.0 * plate_area(DISC))
    assert arrays.half_density == 500.0
    assert arrays.rim_force == close(4.0 * (3.0 / 16.0) ** 0.7)
    assert arrays.force_growth == 0.7
    assert arrays.munk == 0.7
    quiet, *_ = built(DISC, LoadsInput(shedding=False))
    assert (quiet.rim_force, quiet.force_growth) == (0.0, 0.0)
    empty, _, fluid = built(DISC, LoadsInput(added_mass=False))
    assert empty.added_mass == 0.0
    assert np.all(fluid == 0.0)


def test_weight_is_less_buoyancy_and_goes_with_gravity():
    arrays, *_ = built(DISC)
    volume = plate_area(DISC) * 0.003
    assert arrays.weight == close([0.0, 0.0, -100.0 * volume * 9.8])
    assert np.all(built(DISC, gravity=0.0)[0].weight == 0.0)
