"""Time steps of a plate on a rod's end: Lie-group generalised-alpha, solved to convergence.

Rod and plate are one system. The plate lives in the frame of the rod's end, where its elastic
tangent hardly changes however far the rod swings, so one inverse of it serves for long. At every
iteration the plate's unknowns are eliminated with it: what is left is a wrench and a 6 by 6
inertia on the rod's end, and the rod is solved with both by articulated bodies, as with an end
body. Then the plate follows. Broyden's method betters both from iteration to iteration.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from simsoft.bodies.paddle.carried_plate import (
    Leaf,
    TrialPlate,
    about_hinge,
    link_accelerations,
    load_end,
    make_trial_plate,
    move_plate,
    weigh_plate,
)
from simsoft.bodies.plate.stepper import DONE, LOST, RENEW, TIRED, largest_move, learn, times_mass
from simsoft.bodies.rod.forces import Work, evaluate, make_work
from simsoft.bodies.rod.scheme import Scheme, add_implicit_hinges, make_scheme, predict
from simsoft.bodies.rod.stepper import (
    DIVERGED_RATE,
    ENERGY_TERMS,
    Scratch,
    make_scratch,
    powers,
)
from simsoft.core.arrays import Array
from simsoft.core.compiled import kernel
from simsoft.hydrodynamics.rim import foretell_rim, step_rim
from simsoft.hydrodynamics.section.motion import STREAM
from simsoft.mechanics.dynamics import accelerate, hinge_load, wrench_to_parent
from simsoft.mechanics.rod import Rod, Stream
from simsoft.mechanics.rotation import append_rotation, vector_from_quaternion

TOLERANCE = 1.0e-7  # of a correction, angles [rad], directors, places over the length
ITERATIONS = 14


class Bent(NamedTuple):
    """What the march carries from step to step.

    Attributes
    ----------
    quaternion : array (N, 4); hinges : array (4, N, 6), see ``rod.stepper.advance``
    plate : array (4, n, 6), state, rate, algorithmic and true acceleration in the end's frame
    wake : array (14,), see hydrodynamics/rim.py
    energy : array (2, 8), see ``rod.stepper.advance``
    """

    quaternion: Array
    hinges: Array
    plate: Array
    wake: Array
    energy: Array


@kernel()
def correction(
    rod: Rod,
    leaf: Leaf,
    scheme: Scheme,
    work: Work,
    scratch: Scratch,
    trial: TrialPlate,
    move: Array,
) -> None:
    """Write the correction of all accelerations into ``move`` (N + n, 6).

    Hinges take the last three columns of the first N rows. ``trial.result`` holds what is missing
    at the hinges, ``trial.out`` on the plate.
    """
    n, m = rod.length.shape[0], leaf.free.shape[0]
    own = np.empty(m)
    for j in range(m):
        own[j] = trial.out[leaf.free[j] // 6, leaf.free[j] % 6]
    solved = np.dot(leaf.inverse, own)
    none = np.zeros((n, 6))
    work.moment[:] = 0.0
    add_implicit_hinges(rod, work, scheme, scratch.angle, none, scratch.implicit)
    work.moment[:] = -trial.result
    work.bias[:] = 0.0
    pulled = np.dot(leaf.carried.T, solved)
    load_end(rod, pulled, -1.0, work.bias[n - 1])
    scratch.inertia[:] = rod.structure + rod.fluid
    about_hinge(rod, leaf.end, scratch.inertia[n - 1])
    accelerate(
        rod,
        work.relative,
        scratch.inertia,
        work.bias,
        none,
        work.moment,
        scratch.implicit,
        scratch.hinge_acceleration,
        scratch.link_acceleration,
        scratch.gain,
        scratch.root,
    )
    end = scratch.link_acceleration[n - 1].copy()
    reach = 0.5 * rod.length[n - 1]
    end[3] += end[1] * reach
    end[4] -= end[0] * reach
    follow = np.dot(leaf.follows, end)
    move[:] = 0.0
    move[:n, 3:] = scratch.hinge_acceleration
    for j in range(m):
        move[n + leaf.free[j] // 6, leaf.free[j] % 6] = -solved[j] - follow[j]


@kernel()
def foretell_plate(scheme: Scheme, plate: Array, foretold: Array) -> None:
    """Write state and rate (2, n, 6) of the plate at the end of a step, true acceleration kept."""
    step = scheme.step
    guess = (plate[3] - scheme.alpha_m * plate[2]) / (1.0 - scheme.alpha_m)
    foretold[0] = (
        plate[0]
        + step * plate[1]
        + step * step * ((0.5 - scheme.beta) * plate[2] + scheme.beta * guess)
    )
    foretold[1] = plate[1] + step * ((1.0 - scheme.gamma) * plate[2] + scheme.gamma * guess)


@kernel()
def evaluate_whole(
    rod: Rod, stream: Stream, leaf: Leaf, scheme: Scheme, bent: Bent, foretold: tuple[Array, Array,
    Array], shift: Array, wake: Array, work: Work, scratch: Scratch, trial: TrialPlate,
) -> tuple[float, float]:  # fmt: skip
    """Evaluate rod and plate at the end of a step whose accelerations have changed by ``shift``.

    ``foretold`` holds the hinges' increments (N, 3) and rates (N, 3) and the plate's state and
    rate (2, n, 6) with no change. Returns the plate's stored energy [J] and power lost [W].
    """
    n = rod.length.shape[0]
    for k in range(n):
        for i in range(3):
            change = shift[k, 3 + i]
            scratch.hinge_acceleration[k, i] = bent.hinges[2, k, i] + change
            scratch.increment[k, i] = foretold[0][k, i] + scheme.angle_gain * change
            scratch.rate[k, i] = foretold[1][k, i] + scheme.rate_gain * change
        append_rotation(bent.quaternion[k], scratch.increment[k], scratch.turned[k])
        vector_from_quaternion(scratch.turned[k], scratch.angle[k])
    shift_plate(scheme, bent.plate, foretold[2], shift[n:], trial)
    evaluate(rod, stream, scratch.turned, scratch.angle, scratch.rate, wake, work)
    link_accelerations(rod, work, scratch.hinge_acceleration, trial.links)
    move_plate(rod, work, trial)
    stored, lost = weigh_plate(leaf, work.frame[n - 1], wake, trial)
    load_end(rod, trial.wrench, 1.0, work.bias[n - 1])
    hinge_load(
        rod, work.relative, work.bias, work.drifts, work.moment, scratch.hinge_acceleration,
        trial.result, trial.spare,
    )  # fmt: skip
    return stored, lost


@kernel()
def keep(scheme: Scheme, bent: Bent, shift: Array, scratch: Scratch, trial: TrialPlate) -> float:
    """Take a converged step into the state of the march; return the largest hinge rate."""
    n = bent.quaternion.shape[0]
    share, alpha = scheme.share, scheme.alpha_m
    worst = 0.0
    for k in range(n):
        for i in range(3):
            guess = (bent.hinges[2, k, i] - alpha * bent.hinges[1, k, i]) / (1.0 - alpha)
            bent.hinges[1, k, i] = guess + share * shift[k, 3 + i]
            bent.hinges[2, k, i] += shift[k, 3 + i]
            bent.hinges[0, k, i] = scratch.rate[k, i]
            worst = max(worst, abs(scratch.rate[k, i]))
        bent.hinges[3, k] = trial.links[k]
        bent.quaternion[k] = scratch.turned[k]
    keep_plate(scheme, shift[n:], trial, bent.plate)
    return worst


@kernel()
def keep_plate(scheme: Scheme, shift: Array, trial: TrialPlate, plate: Array) -> None:
    """Take a converged step, its accelerations changed by ``shift`` (n, 6), into (4, n, 6)."""
    guess = (plate[3] - scheme.alpha_m * plate[2]) / (1.0 - scheme.alpha_m)
    plate[2] = guess + scheme.share * shift
    plate[3] = trial.change
    plate[0] = trial.state
    plate[1] = trial.rate


@kernel()
def shift_plate(
    scheme: Scheme, plate: Array, foretold: Array, shift: Array, trial: TrialPlate
) -> None:
    """Write state, rate and change of a plate whose accelerations have changed by ``shift``."""
    for k in range(trial.state.shape[0]):
        for i in range(6):
            change = shift[k, i]
            trial.state[k, i] = foretold[0, k, i] + scheme.angle_gain * change
            trial.rate[k, i] = foretold[1, k, i] + scheme.rate_gain * change
            trial.change[k, i] = plate[3, k, i] + change


@kernel()
def add_powers(
    leaf: Leaf, work: Work, trial: TrialPlate, stored: float, lost: float, power: Array
) -> None:
    """Add the plate's energies [J] and powers [W] to those of the rod (8,), lab axes."""
    last = work.frame.shape[0] - 1
    stream, frame = work.state[last, STREAM], work.frame[last]
    lab = trial.absolute.copy()
    for k in range(lab.shape[0]):
        for i in range(3):
            lab[k, i] += stream[i]
    momentum = np.empty(lab.size)
    times_mass(leaf.mass[0], leaf.mass[1], leaf.mass[2], lab.reshape(-1), momentum)
    power[0] += 0.5 * (momentum * lab.reshape(-1)).sum()
    power[1] += stored
    power[5] += (trial.force * lab).sum()
    power[6] += lost
    for k in range(lab.shape[0]):
        for j in range(3):
            for i in range(3):
                power[4] += frame[i, j] * leaf.dead[k, i] * lab[k, j]


