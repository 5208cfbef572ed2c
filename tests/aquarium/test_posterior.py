"""Inference: closed forms, recovery in synthetic trials, disagreement said, design of runs."""

import math

import numpy as np
import pytest

from simsoft.aquarium.inference.calibrate import joint
from simsoft.aquarium.inference.plan import RunCandidate, rank_runs, repeats, updated
from simsoft.aquarium.inference.posterior import disagreements, identifiability, infer, wider
from simsoft.aquarium.measured import Measured

NAMES = ("modulus", "thickness", "rim_rate")
WORDS = {"modulus": "durometer", "rim_rate": "rate of the wake"}
# Gradients per prior standard deviation of ln f_n, ln beat at two speeds: E^0.5 t^1.5, St.
SLOPE = np.array([[0.20, 0.05, 0.0], [0.03, 0.01, 0.14], [0.06, 0.02, 0.12]])


def linear(z):
    return np.array([1.0, 2.0, 3.0]) + SLOPE @ z


def test_a_linear_model_gives_the_normal_equations():
    data = linear(np.array([0.5, 0.0, -0.3]))
    scatter = np.array([0.03, 0.05, 0.05])
    found = infer(NAMES, linear, data, scatter)
    hessian = np.eye(3) + SLOPE.T @ np.diag(scatter**-2) @ SLOPE
    assert found.covariance == pytest.approx(np.linalg.inv(hessian), rel=1e-6)
    expected = np.linalg.solve(hessian, SLOPE.T @ ((data - linear(np.zeros(3))) / scatter**2))
    assert found.mean == pytest.approx(expected, abs=1e-6)


def test_what_only_acts_together_is_said_so():
    found = infer(NAMES, linear, linear(np.zeros(3)), np.full(3, 0.005))
    said = " ".join(identifiability(found, WORDS))
    assert "rate of the wake: learned" in said
    nothing = infer(("a",), lambda z: np.array([1.0 + 0.0 * z[0]]), np.array([1.0]), np.ones(1))
    assert "say nothing" in identifiability(nothing, {})[0]
    pair = infer(
        ("modulus", "thickness"),
        lambda z: np.array([0.3 * (z[0] + z[1])]),
        np.array([0.0]),
        np.array([0.01]),
    )
    assert "only their combination" in identifiability(pair, WORDS)[-1]


def test_wrong_priors_are_called_a_disagreement():
    far = linear(np.array([4.0, 0.0, 0.0]))
    found = infer(NAMES, linear, far, np.full(3, 0.02))
    said = " ".join(disagreements(found, WORDS))
    assert "data and prior disagree on durometer" in said
    assert "probability" in said
    fine = infer(NAMES, linear, linear(np.array([0.5, 0.2, -0.5])), np.full(3, 0.02))
    assert disagreements(fine, WORDS) == []


def test_a_model_that_cannot_fit_says_so():
    data = linear(np.zeros(3)) + np.array([0.0, 0.4, -0.4])
    said = disagreements(infer(NAMES, linear, data, np.full(3, 0.02)), WORDS)
    assert any("no value of the inputs" in line for line in said)


def test_disagreement_is_rare_when_the_prior_is_right():
    rng = np.random.default_rng(11)
    wrong = 0
    for _ in range(200):
        data = linear(rng.normal(size=3)) + 0.03 * rng.normal(size=3)
        wrong += infer(NAMES, linear, data, np.full(3, 0.03)).conflict < 0.01
    assert wrong <= 8


def test_an_update_is_that_of_the_inference():
    scatter = np.array([0.03, 0.05, 0.05])
    found = infer(NAMES, linear, linear(np.zeros(3)), scatter)
    assert updated(np.eye(3), SLOPE, scatter) == pytest.approx(found.covariance, rel=1e-6)


def test_the_best_run_is_the_one_that_bears_on_the_target():
    target = np.array([0.2, 0.05, 0.0])
    candidates = [
        RunCandidate("strip", np.array([[1.0, 0.0, 0.0]]), np.array([0.25]), np.zeros(1)),
        RunCandidate("film", SLOPE[1:2], np.array([0.03]), np.array([0.04])),
    ]
    best = rank_runs(np.eye(3), target, candidates)
    assert best[0].labels[0] == "strip"
    single = {c.labels: c.left for c in best}
    assert single[("strip",)] < single[("film",)] < 1.0
    assert single[("strip", "strip")] < single[("strip",)]


def test_repeats_do_not_average_the_model_away():
    target = np.array([0.0, 0.0, 1.0])
    sure = RunCandidate("film", np.array([[0.0, 0.0, 0.1]]), np.array([0.0]), np.array([0.05]))
    left = {c.labels: c.left for c in rank_runs(np.eye(3), target, [sure])}
    assert left[("film", "film")] == pytest.approx(left[("film",)])
    ragged = RunCandidate("film", np.array([[0.0, 0.0, 0.1]]), np.array([0.05]), np.array([0.0]))
    left = {c.labels: c.left for c in rank_runs(np.eye(3), target, [ragged])}
    assert left[("film", "film")] < left[("film",)]


def test_repeats_against_the_textbook():
    """Cohen's table: d = 0.5, 0.8 and 1.0 at 5 % and 80 % power need 64, 26 and 17 a group."""
    assert repeats(0.05, 0.1) == 64
    assert repeats(0.08, 0.1) == 26
    assert repeats(0.1, 0.1) == 17
    with pytest.raises(ValueError, match="positive"):
        repeats(0.0, 0.1)


def curved(z):
    """Return a still-water frequency and two beats that lock to it: curved in the inputs."""
    natural = 8.0 * math.exp(0.2 * z[0] + 0.06 * z[1])
    beats = []
    for speed in (0.3, 0.6):
        shed = 0.135 * math.exp(0.14 * z[2]) * speed / 0.015
        beats.append(shed * (1.0 + 0.15 * math.exp(-(((shed - natural) / 3.0) ** 2))))
    return np.log([natural, *beats])


def test_known_inputs_are_recovered_in_their_band_in_90_of_100_trials():
    rng = np.random.default_rng(2026)
    scatter = np.array([0.03, 0.05, 0.05])
    inside = []
    for _ in range(100):
        truth = rng.normal(size=3)
        data = curved(truth) + scatter * rng.normal(size=3)
        found = infer(NAMES, curved, data, scatter)
        inside.append(np.abs(found.mean - truth) < 1.96 * found.spread)
    per_input = np.mean(inside, axis=0)
    assert (per_input >= 0.90).all(), per_input


def test_a_posterior_grows_by_a_factor_but_never_past_its_prior():
    found = infer(("a", "b"), lambda z: z, np.array([0.5, 0.0]), np.array([0.1, 2.0]))
    grown = wider(found, 1.4)
    assert grown.spread[0] == pytest.approx(1.4 * found.spread[0])
    assert grown.spread[1] == pytest.approx(1.0)
    assert grown.mean is found.mean


def test_only_a_start_or_a_stroke_beside_another_answer_is_joint():
    def row(quantity, owner=0):
        return owner, Measured(quantity, 1.0, 0.1, "", "", 1)

    beats = [row("flap_frequency"), row("natural_frequency"), row("flap_frequency")]
    assert not joint(beats)
    assert not joint([row("start_speed")])
    assert not joint([row("start_speed"), row("flap_frequency", 1)])
    assert joint([*beats, row("stroke")])
