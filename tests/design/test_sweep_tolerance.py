"""Distributions, pass probability and what costs most."""

import math

import numpy as np
import pytest
from sweep_cases import PADDLE

from simsoft.case.model import Case
from simsoft.case.read import loads
from simsoft.core.band import Band
from simsoft.core.errors import InputError
from simsoft.design.distribution import banded, deviate, normal
from simsoft.design.scatter import scatter_of
from simsoft.design.sensitivity import effects, failing_corner, sobol
from simsoft.design.sweep.run import local_runner, read_base
from simsoft.design.sweep.task import case_of
from simsoft.design.tolerance import (
    convergence,
    make_trial,
    points,
    probability,
    run_samples,
    tasks_at,
)

BRIEF = """
[[brief]]
quantity = "start_speed"
at_most = "0.25 m/s"
[[brief]]
quantity = "start_frequency"
at_least = "2 Hz"
"""
CULPRITS = {"durometer law", "tail rim force", "tail rim damping"}
ONE_SIGMA = 0.841344746  # share of a normal distribution below one standard deviation


@pytest.fixture
def base(tmp_path):
    path = tmp_path / "paddle.toml"
    path.write_text(PADDLE + BRIEF)
    return read_base(path)


@pytest.fixture
def trial(base):
    return make_trial(base)


def test_a_band_holds_two_thirds_between_its_ends():
    at = banded(Band(0.15, 0.05, 0.30, ""))
    assert at(0.5) == pytest.approx(0.15)
    assert at(ONE_SIGMA) == pytest.approx(0.30, rel=0.01)
    assert at(1 - ONE_SIGMA) == pytest.approx(0.05, rel=0.01)
    assert at(0.0) > 0.0
    to_zero = banded(Band(0.5, 0.0, 1.0, ""))
    assert to_zero(0.0) == 0.0
    one_sided = banded(Band(1.0, 0.3, 1.0, ""))
    assert one_sided(0.9) == 1.0


def test_a_normal_is_cut_off_at_three_standard_deviations():
    assert (deviate(0.0), deviate(1.0)) == (pytest.approx(-3.0), pytest.approx(3.0))
    assert normal(2.0, 0.5)(ONE_SIGMA) == pytest.approx(2.5, rel=0.01)


def test_every_input_moves_a_key_the_case_room_accepts(base, trial):
    for j in range(len(trial.inputs)):
        for end in (0.0, 1.0):
            shares = np.full(len(trial.inputs), 0.5)
            shares[j] = end
            for task in tasks_at(trial, shares):
                assert isinstance(case_of(base, task), Case), trial.inputs[j].name
    names = {item.name for item in trial.inputs}
    assert {"durometer batch", "tail thickness", "water temperature", "retrieve speed",
            "tail munk", "tail rim force"} <= names  # fmt: skip


def test_the_middle_of_everything_is_the_case_itself(base, trial):
    middle = case_of(base, tasks_at(trial, np.full(len(trial.inputs), 0.5))[0])
    own = loads(base.text)
    assert middle.material.hardness == pytest.approx(own.material.hardness)
    thickness = middle.parts[0].thickness.values
    assert thickness == pytest.approx(own.parts[0].thickness.values)
    assert middle.scenarios[0].speeds == pytest.approx((0.5,))
    assert middle.water.temperature == pytest.approx(own.water.temperature)


@pytest.mark.parametrize(("corrected", "shift"), [("true", 0.0), ("false", 0.15e-3)])
def test_a_mould_bias_that_is_not_corrected_makes_parts_thicker(base, corrected, shift):
    text = base.text + f'[shop]\nmould = "resin"\nbias_corrected = {corrected}\n'
    case = loads(text)
    item = next(i for i in scatter_of(case, base.tables) if i.name == "tail thickness")
    assert item.at(0.5) == pytest.approx(shift, abs=1e-12)
    # part to part and mould to mould, both 0.08 mm
    assert item.at(ONE_SIGMA) - shift == pytest.approx(math.hypot(0.08e-3, 0.08e-3), rel=0.01)


def test_a_case_without_a_brief_is_one_line(tmp_path):
    path = tmp_path / "paddle.toml"
    path.write_text(PADDLE)
    with pytest.raises(InputError, match=r"no \[\[brief\]\]"):
        make_trial(read_base(path))


def test_the_interval_of_a_share_is_wilsons():
    # Wilson 1927 by hand for 8 of 10, z = 1.959964
    z, n, p = 1.959964, 10, 0.8
    middle = (p + z * z / (2 * n)) / (1 + z * z / n)
    half = z * math.sqrt(p * (1 - p) / n + z * z / (4 * n * n)) / (1 + z * z / n)
    found = probability([True] * 8 + [False] * 2)
    assert (found.low, found.high) == pytest.approx((middle - half, middle + half), rel=1e-6)


def sampled(trial, shares, tmp_path):
    return run_samples(trial, shares, tmp_path, local_runner(1, trial.mode))


def test_costs_corner_and_convergence_of_a_small_sample(trial, tmp_path):
    assert trial.mode == "fast"
    shares = points(trial, 64, seed=2)
    samples = sampled(trial, shares, tmp_path)
    found = effects(trial, shares, samples)
    assert sum(effect.share for effect in found) == pytest.approx(1.0)
    # how stiff a durometer pours, and the wake, are the least known inputs of a paddle's start
    assert {effect.input.name for effect in found[:3]} & CULPRITS
    law = next(effect for effect in found if effect.input.name == "durometer law")
    assert law.rank < 0.0  # the stiffer, the later it starts
    steps = convergence(samples)
    assert [p.count for p in steps] == [8, 16, 32, 64]
    assert steps[-1].passed == sum(s.passes for s in samples)
    corner = failing_corner(trial, tmp_path, local_runner(1, "fast"))
    settings = {item.name: value for item, value in corner.settings}
    # thick and hard, whatever the noise of a small sample
    assert set(settings) == {"tail thickness", "durometer batch"}
    assert settings["tail thickness"] > 0.0
    assert settings["durometer batch"] > 46.0
    middle = sampled(trial, np.full((1, len(trial.inputs)), 0.5), tmp_path)[0]
    assert corner.sample.margin < middle.margin


@pytest.mark.slow
def test_pass_probability_agrees_with_a_plain_large_monte_carlo(trial, tmp_path):
    quick = probability([s.passes for s in sampled(trial, points(trial, 256, 3), tmp_path)])
    plain = np.random.default_rng(11).random((800, len(trial.inputs)))
    large = probability([s.passes for s in sampled(trial, plain, tmp_path)])
    assert 0.05 < large.value < 0.95
    assert quick.low <= large.value <= quick.high


@pytest.mark.slow
def test_sobol_indices_name_the_same_culprit(trial, tmp_path):
    found = sobol(trial, 64, 5, tmp_path, local_runner(1, "fast"))
    assert found[0].input.name in CULPRITS
    assert found[0].total_ends[0] <= found[0].total <= found[0].total_ends[1] * 1.001
    assert found[0].total > found[1].total
