"""Screening of a paddle: growth against damping of its small motions, and the search for its start.

About the rest shape of a coarse rod, in its lowest wet modes,

    M x'' + (C + t E) x' + (K + E) x = 0,

with the elastic part E and its damping time t at the frequency of the motion that leads. Where
its growth passes zero the paddle starts to beat; beyond, its rate is that of the beat, near enough.
How far it strokes then, and where it hangs on average, only a march tells.
"""

from __future__ import annotations

import math

import numpy as np

from simsoft.bodies.rod.forces import make_work
from simsoft.bodies.rod.screening_kernel import Rods, settle_rest, wet_basis
from simsoft.bodies.rod.tangents import (
    at_rest,
    elastic_tangent,
    padded,
    residual,
    tangents_in_wake,
)
from simsoft.core.arrays import Array
from simsoft.core.compiled import kernel
from simsoft.mechanics.material_law import Law, modulus_at, time_at
from simsoft.mechanics.rod import Rod, Stream

LARGEST_TURN = 1.2  # [rad] of the tip from one speed to the next: more is another branch
MODES = 6  # wet modes that carry the motion
FOUND, GROWTH, FREQUENCY, FOLD, ASIDE = 0, 1, 2, 3, 4  # columns of the answers
SPAN = 30.0  # highest over lowest speed of the search for the start
CLIMBS = 18
REFINEMENTS = 5
SAME_RATE = 0.01  # relative: the material is taken at the frequency found
MATERIAL_PASSES = 6
SLOWEST_BEAT = 0.1  # of the first wet mode: anything slower creeps aside and does not beat


@kernel()
def leading_motion(mass: Array, damping: Array, stiffness: Array) -> tuple[float, float]:
    """Return growth [1/s] and frequency [rad/s] of the small motion that grows most."""
    m = mass.shape[0]
    system = np.zeros((2 * m, 2 * m))
    inverse = np.linalg.inv(mass)
    system[m:, :m] = -(inverse @ stiffness)
    system[m:, m:] = -(inverse @ damping)
    for i in range(m):
        system[i, m + i] = 1.0
    best = -np.inf + 0.0j
    for value in np.linalg.eigvals(system.astype(np.complex128)):
        if value.real > best.real:
            best = value
    return best.real, abs(best.imag)


@kernel()
def grows_at(
    rods: Rods, stream: Stream, angle: Array, basis: Array, law: Law, first: float
) -> tuple[float, float]:
    """Return growth [1/s] and frequency [rad/s] of the motion that leads about a rest shape.

    ``first`` [rad/s] is the first wet mode, at which the material is taken at first. The paddle's
    turning moment in the rest shape is taken off ``rods.moving``.
    """
    rods.moving.paddle.steady_turning[:] = at_rest(rods.moving, stream, angle).turning
    mass, damping, stiffness = tangents_in_wake(rods.moving, stream, angle, basis)
    elastic = padded(elastic_tangent(rods.unit, angle, basis), mass.shape[0])
    growth, omega, taken = 0.0, 0.0, first
    for _ in range(MATERIAL_PASSES):
        modulus = modulus_at(law, taken / (2.0 * math.pi))
        time = time_at(law, taken / (2.0 * math.pi))
        growth, omega = leading_motion(
            mass,
            damping + modulus * time * elastic,
            stiffness + (modulus - law.modulus) * elastic,
        )
        if abs(omega - taken) <= SAME_RATE * taken:
            break
        taken = max(omega, SLOWEST_BEAT * first)
    return growth, omega


@kernel()
def tip_tangent(rod: Rod, angle: Array) -> Array:
    """Return the tangent (3,) at the tip, world axes."""
    n = angle.shape[0]
    work = make_work(n)
    still = np.zeros((n, 3))
    stream = Stream(np.zeros(3), np.array([1.0, 0.0, 0.0]), 0.0)
    residual(rod, stream, angle, still, still, work, np.zeros((n, 3)))
    return work.frame[n - 1, :, 2].copy()


