"""Screening of a wake-driven paddle: limit cycle by harmonic balance, and the search for its start.

See screening_kernel.py for the equations and what they leave out.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from simsoft.compiled import kernel
from simsoft.solve.forces import make_work
from simsoft.solve.linearise import elastic_tangent, residual, tangents
from simsoft.solve.screening_kernel import (
    Rods,
    Small,
    Stuff,
    settle_rest,
    wake_coupling,
    wet_basis,
)
from simsoft.structure.rod import Array, Rod, Stream

Complexes = npt.NDArray[np.complexfloating]

LARGEST_TURN = 1.2  # [rad] of the tip from one speed to the next: more is another branch
MODES = 6  # wet modes that carry the motion
SCAN = 14  # frequencies from SLOWEST to FASTEST times the shedding rate
SLOWEST, FASTEST = 0.4, 2.5
HALVINGS = 6
FOUND, FREQUENCY, STROKE, FOLD, FLUTTERS = 0, 1, 2, 3, 4  # columns of the answers
START_RULE = 0.75  # start speed over f_n D/St, as in retrieve.py
FROM_GUESS = 0.65  # of it, where the search for the start begins
CLIMB = 1.3
MOST_TRIES = 24
CLOSE = 0.02  # relative, stroke against the wanted one
CLOSE_SPEED = 1.005


@kernel()
def material_at(stuff: Stuff, frequency: float) -> tuple[float, float]:
    """Return modulus [Pa] and Kelvin-Voigt time [s] at a frequency [Hz], as lure.py has them."""
    modulus = stuff.resting
    if frequency > stuff.dwell and stuff.exponent != 0.0:
        modulus *= (frequency / stuff.dwell) ** stuff.exponent
    time = stuff.kelvin_voigt
    if time < 0.0:
        time = stuff.loss / (2.0 * math.pi * max(frequency, stuff.dwell))
    return modulus, time


@kernel()
def answer_at(small: Small, stuff: Stuff, omega: float) -> tuple[complex, Complexes]:
    """Return H at a frequency [rad/s] and the motion (m,) for a wake state of one."""
    modulus, time = material_at(stuff, omega / (2.0 * math.pi))
    m = small.push.shape[0]
    system = np.zeros((m, m), dtype=np.complex128)
    for i in range(m):
        for j in range(m):
            real = small.stiffness[i, j] - omega**2 * small.mass[i, j]
            real += (modulus - stuff.resting) * small.elastic[i, j]
            imaginary = small.damping[i, j] + modulus * time * small.elastic[i, j]
            system[i, j] = real + 1j * omega * imaginary
    motion = np.linalg.solve(system, small.push.astype(np.complex128))
    through = 0.0 + 0.0j
    for j in range(m):
        through += (small.by_angle[j] + 1j * omega * small.by_rate[j]) * motion[j]
    return -through / (1.0 - through), -motion / (1.0 - through)


@kernel()
def grows(mass: Array, damping: Array, stiffness: Array) -> bool:
    """Tell whether small motions grow by themselves, without the wake."""
    m = mass.shape[0]
    system = np.zeros((2 * m, 2 * m))
    inverse = np.linalg.inv(mass)
    system[m:, :m] = -(inverse @ stiffness)
    system[m:, m:] = -(inverse @ damping)
    largest = -np.inf
    for i in range(m):
        system[i, m + i] = 1.0
    for value in np.linalg.eigvals(system.astype(np.complex128)):
        largest = max(largest, value.real)
    return largest > 0.0


@kernel()
def balance(small: Small, stuff: Stuff, shed: float, growth: float) -> tuple[float, float]:
    """Return frequency [rad/s] and squared wake amplitude of the strongest cycle, or zeros."""
    best_square, best_omega = 0.0, 0.0
    ratio = (FASTEST / SLOWEST) ** (1.0 / SCAN)
    low = SLOWEST * shed
    h, _ = answer_at(small, stuff, low)
    f_low = shed**2 * (1.0 - h.real) - low**2
    for _ in range(SCAN):
        high = low * ratio
        h, _ = answer_at(small, stuff, high)
        f_high = shed**2 * (1.0 - h.real) - high**2
        if f_low * f_high <= 0.0:
            a, b, f_a, f_b = low, high, f_low, f_high
            for _ in range(HALVINGS):
                middle = 0.5 * (a + b)
                h, _ = answer_at(small, stuff, middle)
                f_middle = shed**2 * (1.0 - h.real) - middle**2
                if f_low * f_middle <= 0.0:
                    b, f_b = middle, f_middle
                else:
                    a, f_a = middle, f_middle
            a += (b - a) * f_a / (f_a - f_b) if f_a != f_b else 0.0
            h, _ = answer_at(small, stuff, a)
            square = 4.0 * (1.0 + shed * h.imag / (growth * a))
            if square > best_square:
                best_square, best_omega = square, a
        low, f_low = high, f_high
    return best_omega, best_square


@kernel()
def cycle_at(
    rod: Rod, unit: Rod, stream: Stream, angle: Array, basis: Array, stuff: Stuff
) -> tuple[float, float, bool]:
    """Return frequency [Hz] and stroke [m] of the limit cycle, and whether the shape flutters.

    ``rod`` has its resting stiffness, ``unit`` that of unit modulus. Zeros where there is no
    cycle. Past a flutter limit the balance says nothing: the march has to.
    """
    m = basis.shape[1]
    mass, damping, stiffness = tangents(rod, stream, angle, basis)
    elastic = elastic_tangent(unit, angle, basis)
    small = Small(
        mass, damping, stiffness, elastic, np.zeros(m), np.zeros(m), np.zeros(m), np.zeros((3, m))
    )
    shed = wake_coupling(rod, stream, angle, basis, small)
    modulus, time = material_at(stuff, shed / (2.0 * math.pi))
    if grows(
        mass, damping + modulus * time * elastic, stiffness + (modulus - stuff.resting) * elastic
    ):
        return 0.0, 0.0, True
    omega, square = balance(small, stuff, shed, rod.paddle.wake_growth)
    if square <= 0.0:
        return 0.0, 0.0, False
    _, motion = answer_at(small, stuff, omega)
    path = 0.0  # the paddle's centre goes along an ellipse so narrow that it is near enough a line
    for i in range(3):
        part = 0.0 + 0.0j
        for j in range(m):
            part += small.reach[i, j] * motion[j]
        path += part.real**2 + part.imag**2
    return omega / (2.0 * math.pi), 2.0 * math.sqrt(square * path), False


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
    rods: Rods, stuff: Stuff, stream: Stream, basis: Array, angle: Array, row: Array
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
    row[FREQUENCY], row[STROKE], flutters = cycle_at(
        rods.moving, rods.unit, stream, angle, basis, stuff
    )
    row[FLUTTERS] = 1.0 if flutters else 0.0


@kernel()
def screen(
    rods: Rods,
    stuff: Stuff,
    speeds: Array,
    direction: Array,
    shear: float,
    wanted: float,
    top: float,
    answers: Array,
    start: Array,
) -> float:
    """Screen a paddle at ascending speeds [m/s] and search its start; return the first wet mode.

    Parameters
    ----------
    wanted : float [m], stroke that counts as a start; 0 leaves the search out
    top : float [m/s], end of the search
    answers : array (S, 5), filled; columns FOUND, FREQUENCY [Hz], STROKE [m], FOLD [rad], FLUTTERS
    start : array (5,), filled: speed [m/s] (0: none), frequency [Hz], last speed tried, whether
        its shape flutters, whether its rest shape was found

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
    first = wet_basis(rods.moving, still, angle, basis) / (2.0 * math.pi)
    if not np.isfinite(first) or first <= 0.0:
        return -1.0
    here = angle.copy()
    for s in range(speeds.shape[0]):
        stream = Stream(speeds[s] * direction, direction, shear)
        screen_speed(rods, stuff, stream, basis, here, answers[s])
    if wanted > 0.0:
        paddle = rods.unit.paddle
        guess = START_RULE * first * paddle.width / paddle.strouhal
        search_start(rods, stuff, basis, angle, direction, shear, wanted, guess, top, start)
    return first


