"""How a gel answers a beat: modulus and damping time against frequency, as numbers for kernels."""

from __future__ import annotations

import math
from typing import NamedTuple

from simsoft.core.compiled import lean_kernel

BY_LOSS_FACTOR = -1.0  # Kelvin-Voigt time [s] that stands for damping by loss factor


class Law(NamedTuple):
    """A power law of the modulus with a constant loss factor or a constant damping time.

    Attributes
    ----------
    modulus : float [Pa], at ``slowest`` and below
    exponent : float [-], n of modulus ~ frequency^n
    slowest : float [Hz], of a durometer's dwell; nothing slower is softer
    loss_factor : float [-]
    kelvin_voigt : float [s], damping time; negative for damping by ``loss_factor``
    """

    modulus: float
    exponent: float = 0.0
    slowest: float = 0.1
    loss_factor: float = 0.0
    kelvin_voigt: float = BY_LOSS_FACTOR

    def __call__(self, frequency: float) -> tuple[float, float]:
        """Return modulus [Pa] and Kelvin-Voigt time [s] at a frequency [Hz]."""
        return modulus_at(self, float(frequency)), time_at(self, float(frequency))


@lean_kernel()
def modulus_at(law: Law, frequency: float) -> float:
    """Return the modulus [Pa] at a frequency [Hz]."""
    if law.exponent == 0.0 or frequency <= law.slowest:
        return law.modulus
    return float(law.modulus * (frequency / law.slowest) ** law.exponent)


@lean_kernel()
def time_at(law: Law, frequency: float) -> float:
    """Return the Kelvin-Voigt time [s] that gives the damping at a frequency [Hz].

    A loss factor is met at that frequency: tau = tan delta/(2 pi f).
    """
    if law.kelvin_voigt >= 0.0:
        return law.kelvin_voigt
    return law.loss_factor / (2.0 * math.pi * max(frequency, law.slowest))
