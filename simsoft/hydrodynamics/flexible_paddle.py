"""Load of the water on a paddle's plate that bends: the stiff plate's, laid over the plate.

Normal force, centre of pressure, rim force, edge suction, rotary damping and friction are those
of ``hydrodynamics/paddle.py``, taken from the mean motion of the plate through the water and laid
over it as an even pressure and two that grow evenly along the kick and the upright axis: force and
moments are the same. So a stiff plate meets exactly the load of the rigid paddle, and what that
model states about wake, bands and screening holds here.

What the plate does beyond its mean motion meets two loads of its own, neither with a resultant in
the mean motion: the added mass between its panels (``hydrodynamics/plate/panels.py``), -M dw/dt
along the local normals, and a drag of the same coefficient on the local normal velocity.

All vectors are in the axes of the stem's end. Mean motion: area means of velocity and of its first
moments over the planform, about axes that follow the plate's mean normal.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from simsoft.core.arrays import Array, Integers
from simsoft.core.compiled import kernel
from simsoft.hydrodynamics.paddle import normal_share, paddle_load, turning_moment
from simsoft.hydrodynamics.plate.flow import _at_panel, _spread
from simsoft.mechanics.rod import Paddle, no_paddle


class Pad(NamedTuple):
    """Arrays of the water's load on one paddle that bends.

    Attributes
    ----------
    quads : int array (E, 4)
    inset : array (E, 4) [-], shape functions at the middle of the drawn-in panels
    added : array (E, E) [kg], added mass between panels
    share : array (n,) [-], nodes' shares of the area
    lever : array (n, 2) [m], kick and upright coordinate about the plate's middle
    spread : array (2, 2) [1/m^2], inverse of the second moments of the area over the area
    swirl : float [1/m^2], inverse of the polar one
    kick : int array (2,), held nodes whose line is the kick axis
    paddle : Paddle, the stiff plate's load, in its own axes about its centre
    """

    quads: Integers
    inset: Array
    added: Array
    share: Array
    lever: Array
    spread: Array
    swirl: float
    kick: Integers
    paddle: Paddle


def make_pad(
    plan: Array,
    quads: Integers,
    inset: Array,
    added: Array,
    share: Array,
    kick: Integers,
    paddle: Paddle,
    *,
    disc: bool,
) -> Pad:
    """Return the load arrays of a planform; arguments as in ``Pad``, ``plan`` (n, 2) [m].

    A disc's added mass as a whole is the closed form that ``paddle`` holds, a boot's the tabled
    one; what a boot carries in turning is left to the lattice. What goes along the plate rides on
    the rod's end (``lure/paddle_model.py``).
    """
    lever = plan - share @ plan
    second = (share[:, None] * lever).T @ lever
    panel = np.einsum("ea,eax->ex", inset, lever[quads])
    modes = np.column_stack([np.ones(len(panel)), panel[:, 1], -panel[:, 0]])
    if paddle.added_mass > 0.0:
        wanted = modes.T @ added @ modes
        wanted[0, 0] = paddle.added_mass
        if disc:
            wanted = np.diag([paddle.added_mass, *paddle.added_rotary])
        added = put_right(added, modes, wanted)
    turning = np.einsum("em,ef,fm->m", modes[:, 1:], added, modes[:, 1:])
    stiff = paddle._replace(centre=np.zeros(3), axes=np.eye(3), added_rotary=turning)
    return Pad(
        quads=quads,
        inset=np.ascontiguousarray(inset),
        added=np.ascontiguousarray(added),
        share=share,
        lever=np.ascontiguousarray(lever),
        spread=np.asarray(np.linalg.inv(second), dtype=np.float64),
        swirl=1.0 / float(np.trace(second)),
        kick=kick,
        paddle=stiff,
    )


def no_pad() -> Pad:
    """Return the load of no paddle."""
    flat = np.zeros((0, 4))
    return Pad(
        quads=np.zeros((0, 4), dtype=np.int64),
        inset=flat,
        added=np.zeros((0, 0)),
        share=np.zeros(0),
        lever=np.zeros((0, 2)),
        spread=np.zeros((2, 2)),
        swirl=0.0,
        kick=np.zeros(2, dtype=np.int64),
        paddle=no_paddle(),
    )


def put_right(added: Array, stiff: Array, wanted: Array) -> Array:
    """Return an added mass (E, E) between panels with its stiff motions put right.

    A coarse lattice on a curved outline is some per cent off; motions of the plate as a whole are
    known better. What is orthogonal to them, the plate's own bending, stays as it is, and so do
    symmetry and sign.

    Parameters
    ----------
    added : array (E, E) [kg]
    stiff : array (E, 3), normal velocity of the panels in even motion and in turning
    wanted : array (3, 3), added mass between these motions, positive definite
    """
    held = added @ stiff
    here = np.linalg.cholesky(stiff.T @ held)
    there = np.linalg.cholesky(wanted)
    gain = np.linalg.solve(here.T, there.T) - np.eye(3)
    back = np.linalg.solve(here.T, np.linalg.solve(here, held.T))
    fix = np.eye(len(added)) + stiff @ gain @ back
    return np.asarray(fix.T @ added @ fix)


@kernel()
def pad_axes(pad: Pad, state: Array, axes: Array) -> None:
    """Write kick, upright and normal axis of the mean plate as columns (3, 3)."""
    normal, across = np.zeros(3), np.zeros(3)
    for k in range(state.shape[0]):
        for i in range(3):
            normal[i] += pad.share[k] * state[k, 3 + i]
    normal /= math.sqrt((normal * normal).sum())
    for i in range(3):
        across[i] = state[pad.kick[1], i] - state[pad.kick[0], i]
    across -= (across * normal).sum() * normal
    across /= math.sqrt((across * across).sum())
    axes[:, 0] = across
    axes[:, 1] = np.cross(normal, across)
    axes[:, 2] = normal


@kernel()
def pad_motion(pad: Pad, state: Array, rate: Array, axes: Array, motion: Array) -> None:
    """Write the mean motion (6,) of the plate in its axes (3, 3): velocity [m/s], spin [rad/s].

    ``rate`` (n, 6) are the rates of places, through the water, and of directors.
    """
    motion[:] = 0.0
    for k in range(state.shape[0]):
        for j in range(3):
            for i in range(3):
                motion[j] += pad.share[k] * axes[i, j] * rate[k, i]
    first, second = 0.0, 0.0
    for k in range(state.shape[0]):
        x, y = pad.lever[k]
        kick, up, across = 0.0, 0.0, 0.0
        for i in range(3):
            kick += axes[i, 0] * rate[k, i]
            up += axes[i, 1] * rate[k, i]
            across += axes[i, 2] * rate[k, i]
        first += pad.share[k] * x * across
        second += pad.share[k] * y * across
        motion[5] += pad.share[k] * pad.swirl * (x * up - y * kick)
    motion[3] = pad.spread[1, 0] * first + pad.spread[1, 1] * second
    motion[4] = -(pad.spread[0, 0] * first + pad.spread[0, 1] * second)


@kernel()
def pad_force(
    pad: Pad,
    state: Array,
    rate: Array,
    acceleration: Array,
    wake: Array,
    force: Array,
    motion: Array,
) -> None:
    """Write the water's force (n, 6) [N] on the nodes, and the mean motion (6,).

    Parameters
    ----------
    pad : Pad
    state, rate, acceleration : array (n, 6), places and directors, their rates against the water
        and their accelerations
    wake : array (3,) [-], see ``paddle.paddle_load``
    """
    force[:] = 0.0
    axes, wrench = np.empty((3, 3)), np.zeros(6)
    pad_axes(pad, state, axes)
    pad_motion(pad, state, rate, axes, motion)
    paddle_load(pad.paddle, motion, wake, wrench)
    lean_x = pad.spread[0, 0] * -wrench[1] + pad.spread[0, 1] * wrench[0]
    lean_y = pad.spread[1, 0] * -wrench[1] + pad.spread[1, 1] * wrench[0]
    speed = math.sqrt(motion[0] ** 2 + motion[1] ** 2 + motion[2] ** 2)
    rub = 0.0
    if speed > 0.0:
        share = normal_share(abs(motion[2]) / speed)
        rub = pad.paddle.area * pad.paddle.normal_force * share * speed
    for k in range(state.shape[0]):
        x, y = pad.lever[k]
        own = -motion[2] - motion[3] * y + motion[4] * x
        for i in range(3):
            own += axes[i, 2] * rate[k, i]
        share = pad.share[k]
        push = share * (wrench[5] + lean_x * x + lean_y * y - rub * own)
        kick = share * (wrench[3] - wrench[2] * pad.swirl * y)
        up = share * (wrench[4] + wrench[2] * pad.swirl * x)
        for i in range(3):
            force[k, i] += kick * axes[i, 0] + up * axes[i, 1] + push * axes[i, 2]
    _inertia(pad, state, rate, acceleration, force)


@kernel()
def _inertia(pad: Pad, state: Array, rate: Array, acceleration: Array, force: Array) -> None:
    """Add the force of the added mass, -M dw/dt along the local normals."""
    count = pad.quads.shape[0]
    normal, change = np.empty((count, 3)), np.empty(count)
    v, a, nd = np.empty(3), np.empty(3), np.empty(3)
    for p in range(count):
        quad = pad.quads[p]
        _at_panel(pad.inset[p], quad, state, 3, normal[p])
        _at_panel(pad.inset[p], quad, rate, 0, v)
        _at_panel(pad.inset[p], quad, acceleration, 0, a)
        _at_panel(pad.inset[p], quad, rate, 3, nd)
        change[p] = 0.0
        for i in range(3):
            change[p] += normal[p, i] * a[i] + nd[i] * v[i]
    for p in range(count):
        total = 0.0
        for q in range(count):
            total += pad.added[p, q] * change[q]
        _spread(pad.inset[p], pad.quads[p], -total, normal[p], force)


@kernel()
def pad_turning(pad: Pad, state: Array, rate: Array) -> Array:
    """Return the turning moment (2,) [N m] about kick and upright axis, see ``turning_moment``."""
    axes, motion = np.empty((3, 3)), np.empty(6)
    pad_axes(pad, state, axes)
    pad_motion(pad, state, rate, axes, motion)
    about_kick, about_upright = turning_moment(pad.paddle, motion)
    return np.array([about_kick, about_upright])


def stiff_rate(state: Array, twist: Array) -> Array:
    """Return the rates (n, 6) of a plate that moves with ``twist`` (6,): spin, velocity."""
    spin, velocity = twist[:3], twist[3:]
    return np.hstack([velocity + np.cross(spin, state[:, :3]), np.cross(spin, state[:, 3:])])
