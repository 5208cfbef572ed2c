"""Recipes for a wanted fall, each verified by a forward run; what cannot be done is said."""

import math
from dataclasses import replace
from types import SimpleNamespace

import pytest
from physics import case_of

from simsoft.case.model import BodyInput, HookInput, RigInput, Scenario, Taper, WeightInput
from simsoft.core.quantities import nose
from simsoft.engine.run import run
from simsoft.report.text.recipe import recipe_lines
from simsoft.results.record import missing, select
from simsoft.scenarios.recipe import MOST_SALT, levers, recipes, why_faster

SIZE = Taper((0.0, 1.0), (0.01, 0.01))
STICK = BodyInput("stick-worm", 0.1, SIZE, SIZE, salt_fraction=0.1)
HOOK = HookInput(0.001, ((0.03, 0.0, 0.0), (0.05, 0.0, 0.0), (0.07, 0.0, 0.0)), 2e-4)

RIG = RigInput(HOOK)


def case_with(body=STICK, rig=RIG, **wanted):
    scenario = Scenario("fall", "sink", **wanted)
    return replace(case_of(density=1020.0), parts=(), body=body, rig=rig, scenarios=(scenario,))


def sunk(case):
    """Return sink rate [m/s] and attitude [deg] of a plain forward run."""
    plain = replace(case, scenarios=(Scenario("fall", "sink"),))
    records = run(plain, bands=False).records
    return select(records, "sink_rate")[0].value, select(records, "attitude")[0].value


@pytest.fixture(scope="module")
def found():
    """Return case and records of a stick worm that should sink at 0.19 m/s."""
    case = case_with(wanted_sink_rate=0.19)
    return case, recipes(case, case.scenarios[0])


@pytest.mark.parametrize("name", ["salt", "weight", "hook"])
def test_a_recipe_gives_the_wanted_rate_in_a_forward_run(found, name):
    case, records = found
    (recipe,) = select(records, "recipe", lever=name)
    assert recipe.low < recipe.value < recipe.high
    lever = next(item for item in levers(case) if item.name == name)
    rate, _ = sunk(lever.turned(recipe.value, None))
    assert rate == pytest.approx(0.19, rel=0.03)
    (told,) = select(records, "recipe_sink_rate", lever=name)
    assert told.value == pytest.approx(rate, rel=0.02)


def test_more_of_what_floats_cannot_make_it_sink_faster(found):
    _, records = found
    (recipe,) = select(records, "recipe", lever="microballoons")
    assert recipe.value is None
    assert "nothing from 0 % of microballoons to 5 %" in recipe.reason
    assert "nearest is" in recipe.reason
    (nearest,) = select(records, "recipe_sink_rate", lever="microballoons")
    assert nearest.value < 0.19


def falling(rate, degrees):
    return SimpleNamespace(sink_rate=rate, final_attitude=math.radians(degrees))


def test_a_lighter_lure_that_falls_faster_is_explained_and_no_other():
    now = falling(0.215, 9.0)
    told = why_faster(now, falling(0.356, 53.0))
    assert told.startswith(": lighter, yet faster than now (0.215 m/s, nose down by 9 deg)")
    assert "tips" in told
    assert why_faster(now, falling(0.2, 53.0)) == ""  # slower, as a lighter one should be
    assert why_faster(now, falling(0.22, 3.0)) == ""  # does not tip: that would be no reason


def test_how_the_nose_points_is_told_by_a_word_not_by_a_sign():
    assert [nose(x) for x in (-28.4, 9.0, 0.2)] == [
        "nose up by 28 deg",
        "nose down by 9 deg",
        "level",
    ]


def test_where_no_lever_does_it_none_is_offered():
    none = [
        missing(
            "fall", "", "recipe", "", "b", f"nothing with {name}", lever=name, wanted=3.0, now=0.1
        )
        for name in ("salt", "hook")
    ]
    assert recipe_lines(none)[0] == "  Wanted: a fall at 3 m/s. No one of these changes gives it:"


def test_a_rate_out_of_reach_is_refused_with_the_nearest_miss():
    case = case_with(wanted_sink_rate=0.6)
    (recipe,) = select(recipes(case, case.scenarios[0], bands=False), "recipe", lever="salt")
    assert recipe.value is None
    assert f"{100 * MOST_SALT:.3g} % of salt" in recipe.reason


def test_a_bait_can_be_made_to_rise():
    case = case_with(replace(STICK, salt_fraction=0.0), RigInput(), wanted_sink_rate=-0.05)
    records = recipes(case, case.scenarios[0], bands=False)
    (recipe,) = select(records, "recipe", lever="microballoons")
    lever = next(item for item in levers(case) if item.name == "microballoons")
    rate, _ = sunk(lever.turned(recipe.value, None))
    assert rate == pytest.approx(-0.05, rel=0.05)
    (hook,) = select(records, "recipe", lever="hook")
    assert hook.reason == "there is no hook to change"


def test_the_place_of_a_nail_levels_a_bait_that_falls_nose_down():
    hook = replace(HOOK, path=((0.0, 0.0, 0.0), (0.02, 0.0, 0.0), (0.03, 0.0, 0.0)), mass=4e-3)
    case = case_with(rig=RigInput(hook), wanted_sink_rate=0.5, wanted_attitude=0.0)
    assert sunk(case)[1] > 10.0
    records = recipes(case, case.scenarios[0], bands=False)
    (recipe,) = select(records, "recipe", lever="weight")
    (place,) = select(records, "recipe_position", lever="weight")
    lever = next(item for item in levers(case) if item.name == "weight")
    rate, attitude = sunk(lever.turned(recipe.value, place.value))
    assert rate == pytest.approx(0.5, rel=0.03)
    assert abs(attitude) < 3.0
    assert place.value > 0.05


def test_a_stated_density_leaves_no_filler_to_change():
    case = case_with(replace(STICK, density=1100.0), wanted_sink_rate=0.19)
    salt = levers(case)[0]
    assert "density is stated" in salt.lacking
    assert levers(replace(case, body=None))[0].lacking == "there is no body to pour"


def test_a_stated_weight_is_changed_where_it_sits():
    jig = WeightInput("jig", "jig-head", "lead", 1e-3, (0.002, 0.0, 0.0))
    case = case_with(rig=RigInput(None, (jig,)))
    weight = next(item for item in levers(case) if item.name == "weight")
    assert weight.now == 1e-3
    turned = weight.turned(2e-3, None).rig.weights
    assert turned == (replace(jig, mass=2e-3),)


def test_recipes_are_told_with_band_setting_and_fall(found):
    _, records = found
    lines = recipe_lines(records)
    assert lines[0] == "  Wanted: a fall at 0.19 m/s. Change one of these:"
    assert "salt: " in lines[1]
    assert "now 10.0" in lines[1]
    assert "falls at 0.190 m/s, level." in lines[1]
    assert "microballoons: none, nothing from" in lines[2]
    assert recipe_lines([]) == []


def test_a_hook_of_no_stated_mass_is_weighed_as_steel_wire():
    case = case_with(rig=RigInput(replace(HOOK, mass=None)))
    wire = 7850.0 * 0.25 * 3.14159 * 0.001**2 * 0.04  # straight, 40 mm of 1 mm
    assert levers(case)[-1].now == pytest.approx(wire, rel=0.01)
    assert levers(case_with())[-1].now == pytest.approx(2e-4)
