"""Wake oscillator of a circular cylinder, coupled by acceleration. For cylinders only.

The form of Facchinetti, de Langre & Biolley 2004 (J. Fluids Struct. 19:123), dimensionless, time
in units of 1 / (2 pi St U / D) and displacement in diameters:

    y'' + (2 xi d + gamma / mu) y' + d^2 y = M q,        d = 1 / (St U_r)
    q'' + eps (q^2 - 1) q' + q = A y''

Thin plates need another form: with this one a paddle runs away.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from simsoft.core.arrays import Array
from simsoft.core.compiled import kernel


@dataclass(frozen=True)
class WakeConstants:
    """All free coefficients of the model, with the values of Facchinetti et al. 2004.

    Attributes
    ----------
    coupling : float [-], A, acceleration of the body on the wake
    growth : float [-], eps, self-excitation of the wake
    lift : float [-], C_L0, lift amplitude of the cylinder at rest (q = 2)
    strouhal : float [-], St
    drag : float [-], gamma, stall parameter of the fluid damping
    """

    coupling: float = 12.0
    growth: float = 0.3
    lift: float = 0.3
    strouhal: float = 0.2
    drag: float = 0.8


@dataclass(frozen=True)
class LockIn:
    """Settled motion at each reduced speed of a sweep.

    Attributes
    ----------
    reduced_speed : array [-], U / (f_s D) with f_s the natural frequency in water
    frequency : array [-], of the wake, over the shedding frequency of the cylinder at rest
    frequency_ratio : array [-], of the wake, over the natural frequency
    amplitude : array [-], of the cylinder, in diameters
    wake_amplitude : array [-], of q
    settled : bool array, amplitudes equal to 1 % in both halves of the measuring window
    """

    reduced_speed: Array
    frequency: Array
    frequency_ratio: Array
    amplitude: Array
    wake_amplitude: Array
    settled: npt.NDArray[np.bool_]


@kernel()
def _rates(state, out, damping, stiffness, forcing, growth, coupling):  # type: ignore[no-untyped-def]
    """Write the time derivative of (y, y', q, q') into ``out``."""
    y, yt, q, qt = state
    ytt = forcing * q - damping * yt - stiffness * y
    out[0] = yt
    out[1] = ytt
    out[2] = qt
    out[3] = coupling * ytt - growth * (q * q - 1.0) * qt - q


@kernel()
def _march(state, steps, step, kept, coefficients):  # type: ignore[no-untyped-def]
    """Advance ``state`` by classical Runge-Kutta and return y and q of the last ``kept`` steps."""
    damping, stiffness, forcing, growth, coupling = coefficients
    history = np.empty((kept, 2))
    k = np.empty((4, 4))
    for n in range(steps):
        _rates(state, k[0], damping, stiffness, forcing, growth, coupling)
        _rates(state + 0.5 * step * k[0], k[1], damping, stiffness, forcing, growth, coupling)
        _rates(state + 0.5 * step * k[1], k[2], damping, stiffness, forcing, growth, coupling)
        _rates(state + step * k[2], k[3], damping, stiffness, forcing, growth, coupling)
        state += step / 6.0 * (k[0] + 2.0 * k[1] + 2.0 * k[2] + k[3])
        row = n - (steps - kept)
        if row >= 0:
            history[row, 0] = state[0]
            history[row, 1] = state[2]
    return history


def _upcrossing_frequency(signal: Array, step: float) -> float:
    """Return the angular frequency between the first and the last upward zero crossing."""
    before = np.flatnonzero((signal[:-1] < 0.0) & (signal[1:] >= 0.0))
    if before.size < 2:
        return 0.0
    when = before + signal[before] / (signal[before] - signal[before + 1])
    return float(2.0 * np.pi * (when.size - 1) / ((when[-1] - when[0]) * step))


def lock_in_sweep(
    reduced_speeds: Sequence[float],
    damping_ratio: float,
    mass_number: float,
    mass_ratio: float,
    constants: WakeConstants | None = None,
    duration: float = 4000.0,
    step: float = 0.02,
) -> LockIn:
    """Follow a spring-mounted cylinder through a sweep of speeds, each from the last state.

    Parameters
    ----------
    reduced_speeds : sequence of float [-], in the order of the sweep
    damping_ratio : float [-], xi, structural
    mass_number : float [-], M = C_L0 / (16 pi^2 St^2 mu)
    mass_ratio : float [-], mu, mass with added mass over rho D^2
    constants : WakeConstants, the published ones by default
    duration : float [-], dimensionless time at each speed; the last eighth is measured
    step : float [-], dimensionless time step

    Raises
    ------
    ValueError
        If a reduced speed, the mass ratio, the duration or the step is not positive.
    """
    speeds = np.asarray(reduced_speeds, dtype=np.float64)
    if not (np.all(speeds > 0.0) and mass_ratio > 0.0 and duration > 0.0 and step > 0.0):
        raise ValueError(
            "`reduced_speeds`, `mass_ratio`, `duration` and `step` must all be positive"
        )
    c = constants or WakeConstants()
    steps = int(np.ceil(duration / step))
    kept = steps // 8
    state = np.array([0.0, 0.0, 1.0, 0.0])
    rows = []
    for speed in speeds:
        ratio = 1.0 / (c.strouhal * speed)
        damping = 2.0 * damping_ratio * ratio + c.drag / mass_ratio
        coefficients = (damping, ratio**2, mass_number, c.growth, c.coupling)
        history = _march(state, steps, step, kept, coefficients)
        omega = _upcrossing_frequency(history[:, 1], step)
        peaks = np.abs(history).max(axis=0)
        halves = [np.abs(half).max(axis=0) for half in np.array_split(history, 2)]
        settled = bool(np.allclose(halves[0], halves[1], rtol=0.01, atol=0.0))
        rows.append((omega, omega / ratio, peaks[0], peaks[1], settled))
    frequency, frequency_ratio, amplitude, wake, settled_all = zip(*rows, strict=True)
    return LockIn(
        reduced_speed=speeds,
        frequency=np.array(frequency),
        frequency_ratio=np.array(frequency_ratio),
        amplitude=np.array(amplitude),
        wake_amplitude=np.array(wake),
        settled=np.array(settled_all),
    )


def peak_amplitude(skop_griffin: npt.ArrayLike, constants: WakeConstants | None = None) -> Array:
    """Largest amplitude of a locked-in cylinder against the Skop-Griffin parameter.

    Parameters
    ----------
    skop_griffin : float or array [-], S_G = 8 pi^2 St^2 mu xi, not negative
    constants : WakeConstants, the published ones by default

    Returns
    -------
    amplitude : array of the same shape [-], in diameters

    Raises
    ------
    ValueError
        If a parameter is negative.

    References
    ----------
    Facchinetti, de Langre & Biolley 2004, J. Fluids Struct. 19:123 (formula from memory):
    (C_L0 / 2) / s sqrt(1 + (A / eps) (C_L0 / 4) / s), s = S_G + 4 pi^2 St^2 gamma.
    """
    parameter = np.asarray(skop_griffin, dtype=np.float64)
    if not np.all(parameter >= 0.0):
        raise ValueError(f"`skop_griffin` must not be negative, got {skop_griffin!r}")
    c = constants or WakeConstants()
    s = parameter + 4.0 * np.pi**2 * c.strouhal**2 * c.drag
    gain = 1.0 + (c.coupling / c.growth) * (c.lift / 4.0) / s
    return np.asarray(c.lift / 2.0 / s * np.sqrt(gain))[()]
