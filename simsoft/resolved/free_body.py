"""A stiff body free to move in the resolved flow, marched under the loads of the water.

Its added mass by potential flow stands on both sides of the equation of motion, as for the rods
of ``coupling.py``: a body hardly heavier than water stays stable although the flow answers a
step late. Weight acts at the centre of mass, buoyancy at that of the displaced water; the flow
itself knows no weight.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from simsoft.core.arrays import Array
from simsoft.resolved.coupling import Places, line_weights, loads_on_links, small_rotation
from simsoft.resolved.pieces import Pieces

SWEEPS = 2  # of the middle of a step, at which turning and weight are taken
FORESEEN = 1.0  # [steps] from the middle of the last step to the middle of the next


class FreeBody(NamedTuple):
    """A stiff body that nothing holds, about its centre of mass and in its own axes.

    Attributes
    ----------
    mass : float [kg]; inertia : array (3, 3) [kg m^2]
    virtual : array (6, 6) [kg m^2, kg m, kg], added mass by potential flow, rotation first
    weight, buoyancy : float [N]
    buoyancy_at : array (3,) [m], where the buoyancy acts
    up : array (3,), direction against gravity in the world
    axes : array (3, 3), the body's axes in the world at the release
    """

    mass: float
    inertia: Array
    virtual: Array
    weight: float
    buoyancy: float
    buoyancy_at: Array
    up: Array
    axes: Array


class Loose(NamedTuple):
    """Where a free body is, and what the next step needs.

    Attributes
    ----------
    centre : array (3,) [m], centre of mass in the world of the stream
    axes : array (3, 3), as columns in the world
    twist : array (6,) [rad/s, m/s], spin and velocity, own axes
    past : array (M, 6) [N m, N], loads plus virtual inertia, own axes, newest first
    filled : int, how many of them are there
    shifted : array (3,) of int, cells by which the box has followed
    """

    centre: Array
    axes: Array
    twist: Array
    past: Array
    filled: int
    shifted: Array


def start_loose(body: FreeBody, centre: Array, velocity: Array, memory: int) -> Loose:
    """Return a body let go at a place [m] with a velocity [m/s] and no spin."""
    twist = np.concatenate([np.zeros(3), body.axes.T @ velocity])
    return Loose(
        centre.astype(float), body.axes.copy(), twist, np.zeros((memory, 6)), 0, np.zeros(3, int)
    )


def step_loose(body: FreeBody, loose: Loose, step: float) -> Loose:
    """Return the body a step [s] later under the loads foreseen."""
    foreseen: Array = np.zeros(6)
    if loose.filled:
        weights: Array = line_weights(loose.filled, FORESEEN)
        foreseen[:] = weights @ loose.past[: loose.filled]
    inertia = body.virtual.copy()
    inertia[:3, :3] += body.inertia
    inertia[3:, 3:] += body.mass * np.eye(3)
    change: Array = np.zeros(6)
    for _ in range(SWEEPS):
        middle = loose.twist + 0.5 * change
        axes = loose.axes @ small_rotation(0.5 * step * middle[:3])
        change[:] = step * np.linalg.solve(inertia, foreseen + _own(body, axes, middle))
    middle = loose.twist + 0.5 * change
    half = loose.axes @ small_rotation(0.5 * step * middle[:3])
    return loose._replace(
        centre=loose.centre + step * half @ middle[3:],
        axes=loose.axes @ small_rotation(step * middle[:3]),
        twist=loose.twist + change,
    )


def _own(body: FreeBody, axes: Array, twist: Array) -> Array:
    """Return weight and buoyancy less what turning axes take, (6,) in the body's axes."""
    spin, velocity = twist[:3], twist[3:]
    up = axes.T @ body.up
    moment = np.cross(body.buoyancy_at, body.buoyancy * up)
    moment -= np.cross(spin, body.inertia @ spin)
    force = (body.buoyancy - body.weight) * up - body.mass * np.cross(spin, velocity)
    return np.concatenate([moment, force])


def ride_loose(loose: Loose, pieces: Pieces) -> Places:
    """Return where the solids of a free body are."""
    arm = pieces.offset @ loose.axes.T
    velocity, spin = loose.axes @ loose.twist[3:], loose.axes @ loose.twist[:3]
    return Places(
        loose.centre + arm,
        np.ascontiguousarray(loose.axes @ pieces.axes),
        np.cross(np.broadcast_to(spin, arm.shape), arm) + velocity,
        np.ascontiguousarray(np.broadcast_to(spin, arm.shape)),
    )


def remember_loose(
    body: FreeBody, before: Loose, after: Loose, pieces: Pieces, loads: Array, step: float
) -> Loose:
    """Return the later state with the loads (P, 6) of the step in its memory.

    Loads are force and moment about the middle of each solid's way, world axes.
    """
    middle = 0.5 * (before.centre + after.centre)
    axes = 0.5 * (before.axes + after.axes)
    centre = middle + pieces.offset @ axes.T
    whole = loads_on_links(pieces.link, centre, loads, middle[None])[0]
    here = np.concatenate([axes.T @ whole[3:], axes.T @ whole[:3]])
    here += body.virtual @ (after.twist - before.twist) / step
    past = np.vstack([here, before.past[:-1]])
    return after._replace(past=past, filled=min(before.filled + 1, len(past)))


def ran_away(before: Loose, after: Loose, most: float) -> bool:
    """Return whether a body went further in a step than ``most`` [m], or nobody knows where."""
    return not float(np.linalg.norm(after.centre - before.centre)) <= most


def follow_home(loose: Loose, home: Array, cell: float) -> tuple[Loose, tuple[int, int, int]]:
    """Return the body with the cells by which its box must move to have it at ``home`` (3,) [m].

    ``home`` is where the body stood in the box before the box moved at all.
    """
    away = np.rint((loose.centre - home) / cell).astype(int) - loose.shifted
    x, y, z = (int(n) for n in away)
    return loose._replace(shifted=loose.shifted + away), (x, y, z)
