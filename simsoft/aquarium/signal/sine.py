"""Frequency of a periodic motion by least squares: a sine with harmonics on irregular samples.

The model is drift + sum over k of a_k cos(2 pi k f t) + b_k sin(2 pi k f t). For a given f it is
linear, so f alone is searched (variable projection): a fine scan, then a local minimum. A bin of
a spectrum, 1/T wide, is never the answer.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy import optimize

from simsoft.core.arrays import Array

OVERSAMPLING = 8.0  # scanned frequencies per spectrum bin
MOST_HARMONICS = 4
MOST_SCANNED = 20_000
LARGEST_SEARCH = 400_000_000  # rows times frequencies, some seconds
RENEWED = 64
DRIFT_TERMS = 2  # constant and slope


@dataclass(frozen=True)
class Periodic:
    """A fitted periodic motion.

    Attributes
    ----------
    frequency, u : float [Hz], and its standard uncertainty
    drift : array (DRIFT_TERMS,), constant and slope over the half duration, units of the signal
    cosine, sine : array (K,), amplitudes of the harmonics
    noise : float, standard deviation of the residual, units of the signal
    correlation : float, factor on the variance for residuals that are not independent
    time0 : float [s], zero of the phase
    half : float [s], half duration
    rows : int, samples used
    """

    frequency: float
    u: float
    drift: Array
    cosine: Array
    sine: Array
    noise: float
    correlation: float
    time0: float
    half: float
    rows: int

    @property
    def amplitude(self) -> Array:
        """Amplitudes (K,) of the harmonics."""
        return np.hypot(self.cosine, self.sine)

    def wave(self, time: Array) -> Array:
        """Return the periodic part at times [s], without drift."""
        columns = _columns(time, self.time0, self.half, self.frequency, len(self.cosine))
        weights = np.ravel(np.column_stack([self.cosine, self.sine]))
        return np.asarray(columns[:, DRIFT_TERMS:] @ weights)

    def stroke(self) -> float:
        """Return the peak-to-peak of one period."""
        phase = np.linspace(0.0, 1.0 / self.frequency, 721)
        return float(np.ptp(self.wave(self.time0 + phase)))


def _columns(time: Array, time0: float, half: float, frequency: float, harmonics: int) -> Array:
    """Return the columns (N, 2 + 2 K) of the linear model at one frequency."""
    scaled = (time - time0) / half
    angle = 2.0 * math.pi * frequency * (time - time0)
    parts = [np.ones_like(scaled), scaled]
    for k in range(1, harmonics + 1):
        parts += [np.cos(k * angle), np.sin(k * angle)]
    return np.column_stack(parts)


def _residual_sum(
    time: Array, signal: Array, time0: float, half: float, frequency: float, harmonics: int
) -> float:
    columns = _columns(time, time0, half, frequency, harmonics)
    solution = np.linalg.lstsq(columns, signal, rcond=None)[0]
    return float(((signal - columns @ solution) ** 2).sum())


def scanned(duration: float, low: float, high: float) -> int:
    """Return how many frequencies `scan` looks at in a run of this duration [s]."""
    return int(min(MOST_SCANNED, max(32, OVERSAMPLING * duration * (high - low))))


def too_long(rows: int, duration: float, low: float, high: float) -> str:
    """Return why a run is too long for `scan`, '' where it is not.

    The search is bounded: by LARGEST_SEARCH products of a row with a frequency, and by one
    frequency looked at for each spectrum bin, below which a beat could be missed.
    """
    if duration * (high - low) > MOST_SCANNED:
        what = f"{duration:.3g} s may hold {duration * high:.3g} beats, more than {MOST_SCANNED}"
    elif rows * scanned(duration, low, high) > LARGEST_SEARCH:
        what = f"{rows} rows over {duration:.3g} s"
    else:
        return ""
    return f"{what} are too many to search for a beat; cut the file into shorter runs"


def scan(time: Array, signal: Array, low: float, high: float) -> tuple[Array, Array]:
    """Return frequencies [Hz] and the share of the drift-free variance a sine explains at each.

    Parameters
    ----------
    time : array (N,) [s]
    signal : array (N,)
    low, high : float [Hz]

    Notes
    -----
    The wave of every frequency is that of the one before, turned by one step; it is computed
    afresh every RENEWED frequencies, so that rounding does not pile up.
    """
    duration = float(time[-1] - time[0])
    frequency = np.linspace(low, high, scanned(duration, low, high))
    time0, half = 0.5 * float(time[0] + time[-1]), 0.5 * duration
    angle = 2.0 * math.pi * (time - time0)
    quiet, _ = np.linalg.qr(np.column_stack([np.ones_like(time), (time - time0) / half]))
    rest = signal - quiet @ (quiet.T @ signal)
    total = max(float(rest @ rest), 1e-300)
    rows = np.vstack([rest, quiet.T])
    turn = np.exp(1j * angle * (frequency[1] - frequency[0]))
    share = np.empty(len(frequency))
    wave = turn
    for i, f in enumerate(frequency):
        wave = np.exp(1j * angle * f) if i % RENEWED == 0 else wave * turn
        cosine, sine = wave.real, wave.imag
        of_rest, *of_quiet = np.column_stack([rows @ cosine, rows @ sine])
        normal = np.array([[cosine @ cosine, cosine @ sine], [0.0, sine @ sine]])
        normal[1, 0] = normal[0, 1]
        for pair in of_quiet:
            normal -= np.outer(pair, pair)
        normal += 1e-12 * max(float(np.trace(normal)), 1e-300) * np.eye(2)
        share[i] = float(of_rest @ np.linalg.solve(normal, of_rest)) / total
    return frequency, share


def fit(time: Array, signal: Array, near: float, *, harmonics: int | None = None) -> Periodic:
    """Return the periodic motion next to a frequency.

    Parameters
    ----------
    time : array (N,) [s], rising, at any spacing
    signal : array (N,)
    near : float [Hz], within one spectrum bin of the answer
    harmonics : int or None, None takes as many (up to 4) as the Bayes information criterion
        asks for and the sampling can carry

    Notes
    -----
    The uncertainty is that of least squares with the residual's own variance, times a factor for
    residuals that hang together in time (a beat that wanders): 1 + 2 sum of the correlations up
    to the first negative one.
    """
    time0, half = 0.5 * float(time[0] + time[-1]), 0.5 * float(time[-1] - time[0])
    width = 0.5 / half

    def best(count: int) -> tuple[float, float]:
        found = optimize.minimize_scalar(
            lambda f: _residual_sum(time, signal, time0, half, f, count),
            bounds=(max(near - 0.7 * width, 0.05 * width), near + 0.7 * width),
            method="bounded",
            options={"xatol": 1e-7 * near},
        )
        return float(found.x), float(found.fun)

    wanted = harmonics if harmonics is not None else _harmonics(time, near, best, len(signal))
    frequency, _ = best(wanted)
    return _with_uncertainty(time, signal, time0, half, frequency, wanted)


def _harmonics(time: Array, near: float, best: object, rows: int) -> int:
    """Return the number of harmonics the data ask for."""
    spacing = float(np.median(np.diff(time)))
    carried = int(0.5 / spacing / near)
    chosen, lowest = 1, math.inf
    for count in range(1, max(1, min(MOST_HARMONICS, carried)) + 1):
        free = 2 * count + DRIFT_TERMS + 1
        if rows <= 2 * free:
            break
        _, squares = best(count)  # type: ignore[operator]
        criterion = rows * math.log(max(squares, 1e-300) / rows) + free * math.log(rows)
        if criterion < lowest:
            chosen, lowest = count, criterion
    return chosen


def _with_uncertainty(
    time: Array, signal: Array, time0: float, half: float, frequency: float, harmonics: int
) -> Periodic:
    columns = _columns(time, time0, half, frequency, harmonics)
    solution = np.linalg.lstsq(columns, signal, rcond=None)[0]
    residual = signal - columns @ solution
    free = max(1, len(signal) - columns.shape[1] - 1)
    noise = math.sqrt(float(residual @ residual) / free)
    weights = solution[DRIFT_TERMS:].reshape(-1, 2)
    angle = 2.0 * math.pi * frequency * (time - time0)
    slope = np.zeros_like(time)
    for k, (a, b) in enumerate(weights, 1):
        turn = 2.0 * math.pi * k * (time - time0)
        slope += turn * (-a * np.sin(k * angle) + b * np.cos(k * angle))
    # The part of the slope that the other parameters cannot imitate carries the frequency.
    own = slope - columns @ np.linalg.lstsq(columns, slope, rcond=None)[0]
    strength = float(own @ own)
    factor = _correlation_factor(residual)
    u = noise * math.sqrt(factor / strength) if strength > 0.0 else math.inf
    return Periodic(
        frequency=frequency,
        u=u,
        drift=np.asarray(solution[:DRIFT_TERMS], dtype=np.float64),
        cosine=np.asarray(weights[:, 0], dtype=np.float64),
        sine=np.asarray(weights[:, 1], dtype=np.float64),
        noise=noise,
        correlation=factor,
        time0=time0,
        half=half,
        rows=len(signal),
    )


def _correlation_factor(residual: Array) -> float:
    """Return 1 + 2 x the summed autocorrelation of a residual, up to its first negative value."""
    count = len(residual)
    power = float(residual @ residual)
    if count < 8 or power <= 0.0:
        return 1.0
    size = 1 << (2 * count - 1).bit_length()
    transform = np.fft.rfft(residual, size)
    correlation = np.fft.irfft(transform * np.conj(transform), size)[: count // 2] / power
    significant = 2.0 / math.sqrt(count)
    total = 1.0
    for value in correlation[1:]:
        if value < significant:
            break
        total += 2.0 * float(value)
    return total
