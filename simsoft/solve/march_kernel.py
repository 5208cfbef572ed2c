"""Compiled time stepping of one rod: generalised-alpha, one linear solve a step.

Lie-group generalised-alpha (Bruls & Cardona 2010, J. Comput. Nonlinear Dyn. 5:031002) with
the predictor evaluated once and one linearly implicit correction. Hinge stiffness, hinge
damping and drag are implicit, all other loads explicit at the predicted state; the error of
the missing tangents is of second order in the step, as is the scheme.
"""

from __future__ import annotations

import numpy as np

from simsoft.compiled import kernel
from simsoft.loads.paddle import advance_wake, wake_drive
from simsoft.loads.resistive import drag_rate
from simsoft.loads.section import STREAM, VELOCITY
from simsoft.solve.forces import DEAD, PADDLE, REACTIVE, RESISTIVE, Work, evaluate, make_work
from simsoft.structure.dynamics import accelerate
from simsoft.structure.elastic import damping_power, elastic_energy, hinge_tangent
from simsoft.structure.rod import Array, Rod, Stream
from simsoft.structure.rotation import append_rotation, vector_from_quaternion

RADIUS = 0.8  # spectral radius at infinite frequency: short waves fade, the beat does not
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


@kernel()
def powers(
    rod: Rod, work: Work, link_acceleration: Array, angle: Array, rate: Array, p: Array
) -> None:
    """Write kinetic energy, stored energy and the power of each load (8,), lab axes.

    The velocity in the lab is that against the water plus the stream's. The fluid's inertia
    force (the mass-matrix part of reactive and paddle load) is the last entry.
    """
    p[:] = 0.0
    n = rod.length.shape[0]
    lab = np.zeros(6)
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
    wake : array (2,), wake state and its rate, updated
    energy : array (2, 8), running integrals of the powers and their last values, updated
    history : array (steps // stride, 13), rows of tip position (paddle centre if there is
        one), tip tangent, force and moment of the part on its clamp (world axes), wake state
    shapes : array (steps // stride, N, 3) [m], node positions, with the history
    """
    n = rod.length.shape[0]
    alpha_m = (2.0 * RADIUS - 1.0) / (RADIUS + 1.0)
    alpha_f = RADIUS / (RADIUS + 1.0)
    gamma = 0.5 + alpha_f - alpha_m
    beta = 0.25 * (gamma + 0.5) ** 2
    share = (1.0 - alpha_f) / (1.0 - alpha_m)
    rate_gain = step * gamma * share
    angle_gain = step * step * beta * share
    work = make_work(n)
    turned = np.zeros((n, 4))
    angle = np.zeros((n, 3))
    increment = np.zeros((n, 3))
    rate = np.zeros((n, 3))
    inertia = np.zeros((n, 6, 6))
    implicit = np.zeros((n, 3, 3))
    hinge_acceleration = np.zeros((n, 3))
    link_acceleration = np.zeros((n, 6))
    gain = np.zeros((n + 2, 6, 6))
    root = np.zeros(6)
    slope = np.zeros(3)
    power = np.zeros(ENERGY_TERMS)
    hinge_gain = rate_gain * rod.kelvin_voigt + angle_gain
    for count in range(steps):
        for k in range(n):
            for i in range(3):
                true = motion[2, k, i]
                guess = (true - alpha_m * motion[1, k, i]) / (1.0 - alpha_m)
                algorithmic = motion[1, k, i]
                increment[k, i] = step * motion[0, k, i] + step * step * (
                    (0.5 - beta) * algorithmic + beta * guess
                )
                rate[k, i] = motion[0, k, i] + step * ((1.0 - gamma) * algorithmic + gamma * guess)
            append_rotation(quaternion[k], increment[k], turned[k])
            vector_from_quaternion(turned[k], angle[k])
        evaluate(rod, stream, turned, angle, rate, wake[0], shed, work)
        if shed:
            drive, target = wake_drive(rod.paddle, work.paddle_motion)
            wake[0], wake[1] = advance_wake(
                wake[0], wake[1], rod.paddle.wake_growth, drive, target, step
            )
        for k in range(n):
            reach = 0.5 * rod.length[k]
            drag_rate(rod, k, work.state[k, VELOCITY], slope)
            own = inertia[k]
            for i in range(6):
                for j in range(6):
                    own[i, j] = rod.structure[k, i, j] + rod.fluid[k, i, j]
            old = motion[3, k]
            s0 = rate_gain * slope[0]
            s1 = rate_gain * slope[1]
            s2 = rate_gain * slope[2]
            own[3, 3] += s0
            own[3, 1] += s0 * reach
            own[1, 3] += s0 * reach
            own[1, 1] += s0 * reach * reach
            own[4, 4] += s1
            own[4, 0] -= s1 * reach
            own[0, 4] -= s1 * reach
            own[0, 0] += s1 * reach * reach
            own[5, 5] += s2
            p0 = s0 * (old[3] + old[1] * reach)
            p1 = s1 * (old[4] - old[0] * reach)
            work.bias[k, 3] -= p0
            work.bias[k, 1] -= p0 * reach
            work.bias[k, 4] -= p1
            work.bias[k, 0] += p1 * reach
            work.bias[k, 5] -= s2 * old[5]
            hinge_tangent(rod, k, angle[k], hinge_gain, implicit[k])
            for i in range(3):
                for j in range(3):
                    work.moment[k, i] += implicit[k, i, j] * motion[2, k, j]
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
            gain,
            root,
        )
        worst = 0.0
        for k in range(n):
            for i in range(3):
                change = hinge_acceleration[k, i] - motion[2, k, i]
                guess = (motion[2, k, i] - alpha_m * motion[1, k, i]) / (1.0 - alpha_m)
                motion[1, k, i] = guess + share * change
                motion[2, k, i] = hinge_acceleration[k, i]
                motion[0, k, i] = rate[k, i] + rate_gain * change
                increment[k, i] += angle_gain * change
                worst = max(worst, abs(motion[0, k, i]))
                motion[3, k, i] = link_acceleration[k, i]
                motion[3, k, 3 + i] = link_acceleration[k, 3 + i]
            append_rotation(quaternion[k], increment[k], turned[k])
            for i in range(4):
                quaternion[k, i] = turned[k, i]
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
            f = rod.frame
            c = rod.paddle.centre
            tip = work.frame[n - 1]
            for i in range(3):
                hung = tip[i, 0] * c[0] + tip[i, 1] * c[1] + tip[i, 2] * c[2]
                history[row, i] = work.node[n - 1, i] + hung
                history[row, 3 + i] = work.frame[n - 1, i, 2]
                history[row, 6 + i] = -(f[i, 0] * root[3] + f[i, 1] * root[4] + f[i, 2] * root[5])
                history[row, 9 + i] = -(f[i, 0] * root[0] + f[i, 1] * root[1] + f[i, 2] * root[2])
                for k in range(n):
                    shapes[row, k, i] = work.node[k, i]
            history[row, 12] = wake[0]
    return steps
