"""A free lure as arrays: one rigid base that carries flexible chains.

The chains' arrays are stacked one below the other, so that lures with any number of chains run
the same compiled code; ``chain`` cuts one out as a ``Rod``. A chain is clamped on the base or on
a link of an earlier chain. Twists, wrenches and inertias are six-by-six, rotation first.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from simsoft.core.arrays import Array, Integers
from simsoft.core.compiled import kernel, lean_kernel
from simsoft.mechanics.rod import Paddle, Rod

ON_BASE = -1


class Base(NamedTuple):
    """The rigid part of a lure, about its origin (the eye of the line) in its own axes.

    Attributes
    ----------
    structure : array (6, 6) [kg m^2, kg m, kg]
    fluid : array (6, 6), added mass
    weight, buoyancy : float [N]
    weight_at, buoyancy_at : array (3,) [m], where they act
    drag_at : array (M, 3) [m], places of the drag elements
    drag_axes : array (M, 3, 3), columns are two axes across and the element's own axis
    drag : array (M, 5) [kg/m], half density times area and coefficient: cross-flow along the two
        axes, friction along the whole velocity, pressure along the own axis, and friction along
        the own axis that goes with the speed across it
    drag_scale : array (M,) [s/m], diameter over kinematic viscosity
    drag_law : array (M,) of int, how the coefficient goes with the Reynolds number (loads/body)
    """

    structure: Array
    fluid: Array
    weight: float
    buoyancy: float
    weight_at: Array
    buoyancy_at: Array
    drag_at: Array
    drag_axes: Array
    drag: Array
    drag_scale: Array
    drag_law: Integers


class Paddles(NamedTuple):
    """The paddles of C chains: fields of ``Paddle``, its numbers as columns of ``number``."""

    centre: Array
    axes: Array
    added_rotary: Array
    steady_turning: Array
    weight: Array
    number: Array


class Tree(NamedTuple):
    """A base with C chains of N links altogether.

    Attributes
    ----------
    base : Base
    first : array (C + 1,) of int, first link of every chain, then N
    carrier : array (C,) of int, link that carries the chain, ``ON_BASE`` for the base
    carry : array (C, 6, 6), twist of the clamp (node 0, clamp frame) from the carrier's (its
        origin or its inboard hinge, its axes)
    mount : array (C, 3, 3), clamp frame in the carrier's axes
    mount_at : array (C, 3) [m], clamp from the carrier's origin or inboard hinge
    inflow : array (C, 2) [kg/m], added mass along axes 1 and 2 where a chain carries on the base
        itself (a soft length of a body), zero for a part that only stands on it
    kelvin_voigt, reactive : array (C,)
    follower, tip_moment : array (C, 3)
    paddles : Paddles
    others : arrays of ``Rod``, stacked
    """

    base: Base
    first: Integers
    carrier: Integers
    carry: Array
    mount: Array
    mount_at: Array
    inflow: Array
    length: Array
    span: Array
    stiffness: Array
    natural: Array
    kelvin_voigt: Array
    structure: Array
    fluid: Array
    added: Array
    added_gain: Array
    reactive: Array
    drag: Array
    weight: Array
    follower: Array
    tip_moment: Array
    paddles: Paddles


@kernel()
def chain(tree: Tree, c: int, frame: Array, root: Array) -> Rod:
    """Return chain ``c`` as a rod clamped at ``root`` (3,) [m] in ``frame`` (3, 3)."""
    a, b = tree.first[c], tree.first[c + 1]
    held = tree.paddles
    x = held.number[c]
    paddle = Paddle(
        held.centre[c],
        held.axes[c],
        x[0],
        x[1],
        x[2],
        held.added_rotary[c],
        x[3],
        x[4],
        x[5],
        x[6],
        x[7],
        held.steady_turning[c],
        x[8],
        x[9],
        x[10],
        x[11],
        x[12],
        x[13],
        held.weight[c],
    )
    return Rod(
        tree.length[a:b],
        tree.span[a:b],
        tree.stiffness[a:b],
        tree.natural[a:b],
        tree.kelvin_voigt[c],
        tree.structure[a:b],
        tree.fluid[a:b],
        tree.added[a:b],
        tree.added_gain[a:b],
        tree.reactive[c],
        tree.drag[a:b],
        tree.weight[a:b],
        root,
        root,
        tree.follower[c],
        tree.tip_moment[c],
        frame,
        root,
        paddle,
    )


@lean_kernel()
def transform(matrix: Array, vector: Array, result: Array) -> None:
    """Write ``matrix`` (6, 6) times ``vector`` (6,)."""
    for i in range(6):
        total = 0.0
        for j in range(6):
            total += matrix[i, j] * vector[j]
        result[i] = total


@lean_kernel()
def add_to_carrier(
    carry: Array, inertia: Array, bias: Array, work: Array, total: Array, whole: Array
) -> None:
    """Add a chain's inertia (6, 6) and bias (6,) to those of what carries it.

    ``carry`` (6, 6) takes the carrier's twist to the clamp's; ``work`` (6, 6) is scratch space.
    """
    for i in range(6):
        for j in range(6):
            product = 0.0
            for m in range(6):
                product += inertia[i, m] * carry[m, j]
            work[i, j] = product
    for i in range(6):
        for j in range(6):
            product = 0.0
            for m in range(6):
                product += carry[m, i] * work[m, j]
            total[i, j] += product
        product = 0.0
        for m in range(6):
            product += carry[m, i] * bias[m]
        whole[i] += product


@lean_kernel()
def solve_positive(matrix: Array, vector: Array) -> None:
    """Solve a symmetric positive definite system in place; ``vector`` becomes the solution.

    Cholesky's factor overwrites the lower triangle of ``matrix``.
    """
    n = vector.shape[0]
    for j in range(n):
        for m in range(j):
            matrix[j, j] -= matrix[j, m] * matrix[j, m]
        matrix[j, j] = matrix[j, j] ** 0.5
        for i in range(j + 1, n):
            for m in range(j):
                matrix[i, j] -= matrix[i, m] * matrix[j, m]
            matrix[i, j] /= matrix[j, j]
    for i in range(n):
        for m in range(i):
            vector[i] -= matrix[i, m] * vector[m]
        vector[i] /= matrix[i, i]
    for i in range(n - 1, -1, -1):
        for m in range(i + 1, n):
            vector[i] -= matrix[m, i] * vector[m]
        vector[i] /= matrix[i, i]


@kernel()
def momentum_turning(inertia: Array, twist: Array, result: Array) -> None:
    """Add the rate at which a body's own momentum turns with it, (w x a + u x p, w x p).

    ``inertia`` (6, 6) may be the added mass: Kirchhoff's equations (Lamb, Hydrodynamics, art.
    124), the u x p of which is Munk's moment.
    """
    h = np.zeros(6)
    transform(inertia, twist, h)
    w0, w1, w2, u0, u1, u2 = twist[0], twist[1], twist[2], twist[3], twist[4], twist[5]
    result[0] += w1 * h[2] - w2 * h[1] + u1 * h[5] - u2 * h[4]
    result[1] += w2 * h[0] - w0 * h[2] + u2 * h[3] - u0 * h[5]
    result[2] += w0 * h[1] - w1 * h[0] + u0 * h[4] - u1 * h[3]
    result[3] += w1 * h[5] - w2 * h[4]
    result[4] += w2 * h[3] - w0 * h[5]
    result[5] += w0 * h[4] - w1 * h[3]
