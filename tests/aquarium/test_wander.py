"""A wandering beat: 2 u holds the mean rate in 95 % of runs, however the periods scatter."""

import math

import numpy as np
import pytest

from simsoft.aquarium.files.track import Track
from simsoft.aquarium.signal.beat import measure_beat
from simsoft.aquarium.signal.wander import long_run, slow_components, wander_of

STEP = 0.5  # [rad], scatter of the phase over a beat: periods that scatter by 8 %


def own_periods(beats, rng):
    """Every beat its own period; phases at random places within the beats, averaged over one."""
    fine = np.repeat(STEP * rng.normal(size=beats + 2), 20) / 20
    phase = np.cumsum(fine)[rng.integers(20) :]
    return phase[: 20 * beats].reshape(beats, 20).mean(axis=1)


def walk(beats, rng):
    """A phase that walks at random all the time, averaged over beats."""
    return (
        np.cumsum(STEP * rng.normal(size=20 * beats) / math.sqrt(20)).reshape(-1, 20).mean(axis=1)
    )


def hanging_together(beats, rng):
    """Periods that forget their past over two to three beats (first-order autoregression)."""
    steps, now = [], rng.normal()
    for _ in range(beats):
        steps.append(now)
        now = 0.6 * now + 0.8 * rng.normal()
    return np.cumsum(0.5 * STEP * np.array(steps))


def covered(kind, beats, trials=1500):
    rng = np.random.default_rng(2)
    inside = []
    for _ in range(trials):
        phases = kind(beats, rng)
        found = wander_of(phases, 0.0)
        slope = np.polyfit(np.arange(beats), phases, 1)[0]
        inside.append(abs(slope) < 2.0 * found.u)
    return np.mean(inside)


@pytest.mark.parametrize("beats", [6, 10, 25, 60])
@pytest.mark.parametrize("kind", [own_periods, walk])
def test_two_u_hold_the_mean_rate(kind, beats):
    assert 0.935 < covered(kind, beats) < 0.985


def test_long_runs_of_periods_that_hang_together_are_covered_short_ones_nearly():
    assert covered(hanging_together, 60) > 0.92
    assert 0.8 < covered(hanging_together, 10) < 0.93  # no run of 10 beats can tell; documented


def test_the_long_run_variance_is_that_of_the_steps_where_they_are_independent():
    rng = np.random.default_rng(4)
    found = [long_run(STEP * rng.normal(size=30), 0.0)[0] for _ in range(2000)]
    assert np.mean(found) == pytest.approx(STEP**2, rel=0.04)


def test_noise_of_the_phases_is_no_wander():
    rng = np.random.default_rng(4)
    found = [wander_of(0.05 * rng.normal(size=25), 0.05) for _ in range(500)]
    assert np.median([w.u for w in found]) < 0.008  # 0.1 % of a beat
    assert all(w.shift == 0.0 for w in found)


@pytest.mark.parametrize(
    ("steps", "used"), [(3, 2), (4, 2), (5, 2), (6, 3), (9, 3), (24, 3), (100, 9)]
)
def test_components(steps, used):
    assert slow_components(steps) == used


def test_too_few_beats_have_no_wander():
    assert wander_of(np.zeros(3), 0.1) is None


def beating(rng, beats, scatter):
    ends = np.concatenate([[0.0], np.cumsum(0.2 * (1 + scatter * rng.normal(size=2 * beats)))])
    time = np.arange(0.0, 0.2 * beats, 1 / 120)
    y = 12e-3 * np.sin(2 * math.pi * np.interp(time, ends, np.arange(2 * beats + 1)))
    y += 3e-4 * rng.normal(size=len(time))
    return Track("a", time, np.column_stack([0 * y, y]), view="below")


@pytest.mark.parametrize(("beats", "trials"), [(10, 100), (30, 50)])
def test_a_wandering_track_is_covered_by_its_uncertainty(beats, trials):
    """The whole way from a track: periods that scatter by 8 %, |error| < 2 u in 95 %."""
    rng = np.random.default_rng(7)
    found = [measure_beat(beating(rng, beats, 0.08))[0] for _ in range(trials)]
    assert np.mean([abs(m.value - 5.0) < 2.0 * m.u for m in found]) >= 0.92
    told = [any(flag.word == "wanders" for flag in m.flags) for m in found]
    assert np.mean(told) > 0.6
    assert all(m.clear for m in found)


def test_a_steady_track_does_not_wander():
    rng = np.random.default_rng(3)
    found = measure_beat(beating(rng, 10, 0.0))[0]
    assert "wanders" not in {flag.word for flag in found.flags}
    assert found.u < 0.01
