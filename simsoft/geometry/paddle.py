"""The plate of a paddle tail: inertia, added mass and load arrays in the tip frame."""

from __future__ import annotations

import math

import numpy as np

from simsoft.case.model import LoadsInput, PaddleInput
from simsoft.case.paddle_outlines import outline_of
from simsoft.core.arrays import Array
from simsoft.mechanics.inertia import inertia_from_point
from simsoft.mechanics.rod import Paddle

# C_A of m = C_A rho (pi/4) a^2 b for a rectangle a <= b moving square on (DNV-RP-C205
# appendix D, from memory; reproduced by doublet panels to three digits, check B01).
RECTANGLE_RATIO = (1.0, 1.25, 1.59, 2.0, 2.5, 3.17, 4.0, 5.0, 6.25, 8.0, 10.0)
RECTANGLE_ADDED = (0.579, 0.642, 0.704, 0.757, 0.801, 0.840, 0.872, 0.897, 0.917, 0.934, 0.947)

NORMAL_THICKNESS, ROTARY_THICKNESS = 1.05, 0.85
STILL_INERTIA = 1.2
# Held discs leant back 30 to 75 degrees: drag along the plate on D h, over area (resolved flow).
RIM_DRAG = 1.4
RIM_POWER = 0.7
# Held discs of 0.07 to 0.3 D: C_N falls by this for a thickness of one width.
NORMAL_LOSS, THIN = 0.7, 0.07


def plate_area(paddle: PaddleInput) -> float:
    """Return the area [m^2] of the plate's face."""
    return outline_of(paddle.shape).fill * (paddle.width * paddle.height)


def paddle_added_mass(paddle: PaddleInput, density: float) -> tuple[float, float]:
    """Return the added mass [kg] along the normal and in turning [kg m^2] about a diameter.

    Disc 8/3 rho a^3 and 16/45 rho a^5 (Lamb, Hydrodynamics, art. 108); any other takes
    the rectangle table, as wide as it is on average, and turns like the disc of equal area
    (approximation). Both grow with the
    thickness: by 1.21 and 1.17 for a disc a fifth as thick as wide (boundary elements, computed
    in a study of potential flow), taken as even in the thickness.
    """
    radius = math.sqrt(plate_area(paddle) / math.pi)
    share = paddle.thickness / (2.0 * radius)
    rotary = 16.0 / 45.0 * density * radius**5 * (1.0 + ROTARY_THICKNESS * share)
    thicker = 1.0 + NORMAL_THICKNESS * share
    if outline_of(paddle.shape).oval:
        return 8.0 / 3.0 * density * radius**3 * thicker, rotary
    short, long = sorted((outline_of(paddle.shape).fill * paddle.width, paddle.height))
    factor = float(np.interp(long / short, RECTANGLE_RATIO, RECTANGLE_ADDED))
    return factor * density * 0.25 * math.pi * short**2 * long * thicker, rotary


def in_plane_mass(paddle: PaddleInput, values: dict[str, float], density: float) -> float:
    """Return the added mass [kg] along the plate: ``rim_inertia`` times the water displaced."""
    return values["rim_inertia"] * density * plate_area(paddle) * paddle.thickness


def in_plane_inertia(mass: float, axes: Array, centre: Array) -> Array:
    """Return the inertia (6, 6) about the tip node of a mass [kg] that goes along the plate."""
    spread = _spread(np.zeros((3, 3)), np.diag([mass, mass, 0.0]), axes)
    return inertia_from_point(spread, centre)


def still_inertia(paddle: PaddleInput) -> float:
    """Return ``rim_inertia`` [-] in still water, where no wake goes along.

    0.24 for a disc a fifth as thick as wide (boundary elements); even in the thickness.
    """
    return STILL_INERTIA * paddle.thickness / paddle.width


def thickness_share(paddle: PaddleInput) -> float:
    """Return the normal force of a plate over that of a thin one [-]."""
    return 1.0 - NORMAL_LOSS * max(0.0, min(0.4, paddle.thickness / paddle.width) - THIN)


def rim_share(paddle: PaddleInput) -> float:
    """Return the share of the rim force of a plate as thick as wide that this plate feels [-].

    The power 0.7 of the thickness: forced discs of 0.07 to 0.3 D (validation/RESOLVED.md).
    """
    return float((paddle.thickness / paddle.width) ** RIM_POWER)


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
    upward, across = outline_of(paddle.shape).second
    about_kick = mass * (upward * paddle.height**2 + paddle.thickness**2 / 12.0)
    about_upright = mass * (across * paddle.width**2 + paddle.thickness**2 / 12.0)
    about_normal = mass * upward * (paddle.height**2 + across / upward * paddle.width**2)
    carried, turned = paddle_added_mass(paddle, water_density if loads.added_mass else 0.0)
    along = in_plane_mass(paddle, values, water_density if loads.added_mass else 0.0)
    dragging = loads.shedding is not False
    half = 0.5 * water_density
    arrays = Paddle(
        centre=centre,
        axes=axes,
        area=area,
        width=paddle.width,
        added_mass=carried,
        added_rotary=np.array([turned, turned]),
        normal_force=values["paddle_normal_force"] * thickness_share(paddle) * half,
        centre_of_pressure=values["centre_of_pressure"],
        rotary_damping=values["rotary_damping"],
        friction=values["skin_friction"] * half * 2.0 * area,
        munk=values["munk"],
        steady_turning=np.zeros(2),
        rim_drag=half * RIM_DRAG * area * paddle.thickness / paddle.width,
        rim_force=values["rim_force"] * rim_share(paddle) if dragging else 0.0,
        rim_rate=values["rim_rate"],
        rim_damping=values["rim_damping"],
        force_growth=values["force_growth"] if dragging else 0.0,
        half_density=half,
        weight=np.array([0.0, 0.0, -(mass - water_density * volume) * gravity]),
    )
    own = _spread(np.diag([about_kick, about_upright, about_normal]), mass * np.eye(3), axes)
    fluid = _spread(np.diag([turned, turned, 0.0]), np.diag([along, along, carried]), axes)
    return arrays, inertia_from_point(own, centre), inertia_from_point(fluid, centre)


def _spread(rotary: Array, linear: Array, axes: Array) -> Array:
    result = np.zeros((6, 6))
    result[:3, :3] = axes @ rotary @ axes.T
    result[3:, 3:] = axes @ linear @ axes.T
    return result
