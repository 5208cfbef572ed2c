"""A case that names a shop's profile: what scatters, what is varied, what is cut."""

import math

import numpy as np
import pytest
from sweep_cases import PADDLE

from simsoft.case.profile import VALUES
from simsoft.case.read import load
from simsoft.case.schema import ProfileValuesTable
from simsoft.core.errors import InputError
from simsoft.design.cad import cavity
from simsoft.design.changes import default_axes
from simsoft.design.scatter import scatter_of
from simsoft.design.sweep.axis import read_axis
from simsoft.design.sweep.plan import Plan
from simsoft.design.sweep.run import prepare_sweep, read_base
from simsoft.design.sweep.task import Task, case_of, key_of
from simsoft.design.tolerance import make_trial, tasks_at
from simsoft.lure.parts import assemble
from simsoft.properties.material import hertz_modulus_oo

BRIEF = """
[[brief]]
quantity = "start_speed"
at_most = "0.5 m/s"
"""
SHOP = """
title = "bench"
[values.youngs_modulus]
value = "210 kPa"
low = "200 kPa"
high = "221 kPa"
frequency = "6.5 Hz"
temperature = "22 degC"
[values.loss_factor]
value = 0.21
low = 0.19
high = 0.23
[values.thickness_bias]
value = "-0.05 mm"
low = "-0.09 mm"
high = "-0.01 mm"
[values.rim_rate]
value = 0.165
low = 0.160
high = 0.170
"""
ONE_SIGMA = 0.841344746  # before the tails beyond three deviations are cut off


@pytest.fixture
def base(tmp_path):
    (tmp_path / "shop.toml").write_text(SHOP)
    path = tmp_path / "paddle.toml"
    path.write_text('profile = "shop.toml"\n' + PADDLE + BRIEF)
    return read_base(path)


@pytest.fixture
def case(base):
    return load(base.name)


def named(case, base):
    return {item.name: item for item in scatter_of(case, base.tables)}


def test_the_table_of_changes_knows_every_value_of_a_profile():
    assert set(ProfileValuesTable.model_fields) == set(VALUES)


def test_measured_values_scatter_in_place_of_the_defaults(case, base):
    found = named(case, base)
    assert not {"durometer batch", "durometer law", "material damping"} & set(found)
    assert "tail rim rate" not in found
    assert found["shop's rim rate"].at(ONE_SIGMA) == pytest.approx(0.170, rel=0.01)
    bias = found["shop's thickness bias"]
    assert bias.at(0.5) == pytest.approx(-0.05e-3)
    assert bias.at(1 - ONE_SIGMA) == pytest.approx(-0.09e-3, rel=0.01)
    # what was not measured keeps its default
    assert {"rate law", "stiffening in the cold", "density", "tail rim force"} <= set(found)


def test_the_next_pour_widens_a_measured_modulus(case, base):
    spread = named(case, base)["shop's youngs modulus"]
    # 46 OO and three points to either side, Hertz's law from the law's own module
    pour = 0.5 * math.log(hertz_modulus_oo(49.0) / hertz_modulus_oo(43.0))
    wide = math.log(spread.at(ONE_SIGMA) / spread.at(0.5))
    assert wide == pytest.approx(math.hypot(pour, math.log(221 / 210)), rel=0.01)
    assert wide > 2 * math.log(221 / 210)


def test_a_sample_moves_the_model_to_the_value_drawn(base):
    trial = make_trial(base)
    names = [item.name for item in trial.inputs]
    shares = np.full(len(names), 0.5)
    shares[names.index("shop's youngs modulus")] = 0.9
    middle, moved = (
        assemble(case_of(base, tasks_at(trial, row, ())[0])).strips[0]
        for row in (np.full(len(names), 0.5), shares)
    )
    drawn = trial.inputs[names.index("shop's youngs modulus")]
    ratio = drawn.at(0.9) / drawn.at(0.5)
    assert moved.inputs["modulus"].value / middle.inputs["modulus"].value == pytest.approx(ratio)
    own = assemble(trial.case).strips[0].inputs
    for name in ("modulus", "loss_factor", "thickness", "rim_rate"):
        assert middle.inputs[name].value == pytest.approx(own[name].value, rel=1e-6)


def test_a_changed_value_keeps_the_ratio_of_its_band(base):
    own = load(base.name).profile.values
    stiffer = load(base.name, ["profile_values.youngs_modulus=420 kPa"]).profile.values
    assert stiffer["youngs_modulus"].value == pytest.approx(420e3)
    assert stiffer["youngs_modulus"].low == pytest.approx(2 * own["youngs_modulus"].low)
    thicker = load(base.name, ["profile_values.thickness_bias=0.1 mm"]).profile.values
    assert thicker["thickness_bias"].low == pytest.approx(0.06e-3)
    assert thicker["thickness_bias"].high == pytest.approx(0.14e-3)


@pytest.mark.parametrize(
    ("override", "words"),
    [
        ("profile_values.munk=0.5", "munk: the profile has no such value; it has youngs_modulus"),
        ("profile_values.loss_factor=9", "profile_values.loss_factor"),
        ("profile_values.modulus=9", "profile_values.modulus"),
    ],
)
def test_a_wrong_change_is_one_line(base, override, words):
    with pytest.raises(InputError, match=words) as caught:
        load(base.name, [override])
    assert len(caught.value.problems) == 1


def test_changes_need_a_profile(tmp_path):
    path = tmp_path / "paddle.toml"
    path.write_text(PADDLE)
    with pytest.raises(InputError, match="no `profile` is named"):
        load(path, ["profile_values.munk=0.5"])


def test_a_durometer_that_changes_nothing_is_not_varied(base, case):
    with pytest.raises(InputError, match=r"vary profile_values\.youngs_modulus"):
        prepare_sweep(base, Plan((read_axis("material.durometer=40 OO:60 OO:10 OO"),)))
    paths = [axis.path for axis in default_axes(case, base.tables)]
    assert "material.durometer" not in paths
    assert "profile_values.youngs_modulus" in paths
    prepare_sweep(base, Plan((read_axis("profile_values.youngs_modulus=150 kPa:250 kPa:50 kPa"),)))


def test_a_profile_written_anew_is_another_run(base, tmp_path):
    before = key_of(base, Task(()))
    assert key_of(base, Task(())) == before
    (tmp_path / "shop.toml").write_text(SHOP.replace("210 kPa", "212 kPa"))
    assert key_of(base, Task(())) != before


def test_a_bias_in_the_prediction_is_not_taken_off_the_cavity(base, case):
    resin = load(base.name, ["shop.mould=resin"])
    found = {item.name: item for item in cavity(resin, base.tables)}
    assert float(found["tail_thickness_cavity"].value) == pytest.approx(2.0 * 1.015, rel=2e-3)
    assert "cut as drawn" in found["tail_thickness_cavity"].comment