@kernel()
def screen_speed(
    rods: Rods, law: Law, stream: Stream, basis: Array, first: float, angle: Array, row: Array
) -> None:
    """Fill one row of answers and move ``angle`` (N, 3) to the rest shape of the stream."""
    before = angle.copy()
    row[:] = 0.0
    if not settle_rest(rods.resting, stream, angle):
        angle[:] = before
        return
    if np.abs(angle - before).sum() > LARGEST_TURN:
        angle[:] = before
        return
    row[FOUND] = 1.0
    moulded = tip_tangent(rods.resting, rods.resting.natural)
    cosine = (moulded * tip_tangent(rods.resting, angle)).sum()
    row[FOLD] = math.acos(min(1.0, max(-1.0, cosine)))
    growth, omega = grows_at(rods, stream, angle, basis, law, first)
    row[GROWTH], row[FREQUENCY] = growth, omega / (2.0 * math.pi)
    row[ASIDE] = 1.0 if growth > 0.0 and omega < SLOWEST_BEAT * first else 0.0


@kernel()
def screen(
    rods: Rods,
    law: Law,
    speeds: Array,
    direction: Array,
    shear: float,
    top: float,
    answers: Array,
    start: Array,
) -> float:
    """Screen a paddle at ascending speeds [m/s] and search its start; return the first wet mode.

    Parameters
    ----------
    top : float [m/s], end of the search for the start
    answers : array (S, 5), filled; columns FOUND, GROWTH [1/s], FREQUENCY [Hz], FOLD [rad], ASIDE
    start : array (5,), filled: speed [m/s] (0: none), frequency [Hz], last speed tried, whether
        its shape turns aside, whether its rest shape was found

    Returns
    -------
    first : float [Hz]; negative where there is no rest shape in still water
    """
    n = rods.unit.length.shape[0]
    angle = rods.resting.natural.copy()
    still = Stream(np.zeros(3), direction, 0.0)
    if not settle_rest(rods.resting, still, angle):
        return -1.0
    basis = np.zeros((3 * n, min(MODES, 3 * n)))
    first = wet_basis(rods.moving, still, angle, basis)
    if not np.isfinite(first) or first <= 0.0:
        return -1.0
    here = angle.copy()
    for s in range(speeds.shape[0]):
        stream = Stream(speeds[s] * direction, direction, shear)
        screen_speed(rods, law, stream, basis, first, here, answers[s])
    start[:] = 0.0
    search_start(rods, law, basis, first, angle, direction, shear, top, start)
    return first / (2.0 * math.pi)


@kernel()
def search_start(
    rods: Rods,
    law: Law,
    basis: Array,
    first: float,
    angle: Array,
    direction: Array,
    shear: float,
    top: float,
    start: Array,
) -> None:
    """Fill ``start``: climb until small motions grow, then close in between."""
    row = np.zeros(5)
    below, here = angle.copy(), angle.copy()
    low, low_growth = 0.0, -1.0
    high, high_growth = 0.0, 0.0
    climb = SPAN ** (1.0 / (CLIMBS - 1))
    speed = top / SPAN
    for _ in range(CLIMBS):
        here[:] = below
        screen_speed(rods, law, Stream(speed * direction, direction, shear), basis, first, here,
                     row)  # fmt: skip
        start[2], start[3], start[4] = speed, row[ASIDE], row[FOUND]
        if row[FOUND] == 0.0 or row[ASIDE] > 0.0:
            return
        if row[GROWTH] > 0.0:
            high, high_growth = speed, row[GROWTH]
            start[1] = row[FREQUENCY]
            break
        low, low_growth = speed, row[GROWTH]
        below[:] = here
        speed *= climb
    if high <= 0.0:
        return
    for k in range(REFINEMENTS):
        share = 0.5 if k % 2 else low_growth / (low_growth - high_growth)
        middle = low + min(max(share, 0.05), 0.95) * (high - low)
        here[:] = below
        screen_speed(rods, law, Stream(middle * direction, direction, shear), basis, first, here,
                     row)  # fmt: skip
        if row[FOUND] == 0.0 or row[ASIDE] > 0.0:
            break
        if row[GROWTH] > 0.0:
            high, high_growth = middle, row[GROWTH]
            start[1] = row[FREQUENCY]
        else:
            low, low_growth = middle, row[GROWTH]
            below[:] = here
    start[0] = high
