"""Frequency estimator: Cramer-Rao bound, irregular stamps, honest uncertainty."""

import math

import numpy as np
import pytest
from bench import sine_rows

from simsoft.aquarium.signal.sine import fit, scan


def cramer_rao(amplitude: float, noise: float, rows: int, duration: float) -> float:
    """Return the least standard deviation [Hz] of a frequency from evenly spaced samples.

    Parameters
    ----------
    amplitude : float, of the sine
    noise : float, standard deviation of white noise, same unit
    rows : int, samples N
    duration : float [s], N times the sample spacing

    Notes
    -----
    Rife & Boorstyn 1974, IEEE Trans. Inf. Theory 20:591, for a complex tone; for a real one with
    unknown amplitude and phase the variance is 24 s^2/((2 pi)^2 A^2 N T^2) for many samples
    (from memory; checked against the Fisher matrix in the tests).
    """
    return math.sqrt(24.0 / rows) * noise / (2.0 * math.pi * amplitude * duration)


def fisher_bound(time, frequency, amplitude, noise):
    """Return the bound on the frequency from the Fisher matrix of (f, a, b, constant, slope)."""
    turn = 2.0 * math.pi * frequency * time
    columns = np.column_stack(
        [
            amplitude * 2.0 * math.pi * time * np.cos(turn),
            np.sin(turn),
            np.cos(turn),
            np.ones_like(time),
            time,
        ]
    )
    return math.sqrt(np.linalg.inv(columns.T @ columns / noise**2)[0, 0])


def test_the_bound_is_that_of_the_fisher_matrix():
    time = np.arange(600) / 120.0
    assert cramer_rao(10.0, 0.8, 600, 5.0) == pytest.approx(
        fisher_bound(time, 5.3, 10.0, 0.8), rel=0.02
    )


def test_scatter_and_stated_uncertainty_meet_the_bound():
    """300 noisy runs of 8 beats: the estimator is efficient, and says how good it is."""
    errors, stated = [], []
    for seed in range(300):
        time, wave = sine_rows(5.3, 12.0, 1.5, 120, noise=1.5, seed=seed, phase=seed)
        found = fit(time, wave, 5.2, harmonics=1)
        errors.append(found.frequency - 5.3)
        stated.append(found.u)
    bound = cramer_rao(12.0, 1.5, 180, 1.5)
    assert np.sqrt(np.mean(np.square(errors))) == pytest.approx(bound, rel=0.12)
    assert np.mean(stated) == pytest.approx(bound, rel=0.08)
    assert np.mean(np.abs(errors) < 2.0 * np.array(stated)) > 0.92


def test_irregular_stamps_and_gaps_change_nothing():
    time, wave = sine_rows(7.1, 1.0, 2.0, 120)
    jittered = np.sort(time + np.random.default_rng(4).uniform(-3e-3, 3e-3, len(time)))
    kept = (jittered < 0.8) | (jittered > 1.1)
    signal = np.sin(2.0 * math.pi * 7.1 * jittered[kept])
    assert fit(jittered[kept], signal, 7.0).frequency == pytest.approx(7.1, rel=1e-5)
    assert fit(time, wave, 7.0).frequency == pytest.approx(7.1, rel=1e-6)


def test_harmonics_are_found_and_the_stroke_is_that_of_the_wave():
    time = np.arange(0.0, 2.0, 1.0 / 240.0)
    wave = np.sin(2 * math.pi * 4 * time) + 0.3 * np.cos(2 * math.pi * 12 * time + 0.4)
    found = fit(time, wave, 4.03)
    assert len(found.cosine) == 3
    assert found.frequency == pytest.approx(4.0, rel=1e-6)
    assert found.stroke() == pytest.approx(np.ptp(wave), rel=2e-3)


def test_a_scan_finds_the_beat_under_a_drift():
    time, wave = sine_rows(3.3, 1.0, 3.0, 60)
    frequency, share = scan(time, wave + 4.0 * time, 0.5, 29.0)
    assert frequency[np.argmax(share)] == pytest.approx(3.3, abs=0.1)
    assert share.max() > 0.95
