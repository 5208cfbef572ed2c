"""Ring-down of a strip clamped on edge -> Young's modulus and loss factor at its own frequency."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy import optimize

from simsoft.aquarium.columns import LENGTH, PLAIN
from simsoft.aquarium.files.table import TextTable, column, header_number, header_words, rising_time
from simsoft.aquarium.files.track import header_conditions, scale_of
from simsoft.aquarium.measured import At, Flag, Measured
from simsoft.aquarium.signal.sine import scan, too_long
from simsoft.core.arrays import Array
from simsoft.core.errors import InputError
from simsoft.core.quantities import measured_span

FIRST_ROOT = 1.8751040687119611  # of cos x cosh x = -1, clamped-free beam
DENSITY, DENSITY_U = 1020.0, 15.0  # [kg/m^3], plain compound where nothing was weighed
CALIPER = 0.05e-3  # [m], thickness of soft stock by caliper, one sigma (common practice)
CLAMP_SHARE = 0.25  # of the thickness: free length in doubt by half of it, evenly spread
HARMLESS = 1.0  # amplitude over thickness past which the strip is not linear
FEWEST_SWINGS = 3.0
METHOD = "decaying sine by least squares; E = rho (2 pi f L^2 sqrt(12)/(k1^2 t))^2"


@dataclass(frozen=True)
class Decay:
    """A fitted decaying sine.

    Attributes
    ----------
    frequency, u_frequency : float [Hz], of the damped swing
    ratio, u_ratio : float [-], damping ratio zeta
    amplitude : float [m], at the start of the fit
    swings : float, swings fitted
    rows : int
    noise : float [m]
    """

    frequency: float
    u_frequency: float
    ratio: float
    u_ratio: float
    amplitude: float
    swings: float
    rows: int
    noise: float

    @property
    def undamped(self) -> float:
        """Undamped natural frequency [Hz], f/sqrt(1 - zeta^2)."""
        return self.frequency / math.sqrt(1.0 - self.ratio**2)

    @property
    def decrement(self) -> float:
        """Logarithmic decrement [-], 2 pi zeta/sqrt(1 - zeta^2)."""
        return 2.0 * math.pi * self.ratio / math.sqrt(1.0 - self.ratio**2)


def fit_decay(time: Array, signal: Array) -> Decay:
    """Return the decaying sine A exp(-2 pi zeta f0 t) cos(2 pi f t + phase) + rest.

    Parameters
    ----------
    time : array (N,) [s]
    signal : array (N,) [m]; rows before the largest swing are left out

    Raises
    ------
    ValueError
        Nothing swings.
    """
    tail = max(3, len(signal) // 5)
    rest = float(np.median(signal[-tail:]))
    first = int(np.argmax(np.abs(signal - rest)))
    time, signal = time[first:] - time[first], signal[first:] - rest
    if len(time) < 12:
        raise ValueError("fewer than 12 rows follow the largest swing")
    if not np.ptp(signal) > 0.0:
        raise ValueError("nothing moves")
    step = float(np.median(np.diff(time)))
    early = slice(0, max(12, int(0.6 * len(time))))
    low, high = 1.0 / float(time[-1]), 0.45 / step
    if not low < high:
        raise ValueError("too few rows for a swing")
    long = too_long(len(time[early]), float(time[early][-1]), low, high)
    if long:
        raise ValueError(long)
    frequency, share = scan(time[early], signal[early], low, high)
    start = float(frequency[int(np.argmax(share))])
    power = np.maximum(np.abs(signal), 1e-3 * np.abs(signal).max())
    decay = max(0.05, -float(np.polyfit(time, np.log(power), 1)[0]))

    def columns(values: Array) -> Array:
        fall = np.exp(-values[1] * time)
        angle = 2.0 * math.pi * values[0] * time
        return np.column_stack([np.ones_like(time), fall * np.cos(angle), fall * np.sin(angle)])

    def residual(values: Array) -> Array:
        model = columns(values)
        return np.asarray(signal - model @ np.linalg.lstsq(model, signal, rcond=None)[0])

    best = None
    for guess in (decay, 3.0 * decay, 0.3 * decay):
        found = optimize.least_squares(
            residual, [start, guess], bounds=([0.3 * start, 0.0], [3.0 * start, 20.0 * start]),
            x_scale=[start, max(guess, 0.1)],
        )  # fmt: skip
        if best is None or found.cost < best.cost:
            best = found
    if best is None:
        raise RuntimeError("no start of the fit was tried")
    return _decay(time, signal, best, columns(best.x))


def _decay(time: Array, signal: Array, best: optimize.OptimizeResult, model: Array) -> Decay:
    f, rate = float(best.x[0]), float(best.x[1])
    linear = np.linalg.lstsq(model, signal, rcond=None)[0]
    free = max(1, len(time) - 5)
    noise = math.sqrt(2.0 * float(best.cost) / free)
    if math.hypot(linear[1], linear[2]) < 3.0 * noise:
        raise ValueError("nothing swings clear of the noise")
    covariance = np.linalg.pinv(best.jac.T @ best.jac) * noise**2
    angular = 2.0 * math.pi * f
    zeta = rate / math.hypot(rate, angular)
    slope = np.array([-rate * angular * 2.0 * math.pi, angular**2]) / math.hypot(rate, angular) ** 3
    gone = math.log(max(math.hypot(linear[1], linear[2]) / noise, 2.0)) / max(rate, 1e-9)
    return Decay(
        frequency=f,
        u_frequency=math.sqrt(float(covariance[0, 0])),
        ratio=zeta,
        u_ratio=math.sqrt(max(0.0, float(slope @ covariance @ slope))),
        amplitude=math.hypot(linear[1], linear[2]),
        swings=f * min(float(time[-1]), gone),
        rows=len(time),
        noise=noise,
    )


def modulus_of(
    frequency: float, length: float, thickness: float, density: float, tip_mass: float = 0.0
) -> float:
    """Return Young's modulus [Pa] of a clamped uniform strip from its first frequency.

    Parameters
    ----------
    frequency : float [Hz], undamped, in air
    length, thickness : float [m], free length, size in the direction of the swing
    density : float [kg/m^3]
    tip_mass : float [-], a marker's mass over the strip's; Rayleigh's 33/140 rule

    Notes
    -----
    f = k1^2/(2 pi sqrt(12)) (t/L^2) sqrt(E/rho), k1 = 1.8751: f = 0.1615 (t/L^2) sqrt(E/rho).
    """
    lowered = frequency * math.sqrt(1.0 + 140.0 / 33.0 * tip_mass)
    return (
        density
        * (2.0 * math.pi * math.sqrt(12.0) * lowered * length**2 / (FIRST_ROOT**2 * thickness)) ** 2
    )


def measure_ringdown(
    table: TextTable, *, scale: float | None = None, density: tuple[float, float] | None = None
) -> list[Measured]:
    """Return ``youngs_modulus`` [Pa] and ``loss_factor`` [-] of ``ringdown.csv``.

    The header needs ``# t_mm = ..`` and ``# L_mm = ..``; ``temp_C``, ``density_kgm3`` and the
    uncertainties ``u_t_mm``, ``u_L_mm`` are taken where they stand. ``strip`` names a strip that
    stays in its clamp between two files, so that its size cancels in their ratio.

    Parameters
    ----------
    table : TextTable
    scale : float or None [m/px]
    density : tuple of float or None, value and standard uncertainty [kg/m^3], weighed

    Raises
    ------
    InputError
        The strip's size is missing, or nothing in the file rings down.
    """
    time = rising_time(table)
    x = column(table, "x", LENGTH, scale=scale_of(table, scale))
    if x is None:
        raise InputError(f"{table.name}: there is no column `x_mm`")
    good = np.isfinite(x)
    size = strip_size(table)
    if good.sum() < 12:
        raise InputError(f"{table.name}: has {int(good.sum())} usable rows; 12 or more are needed")
    try:
        decay = fit_decay(time[good], x[good])
    except ValueError as problem:
        raise InputError(f"{table.name}: no ring-down: {problem}") from None
    span = measured_span("natural_frequency")
    if span is not None and decay.undamped > span[1]:
        raise InputError(
            f"{table.name}: rings at {decay.undamped:.3g} Hz, no soft strip does; is the time in "
            "another unit?"
        )
    rho, u_rho = strip_density(table, density)
    modulus = modulus_of(decay.undamped, size.length, size.thickness, rho)
    shares = {
        "frequency": 2.0 * decay.u_frequency / decay.frequency,
        "thickness": 2.0 * size.u_thickness / size.thickness,
        "length": 4.0 * size.u_length / size.length,
        "density": u_rho / rho,
    }
    share = math.hypot(*shares.values())
    worst = max(shares, key=lambda key: shares[key])
    at: At = {
        **header_conditions(table),
        "frequency": decay.frequency,
        "undamped": decay.undamped,
        "length": size.length,
        "thickness": size.thickness,
        "density": rho,
        "swing_share": shares["frequency"],
    }
    at |= header_words(table, ("strip",))
    flags = _doubts(decay, size.thickness, float(np.median(np.diff(time))))
    swings = max(1, round(decay.swings))
    loss, u_loss = 2.0 * decay.ratio, 2.0 * decay.u_ratio
    of_loss: At = {**at, "swing_share": u_loss / max(loss, 1e-9)}
    method = f"{METHOD}; most doubt from {worst}"
    name = str(at.get("run_id", table.name))
    return [
        Measured("youngs_modulus", modulus, share * modulus, "Pa", method, swings, at, flags, name),
        Measured(
            "loss_factor",
            loss,
            u_loss,
            "",
            "2 zeta of the decaying sine",
            swings,
            of_loss,
            flags,
            name,
        ),
    ]


def _doubts(decay: Decay, thickness: float, step: float) -> tuple[Flag, ...]:
    flags = []
    if decay.amplitude > HARMLESS * thickness:
        text = (
            f"swings {1e3 * decay.amplitude:.1f} mm, more than the thickness: not linear; "
            "flick more gently or use the later swings"
        )
        flags.append(Flag("large", text, severe=decay.amplitude > 3.0 * thickness))
    if decay.swings < FEWEST_SWINGS:
        flags.append(Flag("few-swings", f"{decay.swings:.1f} swings above the noise"))
    if 1.0 / (step * decay.frequency) < 8.0:
        flags.append(Flag("few-frames", "fewer than 8 frames a swing; film at 240 frames/s"))
    return tuple(flags)


@dataclass(frozen=True)
class StripSize:
    """Size of a test strip with standard uncertainties [m]."""

    length: float
    thickness: float
    u_length: float
    u_thickness: float


def strip_size(table: TextTable) -> StripSize:
    """Return the size of a test strip from the header of its file.

    Raises
    ------
    InputError
        ``t_mm`` or ``L_mm`` is missing or not positive.
    """
    found = {key: header_number(table, key, LENGTH) for key in ("t", "L", "u_t", "u_L")}
    for key in ("t", "L"):
        value = found[key]
        if value is None:
            raise InputError(
                f"{table.name}: the strip's size is missing; a comment line such as "
                "`# t_mm = 3.0, L_mm = 30, w_mm = 10` is needed"
            )
        if not 1e-4 <= value <= 1.0:
            raise InputError(
                f"{table.name}: `# {key}_mm` is {1e3 * value:g}; between 0.1 and 1000 is allowed"
            )
    thickness, length = float(found["t"] or 0.0), float(found["L"] or 0.0)
    u_t, u_l = found["u_t"], found["u_L"]
    return StripSize(
        length=length,
        thickness=thickness,
        u_length=CLAMP_SHARE * thickness if u_l is None else u_l,
        u_thickness=CALIPER if u_t is None else u_t,
    )


def strip_density(table: TextTable, weighed: tuple[float, float] | None) -> tuple[float, float]:
    """Return density and its u [kg/m^3]: the header's, the weighed one, or the default."""
    stated = header_number(table, "density_kgm3", PLAIN)
    if stated is not None:
        if not 500.0 <= stated <= 3000.0:
            raise InputError(
                f"{table.name}: `# density_kgm3` is {stated:g}; 500 to 3000 is allowed"
            )
        return stated, 0.003 * stated
    return weighed if weighed is not None else (DENSITY, DENSITY_U)
