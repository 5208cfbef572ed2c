"""The discrete rod: a chain of stiff links joined by elastic hinges, in minimal coordinates.

A rod of N elements is an inextensible, unshearable, geometrically exact (Kirchhoff) rod. The
middle of every element is a hinge that carries the element's whole bending and twisting
angle as one rotation vector; the links between hinges are centred on the nodes. Clamp and
tip frames are true node frames, so the scheme is second order in the element length. The
rotation vectors are the only unknowns: nothing has to be held together by stiff springs.

Axes of every node frame: 1 across the thickness (soft direction), 2 along the width,
3 along the tangent, from clamp to tip.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from simsoft.core.arrays import Array


class Paddle(NamedTuple):
    """Plate carried on the true tip frame of a rod; all zero where there is none.

    Attributes
    ----------
    centre : array (3,) [m], plate centre from the tip node in the tip frame
    axes : array (3, 3), columns: kick axis, upright axis, normal, in the tip frame
    area : float [m^2]
    width : float [m], across the kick; length scale of the wake and of the moments
    added_mass : float [kg], along the normal
    added_rotary : array (2,) [kg m^2], about the kick axis and about the upright axis
    normal_force : float [-], C_N90 times half the water density [kg/m^3]
    centre_of_pressure : float [-], k_cp
    rotary_damping : float [-], share of the strip-theory value
    friction : float [kg/m], in-plane drag per squared speed
    munk : float [-], share of the edge suction and turning moment of potential flow
    steady_turning : array (2,) [N m], turning moment about kick and upright axis at the rest
        incidence, taken off again: at a steady incidence the centre of pressure says it all
    rim_drag : float [kg/m], drag on the rim per squared velocity along the plate
    rim_force : float [-], C_r, force of the wake on the rim, zero for none
    rim_rate : float [-], St_r of the wake's own rate (see hydrodynamics/rim.py)
    rim_damping : float [-], z of the wake
    force_growth : float [-], g, growth of the normal force with the wake's envelope
    half_density : float [kg/m^3], half the water density
    weight : array (3,) [N], weight less buoyancy at the plate centre, world axes
    """

    centre: Array
    axes: Array
    area: float
    width: float
    added_mass: float
    added_rotary: Array
    normal_force: float
    centre_of_pressure: float
    rotary_damping: float
    friction: float
    munk: float
    steady_turning: Array
    rim_drag: float
    rim_force: float
    rim_rate: float
    rim_damping: float
    force_growth: float
    half_density: float
    weight: Array


class Rod(NamedTuple):
    """Arrays of one clamped rod with N elements; row k is element k and the node at its end.

    Attributes
    ----------
    length : array (N,) [m], element lengths
    span : array (N,) [m], length of rod that belongs to the node
    stiffness : array (N, 3) [N m/rad], hinge stiffness about axes 1, 2, 3
    natural : array (N, 3) [rad], hinge angle of the stress-free shape
    kelvin_voigt : float [s], damping time of the hinges
    structure : array (N, 6, 6) [kg m^2, kg m, kg], inertia of link and lumps about the link's
        inboard hinge in the node frame, rotation first
    fluid : array (N, 6, 6), the same for the fluid's added mass (sections and paddle)
    added : array (N, 3) [kg/m, kg/m, kg m], added mass along 1, along 2, and roll inertia
    added_gain : array (N, 2) [kg/m^2], growth of the added mass toward the tip, not negative
    reactive : float, 1 for the convective elongated-body force, 0 without
    drag : array (N, 4) [kg/m^2], force per length and squared speed along 1, 2, 3, and
        [kg m] torque per length and squared roll rate about 3
    weight : array (N, 3) [N], weight minus buoyancy and dead loads, world axes, at the node
    root_drag : array (3,) [kg/m], drag per squared speed on the half element that is held in
        the clamp's frame, along 1, 2, 3
    root_weight : array (3,) [N], weight minus buoyancy of that half element, world axes
    follower : array (3,) [N], tip load in tip axes
    tip_moment : array (3,) [N m], dead moment at the tip, world axes
    frame : array (3, 3), clamp frame, columns are the axes 1, 2, 3 in world components
    root : array (3,) [m], clamp position
    paddle : Paddle
    """

    length: Array
    span: Array
    stiffness: Array
    natural: Array
    kelvin_voigt: float
    structure: Array
    fluid: Array
    added: Array
    added_gain: Array
    reactive: float
    drag: Array
    weight: Array
    root_drag: Array
    root_weight: Array
    follower: Array
    tip_moment: Array
    frame: Array
    root: Array
    paddle: Paddle


class Stream(NamedTuple):
    """Uniform or sheared stream seen by the clamp.

    Attributes
    ----------
    velocity : array (3,) [m/s], at height zero
    direction : array (3,), unit vector of the stream
    shear : float [1/s], speed gained per metre of world height z
    """

    velocity: Array
    direction: Array
    shear: float


def no_paddle() -> Paddle:
    """Return the paddle of a rod that has none."""
    return Paddle(
        np.zeros(3), np.eye(3), 0.0, 1.0, 0.0, np.zeros(2), 0.0, 0.0, 0.0, 0.0,
        0.0, np.zeros(2), 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, np.zeros(3),
    )  # fmt: skip
