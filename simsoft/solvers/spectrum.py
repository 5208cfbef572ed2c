"""Eigenvalues of small motions of a part whose stiffness and damping change with the beat.

Every motion meets the modulus and the damping of its own frequency:

    (s^2 I + s (C + E tau(f) H) + K + (E(f) - E0) H) x = 0,   f = |Im s|/(2 pi),

with H the elastic part of the stiffness for unit modulus, all matrices multiplied by the inverse
of the mass. A loss factor is the same at all frequencies, so the linear problem with the complex
stiffness E (1 + i tan delta) H damps every beat as it should at once (Bishop & Johnson 1960, "The
Mechanics of Vibration", chapter 9, from memory); only the slow change of the modulus and growth
itself are left to put right. All its eigenvalues that could lead are then followed to solutions
of the true problem by Newton's method on the eigenvalue (Ruhe 1973, SIAM J. Numer. Anal. 10:674,
from memory).
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from scipy.linalg import eigvals

from simsoft.core.arrays import Array, ComplexArray
from simsoft.core.compiled import kernel, lean_kernel
from simsoft.mechanics.material_law import Law, modulus_at, time_at

FOLLOWED = 3  # eigenvalues followed at least, and as many of those the stream can drive
SHIFTED = 2.0  # times the largest shift of growth seen yet, and
NEAR = 0.05  # of an eigenvalue's size: what its growth may still gain on the way
CORRECTIONS = 20
AGREES = 1.0e-6  # relative change at which an eigenvalue is found: the next would be its square
LEAST = 1.0e-6  # [1/s] size an eigenvalue is measured against at least
ASIDE = 1.0e-8  # relative, how far from an eigenvalue its mode is looked for


class Pencil(NamedTuple):
    """Matrices (m, m) of small motions about a rest shape, multiplied by the inverse of the mass.

    Attributes
    ----------
    damping, stiffness : array (m, m), damping without that of the material
    elastic : array (m, m), part of the stiffness that grows with the modulus, for one pascal
    base : float [Pa], modulus that ``stiffness`` holds
    """

    damping: Array
    stiffness: Array
    elastic: Array
    base: float


def make_pencil(
    mass: Array, damping: Array, stiffness: Array, elastic: Array, base: float
) -> Pencil:
    """Return the pencil of matrices (m, m) that still have their mass in them."""
    rows = np.linalg.solve(mass, np.hstack((damping, stiffness, elastic)))
    parts = [np.ascontiguousarray(part) for part in np.hsplit(rows, 3)]
    return Pencil(parts[0], parts[1], parts[2], base)


@kernel()
def linear_matrices(pencil: Pencil, law: Law, at: float) -> tuple[ComplexArray, ComplexArray]:
    """Return stiffness and damping (m, m) with the material at one frequency ``at`` [Hz].

    A loss factor stands as a complex stiffness.
    """
    modulus = modulus_at(law, at)
    loss = 0.0 if law.kelvin_voigt >= 0.0 else law.loss_factor
    time = law.kelvin_voigt if law.kelvin_voigt >= 0.0 else 0.0
    stiffer, rate = modulus * (1.0 + 1j * loss) - pencil.base, modulus * time
    m = pencil.damping.shape[0]
    stiffness = np.empty((m, m), dtype=np.complex128)
    damping = np.empty((m, m), dtype=np.complex128)
    for i in range(m):
        for j in range(m):
            stiffness[i, j] = pencil.stiffness[i, j] + stiffer * pencil.elastic[i, j]
            damping[i, j] = pencil.damping[i, j] + rate * pencil.elastic[i, j]
    return stiffness, damping


@kernel()
def complex_spectrum(pencil: Pencil, law: Law, at: float) -> ComplexArray:
    """Return all eigenvalues [1/s] with the material at one frequency ``at`` [Hz].

    A loss factor stands as a complex stiffness, so only eigenvalues of positive imaginary part
    mean anything then.
    """
    stiffness, damping = linear_matrices(pencil, law, at)
    m = stiffness.shape[0]
    system = np.zeros((2 * m, 2 * m), dtype=np.complex128)
    for i in range(m):
        system[i, m + i] = 1.0
        for j in range(m):
            system[m + i, j] = -stiffness[i, j]
            system[m + i, m + j] = -damping[i, j]
    return np.linalg.eigvals(system).astype(np.complex128)


@kernel()
def mode_near(pencil: Pencil, law: Law, value: complex, at: float) -> ComplexArray:
    """Return the mode (m,) of an eigenvalue of the linear problem, by one inverse iteration."""
    system, damping = linear_matrices(pencil, law, at)
    m = system.shape[0]
    shifted = value * (1.0 + ASIDE) + ASIDE * LEAST
    mode = np.empty(m, dtype=np.complex128)
    for i in range(m):
        for j in range(m):
            system[i, j] += shifted * damping[i, j]
        system[i, i] += shifted * shifted
        mode[i] = 1.0 / (1.0 + i) + 0.1j * (i % 3)
    return np.linalg.solve(system, mode).astype(np.complex128)


@kernel()
def follow(pencil: Pencil, law: Law, start: complex, at: float) -> tuple[complex, bool]:
    """Return the eigenvalue [1/s] of the true problem that Newton's method finds from ``start``.

    ``start`` is one with the material at a frequency ``at`` [Hz]; the mode that belongs to it is
    the first guess of the mode, or it would be left to chance where a distant start leads. The
    second value says whether an eigenvalue has been found.
    """
    damping, stiffness, elastic = pencil.damping, pencil.stiffness, pencil.elastic
    m = damping.shape[0]
    value = complex(start)
    vector = mode_near(pencil, law, start, at)
    system = np.empty((m, m), dtype=np.complex128)
    right = np.empty(m, dtype=np.complex128)
    for _ in range(CORRECTIONS):
        frequency = abs(value.imag) / (2.0 * math.pi)
        modulus = modulus_at(law, frequency)
        rate = modulus * time_at(law, frequency)
        added = modulus - pencil.base
        for i in range(m):
            total = 2.0 * value * vector[i]
            for j in range(m):
                c = damping[i, j] + rate * elastic[i, j]
                system[i, j] = value * c + stiffness[i, j] + added * elastic[i, j]
                total += c * vector[j]
            system[i, i] += value * value
            right[i] = total
        found = np.linalg.solve(system, right)
        # the component that is largest keeps the scale of the vector
        place = 0
        for i in range(m):
            if abs(found[i]) > abs(found[place]):
                place = i
        scale = found[place]
        if not math.isfinite(scale.real) or scale == 0.0:
            return value, False
        change = -vector[place] / scale
        for i in range(m):
            vector[i] = found[i] / scale
        value += change
        if abs(change) <= AGREES * max(abs(value), LEAST):
            return value, True
    return value, False


@lean_kernel()
def sort_by_growth(values: ComplexArray) -> None:
    """Sort eigenvalues, the largest real part first; few enough to be put in one by one."""
    for k in range(1, values.shape[0]):
        value, place = values[k], k
        while place > 0 and values[place - 1].real < value.real:
            values[place] = values[place - 1]
            place -= 1
        values[place] = value


@kernel()
def leading(pencil: Pencil, law: Law, at: float, slow_limit: float) -> tuple[complex, float]:
    """Return the leading eigenvalue [1/s], and the leading growth of those below a frequency.

    ``at`` [Hz] is where the linear problem has its modulus; ``slow_limit`` [Hz] bounds what the
    stream can drive. Where nothing is found the growth is minus infinity.
    """
    values = complex_spectrum(pencil, law, at)
    sort_by_growth(values)
    best, slow, shift = complex(-np.inf, 0.0), -np.inf, 0.0
    all_followed, slow_followed = 0, 0
    for k in range(values.shape[0]):
        start = values[k]
        if start.imag < 0.0:
            continue  # the twin of another
        is_slow = start.imag <= 2.0 * math.pi * slow_limit
        reach = start.real + SHIFTED * shift + NEAR * abs(start)
        may_lead = all_followed < FOLLOWED or reach > best.real
        may_lead_slow = is_slow and (slow_followed < FOLLOWED or reach > slow)
        if not (may_lead or may_lead_slow):
            continue
        all_followed += 1
        if is_slow:
            slow_followed += 1
        value, found = follow(pencil, law, start, at)
        if not found:
            continue
        shift = max(shift, abs(value.real - start.real))
        if value.real > best.real:
            best = complex(value.real, abs(value.imag))
        if abs(value.imag) <= 2.0 * math.pi * slow_limit:
            slow = max(slow, value.real)
    return best, slow


def creeping(pencil: Pencil, law: Law) -> float:
    """Return the largest growth [1/s] among motions slower than the law's slowest frequency.

    Down there modulus and damping time are constant, so that one real linear problem has them
    all, the motions that do not beat included: in the complex one these may change sides.
    """
    modulus, time = law(0.0)
    m = pencil.damping.shape[0]
    stiffness = pencil.stiffness + (modulus - pencil.base) * pencil.elastic
    damping = pencil.damping + modulus * time * pencil.elastic
    system = np.zeros((2 * m, 2 * m))
    system[:m, m:] = np.eye(m)
    system[m:, :m] = -stiffness
    system[m:, m:] = -damping
    values = eigvals(system, check_finite=False)
    slow = values[np.abs(values.imag) <= 2.0 * math.pi * law.slowest]
    return float(slow.real.max(initial=-math.inf))
