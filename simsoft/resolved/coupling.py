"""A rod marched under the loads of the resolved flow, and where its solids are between steps.

The rod is simsoft's own: articulated links, elastic hinges, generalised-alpha. Its added mass by
potential flow stands on both sides of the equation of motion, so that a body much lighter than
the water it moves stays stable although the flow answers one step late (virtual mass: Causin,
Gerbeau & Nobile 2005, doi:10.1016/j.cma.2004.12.005, say why a plain exchange would not be):

    (M + C) a' = loads of the flow + C a + rest,

with a the mean acceleration over the step in which the loads were measured. What stands on the
right, loads plus C a, is smooth; a straight line through its last values gives it at the end of the
next step.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from simsoft.bodies.rod.forces import Work, make_work
from simsoft.bodies.rod.scheme import add_implicit_hinges, correct, make_scheme, predict
from simsoft.core.arrays import Array
from simsoft.core.compiled import kernel, lean_kernel
from simsoft.hydrodynamics.section.dead import section_weight
from simsoft.mechanics.dynamics import accelerate, bias_wrench, drift
from simsoft.mechanics.elastic import hinge_bending, hinge_moment
from simsoft.mechanics.kinematics import move, place
from simsoft.mechanics.rod import Rod
from simsoft.resolved.pieces import Links
from simsoft.resolved.solids import Single

DIVERGED_RATE = 1.0e6  # [rad/s] hinge rate no lure part can reach


class HeldRod(NamedTuple):
    """A rod in the resolved flow: its state and what the next step needs.

    Attributes
    ----------
    quaternion : array (N, 4); motion : array (4, N, 6), see bodies/rod/stepper.py
    twist : array (N, 6), spin [rad/s] and hinge velocity [m/s] of the links, link frames
    frame : array (N, 3, 3), node : array (N, 3) [m], of the links now
    past : array (M, N, 6), loads plus virtual inertia about the hinges, newest first
    filled : array (1,), how many of them are there
    clamp : array (6,), wrench of the clamp on the chain at the last step, clamp frame
    """

    quaternion: Array
    motion: Array
    twist: Array
    frame: Array
    node: Array
    past: Array
    filled: Array
    clamp: Array


@kernel()
def line_weights(count: int, ahead: float) -> Array:
    """Return the weights by which values at 0, -1, -2, ... give a straight line at ``ahead``."""
    weights = np.full(count, 1.0 / count)
    if count > 1:
        middle = -0.5 * (count - 1)
        spread = 0.0
        for i in range(count):
            spread += (-i - middle) ** 2
        for i in range(count):
            weights[i] += (-i - middle) * (ahead - middle) / spread
    return weights


@lean_kernel()
def to_hinge(reach: float, frame: Array, load: Array, wrench: Array) -> None:
    """Write a load (6,), force then moment about the node in the world, about the link's hinge.

    ``wrench`` (6,) is in the link frame, moment first; ``reach`` [m] goes from hinge to node.
    """
    for i in range(3):
        wrench[i] = 0.0
        wrench[3 + i] = 0.0
        for j in range(3):
            wrench[i] += frame[j, i] * load[3 + j]
            wrench[3 + i] += frame[j, i] * load[j]
    wrench[0] -= reach * wrench[4]
    wrench[1] += reach * wrench[3]


@lean_kernel()
def fill_state(rod: Rod, held: HeldRod, work: Work) -> None:
    """Fill frames, nodes and twists of a state."""
    place(rod, held.quaternion, work.relative, held.frame, work.hinge, held.node)
    work.spare[:] = 0.0
    move(rod, work.relative, held.motion[0, :, :3], work.spare, work.spin, work.glide)
    for k in range(rod.length.shape[0]):
        for i in range(3):
            held.twist[k, i] = work.spin[k, i]
            held.twist[k, 3 + i] = work.glide[k, i]


@kernel()
def start_held(rod: Rod, quaternion: Array, rate: Array, memory: int) -> HeldRod:
    """Return a rod in a shape (N, 4) with hinge rates (N, 3) [rad/s].

    ``memory`` is the number of steps whose loads the straight line goes through. Too few answer
    the echo of sound in the box and let a light part rattle.
    """
    n = rod.length.shape[0]
    motion = np.zeros((4, n, 6))
    motion[0, :, :3] = rate
    held = HeldRod(
        quaternion.copy(),
        motion,
        np.zeros((n, 6)),
        np.zeros((n, 3, 3)),
        np.zeros((n, 3)),
        np.zeros((memory, n, 6)),
        np.zeros(1),
        np.zeros(6),
    )
    fill_state(rod, held, make_work(n))
    return held


@kernel()
def remember(rod: Rod, held: HeldRod, loads: Array, acceleration: Array) -> None:
    """Put the loads of the last step and the virtual inertia into the memory.

    ``loads`` (N, 6) are force and moment about the nodes in the world, means over the step;
    ``acceleration`` (N, 6) the mean change of the twist over it.
    """
    n = rod.length.shape[0]
    for m in range(held.past.shape[0] - 1, 0, -1):
        held.past[m] = held.past[m - 1]
    for k in range(n):
        here = held.past[0, k]
        to_hinge(0.5 * rod.length[k], held.frame[k], loads[k], here)
        for i in range(6):
            for j in range(6):
                here[i] += rod.fluid[k, i, j] * acceleration[k, j]
    held.filled[0] = min(held.filled[0] + 1.0, float(held.past.shape[0]))


@kernel()
def step_held(rod: Rod, held: HeldRod, step: float) -> bool:
    """Advance the rod by one step [s] under the loads foreseen; false where it diverges."""
    n = rod.length.shape[0]
    work = make_work(n)
    scheme = make_scheme(step)
    turned, angle = np.zeros((n, 4)), np.zeros((n, 3))
    increment, rate = np.zeros((n, 3)), np.zeros((n, 3))
    predict(scheme, held.quaternion, held.motion, turned, angle, increment, rate)
    place(rod, turned, work.relative, work.frame, work.hinge, work.node)
    clamp = np.zeros(6)
    move(rod, work.relative, rate, clamp, work.spin, work.glide)
    hinge_bending(angle, rate, work.bending)
    hinge_moment(rod, angle, work.bending, work.moment)
    weights = line_weights(int(held.filled[0]), 1.5)
    inertia = rod.structure + rod.fluid
    weight = np.zeros(6)
    for k in range(n):
        drift(work.spin[k], work.glide[k], rate[k], work.drifts[k])
        weight[:] = 0.0
        section_weight(rod, k, work.frame[k], weight)
        bias_wrench(rod, k, work.spin[k], work.glide[k], weight, work.bias[k])
        for m in range(weights.shape[0]):
            for i in range(6):
                work.bias[k, i] -= weights[m] * held.past[m, k, i]
    implicit = np.zeros((n, 3, 3))
    add_implicit_hinges(rod, work, scheme, angle, held.motion[2], implicit)
    hinge_acceleration, link_acceleration = np.zeros((n, 3)), np.zeros((n, 6))
    accelerate(
        rod, work.relative, inertia, work.bias, work.drifts, work.moment, implicit,
        hinge_acceleration, link_acceleration, np.zeros((n + 2, 6, 6)), held.clamp,
    )  # fmt: skip
    worst = correct(
        scheme,
        hinge_acceleration,
        link_acceleration,
        rate,
        increment,
        turned,
        held.quaternion,
        held.motion,
    )
    fill_state(rod, held, work)
    return worst < DIVERGED_RATE


class Places(NamedTuple):
    """Where solids are and how they move: centre (P, 3), axes (P, 3, 3), velocity, spin (P, 3).

    World axes, SI units.
    """

    centre: Array
    axes: Array
    velocity: Array
    spin: Array


@kernel()
def ride(rod: Rod, held: HeldRod, link: Links, offset: Array, local: Array) -> Places:
    """Return where the solids on links and clamp are; see ``pieces.Pieces``."""
    count = link.shape[0]
    centre, axes = np.zeros((count, 3)), np.zeros((count, 3, 3))
    velocity, spin = np.zeros((count, 3)), np.zeros((count, 3))
    for p in range(count):
        k = link[p]
        if k < 0:
            centre[p] = offset[p]
            axes[p] = local[p]
            continue
        frame = held.frame[k]
        arm = offset[p].copy()
        arm[2] += 0.5 * rod.length[k]
        w, v = held.twist[k, :3], held.twist[k, 3:]
        moved = v + np.cross(w, arm)
        for i in range(3):
            centre[p, i] = held.node[k, i]
            for j in range(3):
                centre[p, i] += frame[i, j] * offset[p, j]
                velocity[p, i] += frame[i, j] * moved[j]
                spin[p, i] += frame[i, j] * w[j]
                for m in range(3):
                    axes[p, i, j] += frame[i, m] * local[p, m, j]
    return Places(centre, axes, velocity, spin)


@kernel()
def between(before: Places, after: Places, step: float, stops: int) -> Array:
    """Return poses (stops, P, 18) between two states a ``step`` [s] apart, SI units.

    Positions and turns are cubics that meet the states and their velocities, so that no wall
    changes its speed at a jump; stop s stands at (s + 1)/stops of the way.
    """
    count = before.centre.shape[0]
    poses = np.zeros((stops, count, 18))
    turn = np.zeros(3)
    for p in range(count):
        first, last = before.axes[p], after.axes[p]
        small_vector(first.T.copy() @ last, turn)
        rate_0 = first.T.copy() @ before.spin[p] * step
        rate_1 = last.T.copy() @ after.spin[p] * step
        for s in range(stops):
            t = (s + 1.0) / stops
            h1, h2, h3 = t * t * (3.0 - 2.0 * t), t * (1.0 - t) ** 2, -t * t * (1.0 - t)
            d1 = 6.0 * t * (1.0 - t)
            d2, d3 = (1.0 - t) * (1.0 - 3.0 * t), t * (3.0 * t - 2.0)
            angle = h1 * turn + h2 * rate_0 + h3 * rate_1
            spin = (d1 * turn + d2 * rate_0 + d3 * rate_1) / step
            here = first @ small_rotation(angle)
            way = after.centre[p] - before.centre[p]
            v0, v1 = before.velocity[p] * step, after.velocity[p] * step
            world = here @ spin
            for i in range(3):
                poses[s, p, i] = before.centre[p, i] + h1 * way[i] + h2 * v0[i] + h3 * v1[i]
                poses[s, p, 12 + i] = (d1 * way[i] + d2 * v0[i] + d3 * v1[i]) / step
                poses[s, p, 15 + i] = world[i]
                for j in range(3):
                    poses[s, p, 3 + 3 * i + j] = here[i, j]
    return poses


@lean_kernel()
def small_vector(matrix: Array, vector: Array) -> None:
    """Write the rotation vector (3,) [rad] of a rotation matrix that turns by less than pi/2."""
    vector[0] = 0.5 * (matrix[2, 1] - matrix[1, 2])
    vector[1] = 0.5 * (matrix[0, 2] - matrix[2, 0])
    vector[2] = 0.5 * (matrix[1, 0] - matrix[0, 1])
    sine = np.sqrt(vector[0] ** 2 + vector[1] ** 2 + vector[2] ** 2)
    if sine > 1.0e-9:
        vector *= np.arcsin(min(sine, 1.0)) / sine


@kernel()
def small_rotation(vector: Array) -> Array:
    """Return the rotation matrix (3, 3) of a rotation vector (3,) [rad], Rodrigues' formula."""
    size = np.sqrt(vector[0] ** 2 + vector[1] ** 2 + vector[2] ** 2)
    x, y, z = vector[0], vector[1], vector[2]
    skew = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
    matrix: Array = np.eye(3) + skew
    if size > 1.0e-12:
        matrix = (
            np.eye(3) + np.sin(size) / size * skew + (1.0 - np.cos(size)) / size**2 * (skew @ skew)
        )
    return matrix


@kernel()
def loads_on_links(link: Links, centre: Array, loads: Array, node: Array) -> Array:
    """Return the loads of the solids summed about the nodes of their links, array (N, 6).

    ``loads`` (P, 6) are force and moment about the solids' centres (P, 3) in the world.
    """
    total = np.zeros((node.shape[0], 6))
    for p in range(link.shape[0]):
        k = link[p]
        if k < 0:
            continue
        arm = centre[p] - node[k]
        force = loads[p, :3].copy()
        moment = loads[p, 3:] + np.cross(arm, force)
        for i in range(3):
            total[k, i] += force[i]
            total[k, 3 + i] += moment[i]
    return total


def single(poses: Array, origin: Array, cell: float, tick: float) -> Single:
    """Return poses in cells and steps, single precision.

    ``origin`` (3,) [m] is where the first cell lies, ``cell`` [m] its size, ``tick`` [s] a step.
    """
    scaled = poses.copy()
    scaled[..., 0:3] = (poses[..., 0:3] - origin) / cell
    scaled[..., 12:15] = poses[..., 12:15] * tick / cell
    scaled[..., 15:18] = poses[..., 15:18] * tick
    return scaled.astype(np.float32)