@kernel()
def log_bent(
    rod: Rod, leaf: Leaf, work: Work, trial: TrialPlate, held: Array, wake: float, row: Array,
    shape: Array, places: Array,
) -> None:  # fmt: skip
    """Write one row (13,) of the history, nodes and width axes (N, 6) and the plate's places."""
    n = rod.length.shape[0]
    root = np.zeros(6)
    wrench_to_parent(work.relative[0], 0.5 * rod.length[0], work.bias[0], root)
    f, tip = rod.frame, work.frame[n - 1]
    row[0:3] = work.node[n - 1]
    for k in range(trial.state.shape[0]):
        for i in range(3):
            place = tip[i, 0] * trial.state[k, 0] + tip[i, 1] * trial.state[k, 1]
            place += tip[i, 2] * trial.state[k, 2]
            row[i] += leaf.pad.share[k] * place
            places[k, i] = work.node[n - 1, i] + place
    for i in range(3):
        row[3 + i] = tip[i, 2]
        row[6 + i] = held[i] - (f[i, 0] * root[3] + f[i, 1] * root[4] + f[i, 2] * root[5])
        row[9 + i] = -(f[i, 0] * root[0] + f[i, 1] * root[1] + f[i, 2] * root[2])
        for k in range(n):
            shape[k, i] = work.node[k, i]
            shape[k, 3 + i] = work.frame[k, i, 1]
    row[12] = wake


