"""Beat of a part in a wake of its own by harmonic balance, the same for every body.

The wake's van der Pol oscillator drives small motions, which move the wake's quasi-steady state.
With q = m + a cos(w t), m that of the rest shape, and G the answer of the quasi-steady state to a
wake state of one, the first harmonic balances where

    W^2 (1 - Re G) = w^2,   a^2 = 4 (1 - m^2 + W Im G/(eps w)),

and nothing is shed where a^2 is not positive. The march has no such limits; this finds where it is
worth marching, and the speed where a beat begins.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from simsoft.core.arrays import Array
from simsoft.mechanics.material_law import Law

SLOWEST, FASTEST, SAMPLES = 0.3, 3.0, 200  # of the shedding rate, where a balance is looked for
LEAST_GROWTH = 1e-9

Motion = npt.NDArray[np.complex128]


@dataclass(frozen=True)
class InWake:
    """Small motions of m modes about a rest shape, and the wake that they move.

    Attributes
    ----------
    mass, damping, stiffness, elastic : arrays (m, m); ``elastic`` for a modulus of one
    modulus : float [Pa], that the stiffness holds
    material : Law, modulus [Pa] and Kelvin-Voigt time [s] against frequency [Hz]
    push : array (m,), what a wake state of one does to the modes
    by_state, by_rate : arrays (m,), change of the quasi-steady state with the modes, their rates
    rate : float [rad/s], W, of the shedding
    growth : float [-], eps
    mean : float [-], m, the quasi-steady state of the rest shape
    """

    mass: Array
    damping: Array
    stiffness: Array
    elastic: Array
    modulus: float
    material: Law
    push: Array
    by_state: Array
    by_rate: Array
    rate: float
    growth: float
    mean: float

    def motion(self, omega: float) -> Motion:
        """Return the motion (m,) of the modes for a wake state of one at a rate [rad/s]."""
        modulus, time = self.material(omega / (2.0 * math.pi))
        system = self.stiffness - omega**2 * self.mass
        system = system + (modulus - self.modulus) * self.elastic
        loss = self.damping + modulus * time * self.elastic
        return np.asarray(np.linalg.solve(system + 1j * omega * loss, self.push.astype(complex)))


def balanced(small: InWake) -> Iterator[tuple[float, float, Motion]]:
    """Yield every beat: frequency [Hz], amplitude of the wake state, motion (m,) for one of it."""
    rate, mean = small.rate, small.mean
    omega = rate * np.geomspace(SLOWEST, FASTEST, SAMPLES)
    motion = np.stack([small.motion(w) for w in omega])
    through = (motion * small.by_state).sum(axis=1)
    through = through + 1j * omega * (motion * small.by_rate).sum(axis=1)
    gap = rate**2 * (1.0 - through.real) - omega**2
    lag = rate * through.imag / (max(small.growth, LEAST_GROWTH) * omega)
    square = 4.0 * (1.0 - mean**2 + lag)
    for k in np.flatnonzero(gap[:-1] * gap[1:] <= 0.0):
        part = gap[k] / (gap[k] - gap[k + 1]) if gap[k] != gap[k + 1] else 0.0
        amplitude = square[k] + part * (square[k + 1] - square[k])
        if amplitude <= 0.0:
            continue
        beat = omega[k] + part * (omega[k + 1] - omega[k])
        moved = motion[k] + part * (motion[k + 1] - motion[k])
        yield float(beat) / (2.0 * math.pi), math.sqrt(amplitude), moved
