"""Drag, weight and buoyancy of the rigid base of a free lure.

Quasi-steady: every drag element answers the water it moves through now. What a shed vortex does
to a falling body later (wobble, tumbling) is beyond it; see
``hydrodynamics/correlations/falling_plates.py``.
"""

from __future__ import annotations

import math

import numpy as np

from simsoft.core.arrays import Array
from simsoft.core.compiled import kernel, lean_kernel
from simsoft.hydrodynamics.correlations.drag import sphere_drag
from simsoft.mechanics.multibody import Base

CONSTANT, CYLINDER, SPHERE = 0, 1, 2  # drag laws

# The standard drag curve of spheres, straight in log-log between its points: within 0.1 %.
SPHERE_FIRST, SPHERE_STEP, SPHERE_POINTS = -3.0, 0.05, 191
SPHERE_TABLE: Array = np.log(
    sphere_drag(10.0 ** (SPHERE_FIRST + SPHERE_STEP * np.arange(SPHERE_POINTS)))
)


@lean_kernel()
def law_factor(law: int, reynolds: float) -> float:
    """Return what multiplies the drag column of an element at a Reynolds number [-].

    1 for a constant coefficient; 1 + 10 Re^(-2/3) of a cylinder (White, Viscous Fluid Flow),
    held below Re 1; the coefficient of a sphere (Clift, Grace & Weber 1978).
    """
    if law == CYLINDER:
        return 1.0 + 10.0 * math.exp(-2.0 / 3.0 * math.log(max(reynolds, 1.0)))
    if law == SPHERE:
        place = (math.log10(max(reynolds, 1.01e-3)) - SPHERE_FIRST) / SPHERE_STEP
        i = min(int(place), SPHERE_POINTS - 2)
        share = min(place - i, 1.0)
        return math.exp((1.0 - share) * SPHERE_TABLE[i] + share * SPHERE_TABLE[i + 1])
    return 1.0


@kernel()
def base_drag(base: Base, twist: Array, wrench: Array, slope: Array) -> None:
    """Add the drag on the base to ``wrench`` (6,) and its slope to ``slope`` (6, 6).

    Parameters
    ----------
    twist : array (6,) [rad/s, m/s], of the base against still water, about its origin
    wrench : array (6,) [N m, N], about the origin in the base's axes
    slope : array (6, 6), minus the derivative of the wrench with the twist, symmetric part

    Notes
    -----
    Independence principle, as for the sections of a rod: the cross-flow force goes with the
    velocity across the element's axis, friction along the whole velocity. Water that comes across
    has had a short way over the surface: its thin boundary layer rubs harder along the axis.
    """
    across = np.zeros(3)
    force = np.zeros(3)
    rate = np.zeros(3)
    here, lever = np.zeros((3, 3)), np.zeros((3, 3))
    for m in range(base.drag.shape[0]):
        x, y, z = base.drag_at[m, 0], base.drag_at[m, 1], base.drag_at[m, 2]
        v0 = twist[3] + twist[1] * z - twist[2] * y
        v1 = twist[4] + twist[2] * x - twist[0] * z
        v2 = twist[5] + twist[0] * y - twist[1] * x
        e = base.drag_axes[m]
        for i in range(3):
            across[i] = e[0, i] * v0 + e[1, i] * v1 + e[2, i] * v2
        normal = math.sqrt(across[0] ** 2 + across[1] ** 2)
        speed = math.sqrt(normal**2 + across[2] ** 2)
        column = base.drag[m]
        law = base.drag_law[m]
        if law == SPHERE:
            whole = column[0] * law_factor(law, speed * base.drag_scale[m]) * speed
            for i in range(3):
                rate[i] = whole
        else:
            factor = law_factor(law, normal * base.drag_scale[m]) * normal
            rate[0] = column[0] * factor + column[2] * speed
            rate[1] = column[1] * factor + column[2] * speed
            rate[2] = column[3] * abs(across[2]) + column[2] * speed + column[4] * normal
        for i in range(3):
            force[i] = 0.0
            for n in range(3):
                force[i] -= e[i, n] * rate[n] * across[n]
                here[i, n] = 0.0
                for j in range(3):
                    here[i, n] += 2.0 * rate[j] * e[i, j] * e[n, j]
        wrench[0] += y * force[2] - z * force[1]
        wrench[1] += z * force[0] - x * force[2]
        wrench[2] += x * force[1] - y * force[0]
        for i in range(3):
            wrench[3 + i] += force[i]
        add_about_origin(here, x, y, z, lever, slope)


@lean_kernel()
def add_about_origin(here: Array, x: float, y: float, z: float, lever: Array, slope: Array) -> None:
    """Add the slope (3, 3) of a force at a place to that (6, 6) of its wrench about the origin.

    With S the matrix of the cross product with the place, [S K S^T, S K; K S^T, K]; ``lever``
    (3, 3) is scratch space for S K.
    """
    for j in range(3):
        lever[0, j] = y * here[2, j] - z * here[1, j]
        lever[1, j] = z * here[0, j] - x * here[2, j]
        lever[2, j] = x * here[1, j] - y * here[0, j]
    for i in range(3):
        a, b, c = lever[i, 0], lever[i, 1], lever[i, 2]
        slope[i, 0] += y * c - z * b
        slope[i, 1] += z * a - x * c
        slope[i, 2] += x * b - y * a
        for j in range(3):
            slope[i, 3 + j] += lever[i, j]
            slope[3 + i, j] += lever[j, i]
            slope[3 + i, 3 + j] += here[i, j]


@lean_kernel()
def base_dead(base: Base, frame: Array, wrench: Array) -> None:
    """Add weight and buoyancy to ``wrench`` (6,) about the origin in the base's axes."""
    for i in range(3):
        up = frame[2, i]
        wrench[3 + i] += (base.buoyancy - base.weight) * up
    for i in range(3):
        j, k = (i + 1) % 3, (i + 2) % 3
        arm_j = base.buoyancy * base.buoyancy_at[j] - base.weight * base.weight_at[j]
        arm_k = base.buoyancy * base.buoyancy_at[k] - base.weight * base.weight_at[k]
        wrench[i] += arm_j * frame[2, k] - arm_k * frame[2, j]