@kernel()
def advance_stem(
    rod: Rod,
    stream: Stream,
    leaf: Leaf,
    step: float,
    counts: tuple[int, int, int],
    shed: bool,
    bent: Bent,
    history: Array,
    shapes: Array,
    places: Array,
) -> tuple[int, int]:
    """March up to ``counts[0]`` steps; return how many were made and why it ended.

    Parameters
    ----------
    rod : Rod with its material
    leaf : Leaf, its inverse taken for this step
    step : float [s]
    counts : steps, steps from sample to sample, steps made since the last sample
    shed : bool, the wake acts
    bent : Bent, advanced in place
    history : array (R, 13), shapes : array (R, N, 6), see ``rod.stepper.advance``
    places : array (R, n, 3) [m], of the plate's nodes, lab axes

    Returns
    -------
    done, end : int, ``RENEW`` asks for a new inverse, ``LOST`` says that a step failed
    """
    n, nodes = rod.length.shape[0], leaf.dead.shape[0]
    scheme = make_scheme(step)
    work, scratch, trial = make_work(n), make_scratch(rod, stream), make_trial_plate(nodes, n)
    first, rate, plate = np.zeros((n, 3)), np.zeros((n, 3)), np.zeros((2, nodes, 6))
    kept = np.zeros((ITERATIONS, n + nodes, 6))
    power = np.zeros(ENERGY_TERMS)
    tired = 0
    steps, stride, offset = counts
    for s in range(steps):
        predict(scheme, bent.quaternion, bent.hinges, scratch.turned, scratch.angle, first, rate)
        foretell_plate(scheme, bent.plate, plate)
        if shed:
            foretell_rim(leaf.pad.paddle, bent.wake, step, scratch.rim, scratch.seen)
        shift = np.zeros((n + nodes, 6))
        found, used, stored, lost = False, ITERATIONS, 0.0, 0.0
        for iteration in range(ITERATIONS):
            stored, lost = evaluate_whole(
                rod, stream, leaf, scheme, bent, (first, rate, plate), shift, scratch.seen, work,
                scratch, trial,
            )  # fmt: skip
            if found:
                used = iteration
                break
            correction(rod, leaf, scheme, work, scratch, trial, kept[iteration])
            learn(kept, iteration, leaf.length)
            shift += kept[iteration]
            largest = largest_move(kept[iteration], leaf.length) * scheme.angle_gain
            if not math.isfinite(largest):
                return s, LOST
            found = largest < TOLERANCE
        if not found:
            return s, RENEW
        if not keep(scheme, bent, shift, scratch, trial) < DIVERGED_RATE:
            return s, LOST
        if shed:
            step_rim(leaf.pad.paddle, trial.motion, bent.wake, step, scratch.rim)
        powers(rod, work, trial.links, scratch.angle, power)
        add_powers(leaf, work, trial, stored, lost, power)
        keep_books(step, power, bent.energy)
        if (offset + s + 1) % stride == 0:
            r = (offset + s) // stride
            log_bent(
                rod, leaf, work, trial, scratch.held, bent.wake[0], history[r], shapes[r], places[r]
            )
        tired = tired + 1 if used >= TIRED else 0
        if tired >= 2:
            return s + 1, RENEW
    return steps, DONE


@kernel()
def keep_books(step: float, power: Array, energy: Array) -> None:
    """Add the powers (8,) of a step to the running sums (2, 8), energies as they are."""
    for i in range(2, ENERGY_TERMS):
        energy[0, i] += 0.5 * step * (energy[1, i] + power[i])
    energy[1] = power