@kernel()
def search_start(
    rods: Rods,
    stuff: Stuff,
    basis: Array,
    still_angle: Array,
    direction: Array,
    shear: float,
    wanted: float,
    guess: float,
    top: float,
    start: Array,
) -> None:
    """Fill ``start``: climb until the stroke passes ``wanted``, then close in between."""
    row = np.zeros(5)
    low_angle, angle = still_angle.copy(), still_angle.copy()
    speed = min(FROM_GUESS * guess, 0.5 * top)
    low, low_stroke = 0.0, 0.0
    high, high_stroke = 0.0, 0.0
    start[:] = 0.0
    for _ in range(MOST_TRIES):
        angle[:] = low_angle
        screen_speed(rods, stuff, Stream(speed * direction, direction, shear), basis, angle, row)
        start[2], start[3], start[4] = speed, row[FLUTTERS], row[FOUND]
        if row[FOUND] == 0.0 or row[FLUTTERS] > 0.0:
            start[0] = 0.0
            return
        stroke = row[STROKE]
        if stroke >= wanted:
            high, high_stroke = speed, stroke
            start[0], start[1] = speed, row[FREQUENCY]
        else:
            low, low_stroke = speed, max(stroke, 1e-12)
            low_angle[:] = angle
        if abs(math.log(max(stroke, 1e-12) / wanted)) < CLOSE and stroke > 0.0:
            start[0], start[1] = speed, row[FREQUENCY]
            return
        if high == 0.0:
            if speed >= top:
                start[0] = 0.0
                return
            speed = min(speed * CLIMB, top)
        elif low == 0.0:
            speed = speed / CLIMB  # begun too high
            if speed < 1e-3 * guess:
                return
        else:
            if high < CLOSE_SPEED * low:
                return
            slope = math.log(high_stroke / low_stroke) / math.log(high / low)
            share = math.log(wanted / low_stroke) / max(slope * math.log(high / low), 1e-9)
            speed = low * (high / low) ** min(max(share, 0.08), 0.92)
