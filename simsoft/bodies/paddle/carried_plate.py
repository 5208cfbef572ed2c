"""A plate in the frame of the rod's end that carries it: its motion, its load on the end."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from simsoft.bodies.plate.stepper import times_mass
from simsoft.bodies.rod.forces import Work
from simsoft.core.arrays import Array, Integers
from simsoft.core.compiled import kernel
from simsoft.hydrodynamics.flexible_paddle import Pad, pad_force
from simsoft.hydrodynamics.section.motion import VELOCITY
from simsoft.mechanics.dynamics import acceleration_from_parent
from simsoft.mechanics.plate import Plate
from simsoft.mechanics.plate_forces import internal_forces
from simsoft.mechanics.rod import Rod


class Leaf(NamedTuple):
    """The plate as the march needs it, all in the frame of the rod's end.

    Attributes
    ----------
    plate : Plate for unit modulus
    pad : Pad
    mass : tuple of data, columns, rows of the solid's mass, row-compressed
    dead : array (n, 3) [N], lab axes
    free : int array (m,), unknowns of 6 n
    modulus, time : float [Pa], [s]
    length : float [m], of the plate
    inverse : array (m, m), of the iteration matrix of the free unknowns
    carried : array (m, 6), mass between them and the end's motion
    follows : array (m, 6), inverse times carried
    end : array (6, 6), inertia on the end with the plate's unknowns eliminated
    """

    plate: Plate
    pad: Pad
    mass: tuple[Array, Integers, Integers]
    dead: Array
    free: Integers
    modulus: float
    time: float
    length: float
    inverse: Array
    carried: Array
    follows: Array
    end: Array


class TrialPlate(NamedTuple):
    """Scratch arrays of one iteration: the plate in its frame, and the end's motion.

    Attributes
    ----------
    state, rate, change : array (n, 6), in the end's frame
    absolute, acceleration : array (n, 6), rates against the water and accelerations, same axes
    inner, force, inertia, out : array (n, 6)
    links : array (N, 6), spare : array (N, 6), result : array (N, 3)
    wrench, motion : array (6,)
    """

    state: Array
    rate: Array
    change: Array
    absolute: Array
    acceleration: Array
    inner: Array
    force: Array
    inertia: Array
    out: Array
    links: Array
    spare: Array
    result: Array
    wrench: Array
    motion: Array


@kernel()
def make_trial_plate(n: int, hinges: int) -> TrialPlate:
    """Return scratch arrays for ``n`` nodes of the plate and ``hinges`` of the rod."""
    return TrialPlate(
        np.zeros((n, 6)),
        np.zeros((n, 6)),
        np.zeros((n, 6)),
        np.zeros((n, 6)),
        np.zeros((n, 6)),
        np.zeros((n, 6)),
        np.zeros((n, 6)),
        np.zeros((n, 6)),
        np.zeros((n, 6)),
        np.zeros((hinges, 6)),
        np.zeros((hinges, 6)),
        np.zeros((hinges, 3)),
        np.zeros(6),
        np.zeros(6),
    )


@kernel()
def link_accelerations(rod: Rod, work: Work, hinge: Array, links: Array) -> None:
    """Write the accelerations (N, 6) of the links about their hinges for those of the hinges."""
    for k in range(rod.length.shape[0]):
        here = links[k]
        for i in range(6):
            here[i] = work.drifts[k, i]
        if k > 0:
            reach = 0.5 * (rod.length[k - 1] + rod.length[k])
            acceleration_from_parent(work.relative[k], reach, links[k - 1], here)
        for i in range(3):
            here[i] += hinge[k, i]


@kernel()
def move_plate(rod: Rod, work: Work, trial: TrialPlate) -> None:
    """Fill absolute rates and accelerations of the plate's nodes from the end's motion."""
    last = rod.length.shape[0] - 1
    reach = 0.5 * rod.length[last]
    spin, link = work.spin[last], trial.links[last]
    turn = link[:3]
    # the link's acceleration is that of its components: the frame's turning is put back
    begin = link[3:] + np.cross(spin, work.glide[last])
    arm = np.array([0.0, 0.0, reach])
    begin = begin + np.cross(turn, arm) + np.cross(spin, np.cross(spin, arm))
    ride_along(trial, spin, work.state[last, VELOCITY], turn, begin)


@kernel()
def ride_along(trial: TrialPlate, spin: Array, velocity: Array, turn: Array, begin: Array) -> None:
    """Fill absolute rates and accelerations of nodes from the motion of the frame they are in.

    ``spin``, ``velocity``, ``turn`` and ``begin`` (3,) are the frame's rates and accelerations,
    about and of its origin, in its own axes.
    """
    for k in range(trial.state.shape[0]):
        for part in range(0, 6, 3):
            held = 1.0 if part == 0 else 0.0
            s, v = trial.state[k, part : part + 3], trial.rate[k, part : part + 3]
            for i in range(3):
                trial.absolute[k, part + i] = v[i] + held * velocity[i]
                trial.acceleration[k, part + i] = trial.change[k, part + i] + held * begin[i]
            for i in range(3):
                j, m = (i + 1) % 3, (i + 2) % 3
                carried = spin[j] * s[m] - spin[m] * s[j]
                trial.absolute[k, part + i] += carried
                trial.acceleration[k, part + i] += turn[j] * s[m] - turn[m] * s[j]
                # spin x (spin x s + 2 v), column by column of the outer cross product
                inner = carried + 2.0 * v[i]
                trial.acceleration[k, part + m] -= spin[j] * inner
                trial.acceleration[k, part + j] += spin[m] * inner


@kernel()
def weigh_plate(leaf: Leaf, frame: Array, wake: Array, trial: TrialPlate) -> tuple[float, float]:
    """Fill forces out of balance and the wrench on the end; return energy and power lost [J, W]."""
    stored, lost = internal_forces(leaf.plate, trial.state, trial.rate, leaf.time, trial.inner)
    pad_force(
        leaf.pad,
        trial.state,
        trial.absolute,
        trial.acceleration,
        wake,
        trial.force,
        trial.motion,
    )
    add_up(leaf.mass, leaf.dead, leaf.modulus, frame, trial)
    return leaf.modulus * stored, leaf.modulus * lost


@kernel()
def add_up(
    mass: tuple[Array, Integers, Integers],
    dead: Array,
    modulus: float,
    frame: Array,
    trial: TrialPlate,
) -> None:
    """Fill forces out of balance and their wrench about the origin of the plate's frame.

    ``mass``, ``dead`` and ``modulus`` as in ``Leaf``; ``frame`` (3, 3) turns the plate's axes
    into the lab's.
    """
    times_mass(mass[0], mass[1], mass[2], trial.acceleration.reshape(-1), trial.inertia.reshape(-1))
    trial.wrench[:] = 0.0
    for k in range(trial.state.shape[0]):
        for i in range(6):
            trial.out[k, i] = modulus * trial.inner[k, i] - trial.force[k, i] + trial.inertia[k, i]
        for i in range(3):
            for j in range(3):
                trial.out[k, i] -= frame[j, i] * dead[k, j]
        for i in range(3):
            j, m = (i + 1) % 3, (i + 2) % 3
            trial.wrench[3 + i] += trial.out[k, i]
            for part in range(0, 6, 3):
                s, f = trial.state[k, part : part + 3], trial.out[k, part : part + 3]
                trial.wrench[i] += s[j] * f[m] - s[m] * f[j]


@kernel()
def load_end(rod: Rod, wrench: Array, sign: float, bias: Array) -> None:
    """Add a wrench (6,) of the plate about the end node to the last link's bias (6,)."""
    reach = 0.5 * rod.length[rod.length.shape[0] - 1]
    for i in range(6):
        bias[i] += sign * wrench[i]
    bias[0] -= sign * reach * wrench[4]
    bias[1] += sign * reach * wrench[3]


@kernel()
def about_hinge(rod: Rod, end: Array, result: Array) -> None:
    """Add an inertia (6, 6) about the end node to the last link's (6, 6) about its hinge."""
    reach = 0.5 * rod.length[rod.length.shape[0] - 1]
    shift = np.eye(6)
    shift[3, 1] = reach
    shift[4, 0] = -reach
    result += np.dot(shift.T, np.dot(end, shift))
