"""Compiled time stepping of one rod: generalised-alpha, one linear solve a step."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from simsoft.bodies.rod.forces import (
    DEAD,
    PADDLE,
    REACTIVE,
    RESISTIVE,
    Work,
    evaluate,
    held_load,
    make_work,
)
from simsoft.bodies.rod.scheme import (
    add_implicit_drag,
    add_implicit_hinges,
    correct,
    make_scheme,
    predict,
)
from simsoft.core.arrays import Array
from simsoft.core.compiled import kernel, lean_kernel
from simsoft.hydrodynamics.rim import RIM_STATES, SEEN, foretell_rim, step_rim
from simsoft.hydrodynamics.section.motion import STREAM, VELOCITY
from simsoft.mechanics.dynamics import accelerate
from simsoft.mechanics.elastic import damping_power, elastic_energy
from simsoft.mechanics.rod import Rod, Stream
from simsoft.mechanics.rows import added_up, product, scaled, take_row

ENERGY_TERMS = 8  # columns of the energy history, in the order of ENERGY_NAMES
ENERGY_NAMES = (
    "kinetic",
    "elastic",
    "drag_work",
    "reactive_work",
    "dead_work",
    "paddle_work",
    "damping_loss",
    "fluid_inertia_work",
)
HISTORY_COLUMNS = 13
DIVERGED_RATE = 1.0e7  # [rad/s] hinge rate no lure part can reach


@lean_kernel()
def powers(rod: Rod, work: Work, link_acceleration: Array, angle: Array, p: Array) -> None:
    """Write kinetic energy, stored energy and the power of each load (8,), lab axes.

    The velocity in the lab is that against the water plus the stream's. The fluid's inertia
    force (the mass-matrix part of reactive and paddle load) is the last entry.
    """
    kinetic = drag = reactive = dead = paddle = fluid = 0.0
    for k in range(rod.length.shape[0]):
        reach = 0.5 * rod.length[k]
        spin, speed, stream = work.spin[k], work.state[k, VELOCITY], work.state[k, STREAM]
        a, b, c = spin[0], spin[1], spin[2]
        d, e, f = speed[0] + stream[0], speed[1] + stream[1], speed[2] + stream[2]
        lab, w = (a, b, c, d, e, f), work.wrench[k]
        drag = added_up(drag, take_row(w, RESISTIVE), lab)
        reactive = added_up(reactive, take_row(w, REACTIVE), lab)
        dead = added_up(dead, take_row(w, DEAD), lab)
        paddle = added_up(paddle, take_row(w, PADDLE), lab)
        foot = (a, b, c, d - b * reach, e + a * reach, f)
        kinetic = added_up(kinetic, scaled(0.5, foot), product(rod.structure[k], foot))
        carried = product(rod.fluid[k], take_row(link_acceleration, k))
        fluid = added_up(fluid, scaled(-1.0, foot), carried)
    p[0], p[2], p[3], p[4], p[5], p[7] = kinetic, drag, reactive, dead, paddle, fluid
    p[1] = elastic_energy(rod, angle)
    p[6] = damping_power(rod, work.bending)


@lean_kernel()
def log_row(
    rod: Rod, work: Work, root: Array, held: Array, wake: float, row: Array, shape: Array
) -> None:
    """Write one row (13,) of the history, node positions [m] and width axes (N, 6) with it."""
    n = rod.length.shape[0]
    c = rod.paddle.centre
    tip = work.frame[n - 1]
    f = rod.frame
    for i in range(3):
        hung = tip[i, 0] * c[0] + tip[i, 1] * c[1] + tip[i, 2] * c[2]
        row[i] = work.node[n - 1, i] + hung
        row[3 + i] = tip[i, 2]
        row[6 + i] = held[i] - (f[i, 0] * root[3] + f[i, 1] * root[4] + f[i, 2] * root[5])
        row[9 + i] = -(f[i, 0] * root[0] + f[i, 1] * root[1] + f[i, 2] * root[2])
        for k in range(n):
            shape[k, i] = work.node[k, i]
            shape[k, 3 + i] = work.frame[k, i, 1]
    row[12] = wake


class Scratch(NamedTuple):
    """Arrays of one march of a rod of N elements, reused at every step.

    Attributes
    ----------
    turned : array (N, 4), hinge rotations at the end of the step
    angle, increment, rate : array (N, 3), the same as vectors, their change, their rates
    inertia : array (N, 6, 6); implicit : array (N, 3, 3), see mechanics/dynamics.py: accelerate
    hinge_acceleration : array (N, 3); link_acceleration : array (N, 6)
    gain : array (N + 2, 6, 6)
    root : array (6,), wrench on the clamp
    slope : array (3,)
    power : array (8,), see ENERGY_NAMES
    held : array (3,) [N], load on the half element in the clamp
    seen : array (3,), rim : array (9,), see hydrodynamics/rim.py
    """

    turned: Array
    angle: Array
    increment: Array
    rate: Array
    inertia: Array
    implicit: Array
    hinge_acceleration: Array
    link_acceleration: Array
    gain: Array
    root: Array
    slope: Array
    power: Array
    held: Array
    seen: Array
    rim: Array


@kernel()
def make_scratch(rod: Rod, stream: Stream) -> Scratch:
    """Return the arrays of a march of a rod."""
    n = rod.length.shape[0]
    return Scratch(
        np.zeros((n, 4)),
        np.zeros((n, 3)),
        np.zeros((n, 3)),
        np.zeros((n, 3)),
        np.zeros((n, 6, 6)),
        np.zeros((n, 3, 3)),
        np.zeros((n, 3)),
        np.zeros((n, 6)),
        np.zeros((n + 2, 6, 6)),
        np.zeros(6),
        np.zeros(3),
        np.zeros(ENERGY_TERMS),
        held_load(rod, stream),
        np.zeros(SEEN),
        np.zeros(RIM_STATES),
    )


class Course(NamedTuple):
    """State and record of a march, see ``advance``.

    Attributes
    ----------
    quaternion : array (N, 4)
    motion : array (4, N, 6)
    wake : array (14,)
    energy : array (2, 8)
    history : array (R, 13)
    shapes : array (R, N, 6)
    """

    quaternion: Array
    motion: Array
    wake: Array
    energy: Array
    history: Array
    shapes: Array


@lean_kernel()
def take_steps(
    rod: Rod, stream: Stream, step: float, steps: int, stride: int, shed: bool, course: Course,
    work: Work, scratch: Scratch,
) -> int:  # fmt: skip
    """Advance the rod as ``advance`` says, in arrays that the caller owns."""
    scheme = make_scheme(step)
    quaternion, motion, wake, energy = course.quaternion, course.motion, course.wake, course.energy
    turned, angle, rate, increment = scratch.turned, scratch.angle, scratch.rate, scratch.increment
    inertia, implicit, root = scratch.inertia, scratch.implicit, scratch.root
    hinge_acceleration, link_acceleration = scratch.hinge_acceleration, scratch.link_acceleration
    power, held, seen = scratch.power, scratch.held, scratch.seen
    for count in range(steps):
        predict(scheme, quaternion, motion, turned, angle, increment, rate)
        if shed:
            foretell_rim(rod.paddle, wake, step, scratch.rim, seen)
        evaluate(rod, stream, turned, angle, rate, seen, work)
        if shed:
            step_rim(rod.paddle, work.paddle_motion, wake, step, scratch.rim)
        add_implicit_drag(rod, work, scheme, motion[3], scratch.slope, inertia)
        add_implicit_hinges(rod, work, scheme, angle, motion[2], implicit)
        accelerate(
            rod,
            work.relative,
            inertia,
            work.bias,
            work.drifts,
            work.moment,
            implicit,
            hinge_acceleration,
            link_acceleration,
            scratch.gain,
            root,
        )
        worst = correct(
            scheme,
            hinge_acceleration,
            link_acceleration,
            rate,
            increment,
            turned,
            quaternion,
            motion,
        )
        if not worst < DIVERGED_RATE:
            return count
        powers(rod, work, link_acceleration, angle, power)
        for i in range(2, ENERGY_TERMS):
            energy[0, i] += 0.5 * step * (energy[1, i] + power[i])
            energy[1, i] = power[i]
        energy[1, 0] = power[0]
        energy[1, 1] = power[1]
        if (count + 1) % stride == 0:
            row = count // stride
            log_row(rod, work, root, held, wake[0], course.history[row], course.shapes[row])
    return steps


@kernel()
def advance(
    rod: Rod,
    stream: Stream,
    step: float,
    steps: int,
    stride: int,
    shed: bool,
    quaternion: Array,
    motion: Array,
    wake: Array,
    energy: Array,
    history: Array,
    shapes: Array,
) -> int:
    """Advance the rod by ``steps`` steps of ``step`` [s]; return the number completed.

    Parameters
    ----------
    quaternion : array (N, 4), hinge rotations, updated
    motion : array (4, N, 6), updated: rows are rate, algorithmic acceleration, true hinge
        acceleration (first three columns) and last link acceleration
    wake : array (14,), see hydrodynamics/rim.py: foretell_rim, updated
    energy : array (2, 8), running integrals of the powers and their last values, updated
    history : array (steps // stride, 13), rows of tip position (paddle centre if there is
        one), tip tangent, force and moment of the part on its clamp (world axes), wake state
    shapes : array (steps // stride, N, 6), node positions [m] and width axes, with the history
    """
    course = Course(quaternion, motion, wake, energy, history, shapes)
    work, scratch = make_work(rod.length.shape[0]), make_scratch(rod, stream)
    return take_steps(rod, stream, step, steps, stride, shed, course, work, scratch)
