"""Compiled time stepping of one rod: generalised-alpha, one linear solve a step.

Lie-group generalised-alpha (Bruls & Cardona 2010, J. Comput. Nonlinear Dyn. 5:031002) with
the predictor evaluated once and one linearly implicit correction. Hinge stiffness, hinge
damping and drag are implicit, all other loads explicit at the predicted state; the error of
the missing tangents is of second order in the step, as is the scheme.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from simsoft.compiled import kernel, lean_kernel
from simsoft.loads.paddle import foretell_wake, step_wake
from simsoft.loads.resistive import drag_rate
from simsoft.loads.section import STREAM, VELOCITY
from simsoft.solve.forces import (
    DEAD,
    PADDLE,
    REACTIVE,
    RESISTIVE,
    Work,
    evaluate,
    held_load,
    make_work,
)
from simsoft.structure.dynamics import accelerate
from simsoft.structure.elastic import damping_power, elastic_energy, hinge_tangent
from simsoft.structure.rod import Array, Rod, Stream
from simsoft.structure.rotation import append_rotation, vector_from_quaternion

RADIUS = 0.5  # spectral radius at infinite frequency: 0.8 let short waves of an undamped rod grow
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
def powers(
    rod: Rod, work: Work, link_acceleration: Array, angle: Array, rate: Array, p: Array
) -> None:
    """Write kinetic energy, stored energy and the power of each load (8,), lab axes.

    The velocity in the lab is that against the water plus the stream's. The fluid's inertia
    force (the mass-matrix part of reactive and paddle load) is the last entry.
    """
    p[:] = 0.0
    n = rod.length.shape[0]
    lab = work.spare
    for k in range(n):
        reach = 0.5 * rod.length[k]
        for i in range(3):
            lab[i] = work.spin[k, i]
            lab[3 + i] = work.state[k, VELOCITY, i] + work.state[k, STREAM, i]
        w = work.wrench[k]
        for i in range(6):
            p[2] += w[RESISTIVE, i] * lab[i]
            p[3] += w[REACTIVE, i] * lab[i]
            p[4] += w[DEAD, i] * lab[i]
            p[5] += w[PADDLE, i] * lab[i]
        lab[3] -= lab[1] * reach
        lab[4] += lab[0] * reach
        for i in range(6):
            momentum = 0.0
            fluid = 0.0
            for j in range(6):
                momentum += rod.structure[k, i, j] * lab[j]
                fluid += rod.fluid[k, i, j] * link_acceleration[k, j]
            p[0] += 0.5 * lab[i] * momentum
            p[7] -= lab[i] * fluid
    p[1] = elastic_energy(rod, angle)
    p[6] = damping_power(rod, angle, rate)


class Scheme(NamedTuple):
    """Coefficients of one step of the scheme.

    Attributes
    ----------
    step : float [s]
    alpha_m, gamma, beta : float [-]
    share : float [-], (1 - alpha_f)/(1 - alpha_m)
    rate_gain : float [s], change of the rate with the acceleration
    angle_gain : float [s^2], change of the angle with the acceleration
    """

    step: float
    alpha_m: float
    gamma: float
    beta: float
    share: float
    rate_gain: float
    angle_gain: float


@lean_kernel()
def make_scheme(step: float) -> Scheme:
    """Return the coefficients for a step [s] at the spectral radius ``RADIUS``."""
    alpha_m = (2.0 * RADIUS - 1.0) / (RADIUS + 1.0)
    alpha_f = RADIUS / (RADIUS + 1.0)
    gamma = 0.5 + alpha_f - alpha_m
    beta = 0.25 * (gamma + 0.5) ** 2
    share = (1.0 - alpha_f) / (1.0 - alpha_m)
    return Scheme(
        step, alpha_m, gamma, beta, share, step * gamma * share, step * step * beta * share
    )


@lean_kernel()
def predict(
    scheme: Scheme,
    quaternion: Array,
    motion: Array,
    turned: Array,
    angle: Array,
    increment: Array,
    rate: Array,
) -> None:
    """Write rotations, angles, increments and rates at the end of a step, old acceleration."""
    step = scheme.step
    for k in range(quaternion.shape[0]):
        for i in range(3):
            algorithmic = motion[1, k, i]
            guess = (motion[2, k, i] - scheme.alpha_m * algorithmic) / (1.0 - scheme.alpha_m)
            increment[k, i] = step * motion[0, k, i] + step * step * (
                (0.5 - scheme.beta) * algorithmic + scheme.beta * guess
            )
            rate[k, i] = motion[0, k, i] + step * (
                (1.0 - scheme.gamma) * algorithmic + scheme.gamma * guess
            )
        append_rotation(quaternion[k], increment[k], turned[k])
        vector_from_quaternion(turned[k], angle[k])


@lean_kernel()
def add_implicit_drag(
    rod: Rod, work: Work, scheme: Scheme, old: Array, slope: Array, inertia: Array
) -> None:
    """Fill the link inertias (N, 6, 6) with the implicit drag and take its old part off the bias.

    ``old`` (N, 6) is the last link acceleration; ``slope`` (3,) is scratch space.
    """
    for k in range(rod.length.shape[0]):
        reach = 0.5 * rod.length[k]
        drag_rate(rod, k, work.state[k, VELOCITY], slope)
        own = inertia[k]
        for i in range(6):
            for j in range(6):
                own[i, j] = rod.structure[k, i, j] + rod.fluid[k, i, j]
        s0 = scheme.rate_gain * slope[0]
        s1 = scheme.rate_gain * slope[1]
        s2 = scheme.rate_gain * slope[2]
        own[3, 3] += s0
        own[3, 1] += s0 * reach
        own[1, 3] += s0 * reach
        own[1, 1] += s0 * reach * reach
        own[4, 4] += s1
        own[4, 0] -= s1 * reach
        own[0, 4] -= s1 * reach
        own[0, 0] += s1 * reach * reach
        own[5, 5] += s2
        p0 = s0 * (old[k, 3] + old[k, 1] * reach)
        p1 = s1 * (old[k, 4] - old[k, 0] * reach)
        work.bias[k, 3] -= p0
        work.bias[k, 1] -= p0 * reach
        work.bias[k, 4] -= p1
        work.bias[k, 0] += p1 * reach
        work.bias[k, 5] -= s2 * old[k, 5]


@lean_kernel()
def add_implicit_hinges(
    rod: Rod, work: Work, scheme: Scheme, angle: Array, old: Array, implicit: Array
) -> None:
    """Fill the implicit hinge matrices (N, 3, 3) and add their old part to the moments."""
    gain = scheme.rate_gain * rod.kelvin_voigt + scheme.angle_gain
    for k in range(rod.length.shape[0]):
        hinge_tangent(rod, k, angle[k], gain, implicit[k])
        for i in range(3):
            for j in range(3):
                work.moment[k, i] += implicit[k, i, j] * old[k, j]


@lean_kernel()
def correct(
    scheme: Scheme,
    hinge_acceleration: Array,
    link_acceleration: Array,
    rate: Array,
    increment: Array,
    turned: Array,
    quaternion: Array,
    motion: Array,
) -> float:
    """Take the new accelerations into rotations and motion; return the largest hinge rate."""
    worst = 0.0
    for k in range(quaternion.shape[0]):
        for i in range(3):
            change = hinge_acceleration[k, i] - motion[2, k, i]
            guess = (motion[2, k, i] - scheme.alpha_m * motion[1, k, i]) / (1.0 - scheme.alpha_m)
            motion[1, k, i] = guess + scheme.share * change
            motion[2, k, i] = hinge_acceleration[k, i]
            motion[0, k, i] = rate[k, i] + scheme.rate_gain * change
            increment[k, i] += scheme.angle_gain * change
            worst = max(worst, abs(motion[0, k, i]))
            motion[3, k, i] = link_acceleration[k, i]
            motion[3, k, 3 + i] = link_acceleration[k, 3 + i]
        append_rotation(quaternion[k], increment[k], turned[k])
        for i in range(4):
            quaternion[k, i] = turned[k, i]
    return worst


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
    inertia : array (N, 6, 6); implicit : array (N, 3, 3), see structure/dynamics.py: accelerate
    hinge_acceleration : array (N, 3); link_acceleration : array (N, 6)
    gain : array (N + 2, 6, 6)
    root : array (6,), wrench on the clamp
    slope : array (3,)
    power : array (8,), see ENERGY_NAMES
    held : array (3,) [N], load on the half element in the clamp
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
    )


class Course(NamedTuple):
    """State and record of a march, see ``advance``.

    Attributes
    ----------
    quaternion : array (N, 4)
    motion : array (4, N, 6)
    wake : array (4,)
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
    power, held = scratch.power, scratch.held
    for count in range(steps):
        predict(scheme, quaternion, motion, turned, angle, increment, rate)
        ahead = foretell_wake(rod.paddle, wake, step) if shed else 0.0
        evaluate(rod, stream, turned, angle, rate, ahead, shed, work)
        if shed:
            step_wake(rod.paddle, work.paddle_motion, wake, step)
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
        powers(rod, work, link_acceleration, angle, rate, power)
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
    wake : array (4,), see loads/paddle.py: foretell_wake, updated
    energy : array (2, 8), running integrals of the powers and their last values, updated
    history : array (steps // stride, 13), rows of tip position (paddle centre if there is
        one), tip tangent, force and moment of the part on its clamp (world axes), wake state
    shapes : array (steps // stride, N, 6), node positions [m] and width axes, with the history
    """
    course = Course(quaternion, motion, wake, energy, history, shapes)
    work, scratch = make_work(rod.length.shape[0]), make_scratch(rod, stream)
    return take_steps(rod, stream, step, steps, stride, shed, course, work, scratch)
