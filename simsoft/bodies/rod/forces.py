"""One evaluation of everything that acts on the chain in a given position and motion."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from simsoft.core.arrays import Array
from simsoft.core.compiled import kernel, lean_kernel
from simsoft.hydrodynamics.paddle import paddle_load, paddle_motion
from simsoft.hydrodynamics.section.dead import section_weight
from simsoft.hydrodynamics.section.motion import ROWS, SPIN, VELOCITY, section_states
from simsoft.hydrodynamics.section.reactive import section_reaction
from simsoft.hydrodynamics.section.resistive import section_drag
from simsoft.mechanics.dynamics import bias_wrench, drift
from simsoft.mechanics.elastic import hinge_bending, hinge_moment
from simsoft.mechanics.kinematics import bend, held_twist, move, place
from simsoft.mechanics.rod import Rod, Stream

RESISTIVE, REACTIVE, DEAD, PADDLE = 0, 1, 2, 3  # rows of Work.wrench


class Work(NamedTuple):
    """Scratch arrays of one chain of N elements, reused at every evaluation.

    Attributes
    ----------
    relative, frame : array (N, 3, 3), frames against the inboard link and in the world
    hinge, node : array (N, 3) [m]
    spin, glide : array (N, 3) [rad/s], [m/s], link motion at the hinge, link frame
    curvature, curvature_rate, slope : array (N, 3)
    state : array (N, 8, 3), see hydrodynamics/section/motion.py
    wrench : array (N, 4, 6), loads by kind about the node
    bias, drifts : array (N, 6)
    moment : array (N, 3) [N m]
    bending : array (N, 4), see ``elastic.hinge_bending``
    paddle_motion : array (6,)
    spare : array (6,), for whoever works just now
    """

    relative: Array
    frame: Array
    hinge: Array
    node: Array
    spin: Array
    glide: Array
    curvature: Array
    curvature_rate: Array
    slope: Array
    state: Array
    wrench: Array
    bias: Array
    drifts: Array
    moment: Array
    bending: Array
    paddle_motion: Array
    spare: Array


@kernel()
def make_work(n: int) -> Work:
    """Return scratch arrays for a chain of ``n`` elements."""
    return Work(
        np.zeros((n, 3, 3)),
        np.zeros((n, 3, 3)),
        np.zeros((n, 3)),
        np.zeros((n, 3)),
        np.zeros((n, 3)),
        np.zeros((n, 3)),
        np.zeros((n, 3)),
        np.zeros((n, 3)),
        np.zeros((n, 3)),
        np.zeros((n, ROWS, 3)),
        np.zeros((n, 4, 6)),
        np.zeros((n, 6)),
        np.zeros((n, 6)),
        np.zeros((n, 3)),
        np.zeros((n, 4)),
        np.zeros(6),
        np.zeros(6),
    )


@lean_kernel()
def evaluate(
    rod: Rod,
    stream: Stream,
    quaternion: Array,
    angle: Array,
    rate: Array,
    wake: Array,
    work: Work,
) -> None:
    """Fill ``work`` with kinematics, loads, bias wrenches and hinge moments.

    Parameters
    ----------
    quaternion : array (N, 4), hinge rotations
    angle : array (N, 3) [rad], the same as rotation vectors
    rate : array (N, 3) [rad/s], hinge rates in the outboard frames
    wake : array (3,) [-], the paddle's wake as its load sees it, see hydrodynamics/rim.py
    """
    place(rod, quaternion, work.relative, work.frame, work.hinge, work.node)
    held_twist(rod, stream, work.spare)
    move(rod, work.relative, rate, work.spare, work.spin, work.glide)
    load_chain(rod, stream, angle, rate, wake, work)


@lean_kernel()
def load_chain(
    rod: Rod, stream: Stream, angle: Array, rate: Array, wake: Array, work: Work
) -> None:
    """Fill loads, bias wrenches and hinge moments of links already placed and moving.

    Arguments as in ``evaluate``.
    """
    hinge_bending(angle, rate, work.bending)
    bend(rod, angle, work.bending, work.curvature, work.curvature_rate, work.slope)
    weigh_links(rod, stream, wake, work)
    for k in range(rod.length.shape[0]):
        drift(work.spin[k], work.glide[k], rate[k], work.drifts[k])
    hinge_moment(rod, angle, work.bending, work.moment)


@lean_kernel()
def weigh_links(rod: Rod, stream: Stream, wake: Array, work: Work) -> None:
    """Fill states, wrenches and bias of every link from the kinematics in ``work``.

    What acts on a link depends on the kinematics of that link alone.
    """
    n = rod.length.shape[0]
    section_states(
        rod,
        stream,
        work.frame,
        work.node,
        work.spin,
        work.glide,
        work.curvature,
        work.curvature_rate,
        work.slope,
        work.state,
    )
    work.wrench[:] = 0.0
    total = work.spare
    for k in range(n):
        state = work.state[k]
        section_drag(rod, k, state, work.wrench[k, RESISTIVE])
        section_reaction(rod, k, state, work.wrench[k, REACTIVE])
        section_weight(rod, k, work.frame[k], work.wrench[k, DEAD])
        if k == n - 1 and rod.paddle.area > 0.0:
            paddle_motion(rod.paddle, state[VELOCITY], state[SPIN], work.paddle_motion)
            paddle_load(rod.paddle, work.paddle_motion, wake, work.wrench[k, PADDLE])
        for i in range(6):
            total[i] = (
                work.wrench[k, 0, i]
                + work.wrench[k, 1, i]
                + work.wrench[k, 2, i]
                + work.wrench[k, 3, i]
            )
        bias_wrench(rod, k, work.spin[k], work.glide[k], total, work.bias[k])


@kernel()
def held_load(rod: Rod, stream: Stream) -> Array:
    """Return the load (3,) [N], world axes, on the half element held by the clamp.

    It does not move, so it is no unknown, but the clamp carries it: left out, the drag of N
    elements would lack 1/(2N).
    """
    f = rod.frame
    speed = stream.velocity + stream.shear * rod.root[2] * stream.direction
    v = np.zeros(3)
    for i in range(3):
        v[i] = f[0, i] * speed[0] + f[1, i] * speed[1] + f[2, i] * speed[2]
    normal = np.sqrt(v[0] ** 2 + v[1] ** 2)
    whole = np.sqrt(normal**2 + v[2] ** 2)
    friction = rod.root_drag[2] * whole
    load = rod.root_weight.copy()
    for i in range(3):
        load[i] += f[i, 0] * (rod.root_drag[0] * normal + friction) * v[0]
        load[i] += f[i, 1] * (rod.root_drag[1] * normal + friction) * v[1]
        load[i] += f[i, 2] * friction * v[2]
    return load
