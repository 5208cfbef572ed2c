"""The plate of a paddle tail: inertia, added mass and load arrays in the tip frame."""

from __future__ import annotations

import math

import numpy as np

from simsoft.case.model import LoadsInput, PaddleInput
from simsoft.core.arrays import Array
from simsoft.mechanics.inertia import inertia_from_point
from simsoft.mechanics.rod import Paddle

# C_A of m = C_A rho (pi/4) a^2 b for a rectangle a <= b moving square on (DNV-RP-C205
# appendix D, from memory; reproduced by doublet panels to three digits, check B01).
RECTANGLE_RATIO = (1.0, 1.25, 1.59, 2.0, 2.5, 3.17, 4.0, 5.0, 6.25, 8.0, 10.0)
RECTANGLE_ADDED = (0.579, 0.642, 0.704, 0.757, 0.801, 0.840, 0.872, 0.897, 0.917, 0.934, 0.947)


def plate_area(paddle: PaddleInput) -> float:
    """Return the area [m^2] of a disc or a boot (rectangle)."""
    area = paddle.width * paddle.height
    return 0.25 * math.pi * area if paddle.shape == "disc" else area


def added_mass(paddle: PaddleInput, density: float) -> tuple[float, float]:
    """Return the added mass [kg] along the normal and in turning [kg m^2] about a diameter.

    Disc 8/3 rho a^3 and 16/45 rho a^5 (Lamb, Hydrodynamics, art. 108); a boot takes the
    rectangle table and turns like the disc of equal area (approximation).
    """
    radius = math.sqrt(plate_area(paddle) / math.pi)
    rotary = 16.0 / 45.0 * density * radius**5
    if paddle.shape == "disc":
        return 8.0 / 3.0 * density * radius**3, rotary
    short, long = sorted((paddle.width, paddle.height))
    factor = float(np.interp(long / short, RECTANGLE_RATIO, RECTANGLE_ADDED))
    return factor * density * 0.25 * math.pi * short**2 * long, rotary


def plate_axes(angle: float) -> Array:
    """Return the kick, upright and normal axes as columns in the tip frame.

    ``angle`` [rad] is measured between the stem's axis and the plate's hanging direction;
    pi/2 sets the plate square to the stem, less sweeps its hanging edge downstream.
    """
    s, c = math.sin(angle), math.cos(angle)
    return np.column_stack([[1.0, 0.0, 0.0], [0.0, s, -c], [0.0, c, s]])


def paddle_arrays(
    paddle: PaddleInput,
    loads: LoadsInput,
    values: dict[str, float],
    solid_density: float,
    water_density: float,
    gravity: float,
) -> tuple[Paddle, Array, Array]:
    """Return kernel arrays, structural and added inertia (6, 6) about the tip node.

    Inertias are in the tip frame, rotation first. The plate's centre hangs ``offset`` below
    the stem's axis and half its thickness behind the stem's end.
    """
    axes = plate_axes(paddle.angle)
    centre = -paddle.offset * axes[:, 1] + 0.5 * paddle.thickness * axes[:, 2]
    area = plate_area(paddle)
    volume = area * paddle.thickness
    mass = solid_density * volume
    sixteenth = 1.0 / 16.0 if paddle.shape == "disc" else 1.0 / 12.0
    about_kick = mass * (sixteenth * paddle.height**2 + paddle.thickness**2 / 12.0)
    about_upright = mass * (sixteenth * paddle.width**2 + paddle.thickness**2 / 12.0)
    about_normal = mass * sixteenth * (paddle.height**2 + paddle.width**2)
    carried, turned = added_mass(paddle, water_density if loads.added_mass else 0.0)
    shedding = loads.shedding is not False
    half = 0.5 * water_density
    arrays = Paddle(
        centre=centre,
        axes=axes,
        area=area,
        width=paddle.width,
        added_mass=carried,
        added_rotary=np.array([turned, turned]),
        normal_force=values["paddle_normal_force"] * half,
        centre_of_pressure=values["centre_of_pressure"],
        rotary_damping=values["rotary_damping"],
        friction=values["skin_friction"] * half * 2.0 * area,
        munk=values["munk"],
        steady_turning=np.zeros(2),
        strouhal=values["strouhal"],
        wake_growth=values["wake_growth"],
        wake_moment=values["wake_moment"] if shedding else 0.0,
        half_density=half,
        weight=np.array([0.0, 0.0, -(mass - water_density * volume) * gravity]),
    )
    own = _spread(np.diag([about_kick, about_upright, about_normal]), mass * np.eye(3), axes)
    fluid = _spread(np.diag([turned, turned, 0.0]), np.diag([0.0, 0.0, carried]), axes)
    return arrays, inertia_from_point(own, centre), inertia_from_point(fluid, centre)


def _spread(rotary: Array, linear: Array, axes: Array) -> Array:
    result = np.zeros((6, 6))
    result[:3, :3] = axes @ rotary @ axes.T
    result[3:, 3:] = axes @ linear @ axes.T
    return result
