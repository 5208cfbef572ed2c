"""The brief judged, and the runs it asks for."""

from dataclasses import replace

import pytest
from sweep_cases import PADDLE, RIGGED

from simsoft.case.observed import Seen
from simsoft.case.read import loads
from simsoft.core.errors import InputError
from simsoft.design.brief import GO, MARGINAL, NO_GO, OPEN, UNPROVEN, judge, meets, overall, score
from simsoft.design.sweep.runs import run_specs
from simsoft.results.record import BY_LOOK, ON_SOFT_BODY, Record, distrusted, missing

BASIS = "invented"


def case_with(*clauses):
    return loads(PADDLE + "".join(f"[[brief]]\n{clause}\n" for clause in clauses))


def start(value, low, high, **at):
    return Record("retrieve", "tail", "start_speed", value, low, high, "m/s", BASIS, at)


@pytest.mark.parametrize(
    ("ends", "verdict"),
    [((0.1, 0.0, 0.19), GO), ((0.1, 0.0, 0.3), MARGINAL), ((0.5, 0.3, 0.7), NO_GO)],
)
def test_the_share_of_sides_that_foul_is_wanted_of_a_cast(ends, verdict):
    case = loads(f'{RIGGED}\n[[brief]]\nquantity = "fouling_sides"\nat_most = "20 %"\n')
    (clause,) = case.brief
    assert clause.at_most == pytest.approx(0.2)
    (spec,) = run_specs(case, only_brief=True)
    assert spec.scenarios == ("throw",)
    at = {"speed": 26.0, "state": "tumble"}
    record = Record("throw", "tail", "fouling_sides", *ends, "", BASIS, at)
    (found,) = judge(case, [record], banded=True)
    assert found.verdict == verdict
    assert found.record is record


def test_a_gap_that_misses_decides_whatever_is_not_known_elsewhere():
    case = loads(f'{RIGGED}\n[[brief]]\nquantity = "hook_clearance"\nat_least = "1 mm"\n')

    def gap(value, state, basis=BASIS):
        at = {"speed": 0.3, "state": state}
        band = (value, value - 1e-4, value + 1e-4)
        return Record("swim", "tail", "hook_clearance", *band, "m", basis, at)

    folded = distrusted(gap(5e-3, "cycle"), "in the body")
    for banded, word in ((True, NO_GO), (False, "misses")):
        (found,) = judge(case, [folded, gap(2e-4, "rest")], banded=banded)
        assert found.verdict == word
        (found,) = judge(case, [folded, gap(4e-3, "rest")], banded=banded)
        assert found.verdict == OPEN


SLOW = 'quantity = "start_speed"\nat_most = "0.4 m/s"'


@pytest.mark.parametrize(
    ("ends", "verdict"),
    [
        ((0.3, 0.2, 0.39), GO),
        ((0.3, 0.2, 0.45), MARGINAL),
        ((0.5, 0.35, 0.7), MARGINAL),
        ((0.6, 0.41, 0.9), NO_GO),
        ((0.3, 0.2, None), MARGINAL),  # open upward: may start far later
        ((0.3, None, None), MARGINAL),  # a number without a band is no go
        ((0.5, None, None), NO_GO),
    ],
)
def test_the_verdict_goes_by_the_whole_band(ends, verdict):
    found = judge(case_with(SLOW), [start(*ends)], banded=True)[0]
    assert found.verdict == verdict
    assert found.record.value == ends[0]
    assert found.margin == pytest.approx(0.4 - ends[0])


def test_what_never_starts_is_no_go_with_its_reason():
    never = missing("retrieve", "tail", "start_speed", "m/s", BASIS, "the stroke stays small")
    found = judge(case_with(SLOW), [never], banded=True)
    assert (found[0].verdict, found[0].reason) == (NO_GO, "the stroke stays small")
    assert not meets(found)
    assert score(found) < -1e6


def test_what_the_run_does_not_answer_is_no_pass():
    found = judge(case_with(SLOW), [], banded=True)
    assert overall(found) == OPEN
    assert not meets(found)


def test_the_worst_part_and_the_worst_clause_decide():
    case = case_with(SLOW, 'quantity = "mass"\nat_most = "10 g"')
    mass = Record("", "", "mass", 0.005, 0.0049, 0.0051, "kg", BASIS)
    good, bad = start(0.2, 0.1, 0.3), start(0.9, 0.8, 1.0)
    found = judge(case, [good, bad, mass], banded=True)
    assert [f.verdict for f in found] == [NO_GO, GO]
    assert found[0].record is bad
    assert overall(found) == NO_GO


def test_conditions_pick_the_record():
    case = case_with(
        'quantity = "flap_frequency"\nspeed = "0.6 m/s"\nat_least = "4 Hz"\nat_most = "8 Hz"',
        'quantity = "start_speed"\ntemperature = "5 degC"\nat_most = "0.5 m/s"',
    )

    def beat(value, speed):
        return Record("retrieve", "tail", "flap_frequency", value, value - 0.5, value + 0.5,
                      "Hz", BASIS, {"speed": speed})  # fmt: skip

    cold = start(0.45, 0.44, 0.46, water_temperature=278.15)
    found = judge(case, [beat(9.0, 0.4), beat(6.0, 0.6), start(0.9, 0.8, 1.0), cold], banded=True)
    assert [f.verdict for f in found] == [GO, GO]
    assert found[0].record.value == 6.0
    assert found[1].record is cold


def rigged(*clauses):
    return loads(RIGGED + "".join(f"[[brief]]\n{clause}\n" for clause in clauses))


def test_a_reach_is_that_of_the_attitude_flown_and_of_still_air_unless_wind_is_asked():
    def throw(value, **at):
        return Record("throw", "", "cast_distance", value, value - 2, value + 2, "m", BASIS, at)

    records = [
        throw(40.0, wind=0.0, wind_from=0.0),
        throw(20.0, wind=0.0, wind_from=0.0, attitude="broadside"),
        throw(31.0, wind=6.0, wind_from=0.0),
    ]
    case = rigged(
        'quantity = "cast_distance"\nat_least = "35 m"',
        'quantity = "cast_distance"\nat_least = "25 m"\nat = { wind = "6 m/s" }',
        'quantity = "cast_distance"\nat_least = "25 m"\nat = { attitude = "broadside" }',
    )
    found = judge(case, records, banded=True)
    assert [f.record.value for f in found] == [40.0, 31.0, 20.0]
    assert [f.verdict for f in found] == [GO, GO, NO_GO]
    # a case thrown in wind alone is judged by its worst wind
    assert judge(case, records[2:], banded=True)[0].record.value == 31.0


def test_the_closest_the_hook_comes_in_any_scenario_counts():
    def clear(scenario, part, value, **at):
        return Record(scenario, part, "hook_clearance", value, value - 1e-4, value + 1e-4, "m",
                      BASIS, at)  # fmt: skip

    records = [
        clear("swim", "tail/left", 6e-3, speed=0.3, state="rest"),
        clear("swim", "tail/left", 5e-3, speed=0.3, state="cycle"),
        clear("throw", "tail/right", 2e-3, speed=26.0, state="tumble"),
        clear("throw", "tail/right", 1e-3, speed=26.0, state="tumble", spot="point"),
    ]
    case = rigged(
        'quantity = "hook_clearance"\nat_least = "3 mm"',
        'quantity = "hook_clearance"\nat_least = "3 mm"\nscenario = "swim"\npart = "tail"',
    )
    found = judge(case, records, banded=True)
    assert [f.record.value for f in found] == [2e-3, 5e-3]
    assert [f.verdict for f in found] == [NO_GO, GO]
    # a gap that could not be found on the cast is no gap that is wide enough
    unknown = missing("throw", "tail/left", "hook_clearance", "m", BASIS, "lost", speed=26.0)
    found = judge(case, [*records[:2], unknown], banded=True)
    assert [f.verdict for f in found] == [NO_GO, GO]
    assert found[0].reason == "lost"


def test_the_mass_is_that_of_the_whole_lure_unless_a_part_is_named():
    records = [
        Record("", part, "mass", value, value, value, "kg", BASIS)
        for part, value in (("", 8e-3), ("body", 3e-3))
    ]
    case = rigged('quantity = "mass"\nat_least = "5 g"')
    assert judge(case, records, banded=True)[0].verdict == GO


@pytest.mark.parametrize(
    ("clause", "said"),
    [
        ('quantity = "start_speed"\nat_most = "0.5 m/s"\ntemperature = "5 degC"',
         '--set water.temperature="5 degC"'),
        ('quantity = "stroke"\nspeed = "0.9 m/s"\nat_least = "5 mm"', "run at 0.9 m/s"),
        ('quantity = "sink_rate"\nat_least = "0.1 m/s"', "no scenario of the case"),
        ('quantity = "hook_clearance"\nat_least = "1 mm"', "has no hook"),
    ],
)  # fmt: skip
def test_a_clause_without_an_answer_says_what_would_answer_it(clause, said):
    found = judge(case_with(clause), [], banded=True)[0]
    assert found.verdict == OPEN
    assert said in found.reason


def test_margins_without_bands_take_the_base_designs():
    case = case_with(SLOW)
    column = '["retrieve", "tail", "start_speed", "m/s", {}]'
    found = judge(case, [start(0.32, None, None)], banded=False, bands={column: (0.5, 1.25)})
    assert found[0].bands == pytest.approx(0.08 / (0.25 * 0.32))


def test_a_brief_adds_its_speeds_and_its_waters():
    case = case_with(
        SLOW,
        'quantity = "flap_frequency"\nspeed = "0.6 m/s"\nat_least = "4 Hz"',
        'quantity = "start_speed"\ntemperature = "5 degC"\nat_most = "0.5 m/s"',
    )
    own, cold = run_specs(case)
    assert own.temperature is None
    assert own.overrides == ('scenarios.retrieve.speed=["0.5 m/s", "0.6 m/s"]',)
    assert cold.temperature == pytest.approx(278.15)
    assert cold.after == ("water.temperature=278.15 K",)
    # only the start is asked for in the cold: nothing is marched there at given speeds
    assert "scenarios.retrieve.march=false" in cold.overrides


@pytest.mark.parametrize("quantity", ["flap_frequency", "edge_to_edge", "root_moment"])
def test_what_a_march_answers_is_marched_for_in_other_water(quantity):
    case = case_with(f'quantity = "{quantity}"\ntemperature = "5 degC"\nat_least = "1 {{}}"'.format(
        {"flap_frequency": "Hz", "edge_to_edge": "mm", "root_moment": "N mm"}[quantity]
    ))  # fmt: skip
    _, cold = run_specs(case)
    assert not any("march=false" in override for override in cold.overrides)
    assert cold.scenarios == ("retrieve",)


def test_a_cut_run_searches_as_far_as_the_whole_one():
    case = case_with(SLOW)
    (cut,) = run_specs(case, only_brief=True)
    assert any(o.startswith("scenarios.retrieve.max_speed=2.5 m/s") for o in cut.overrides)


@pytest.mark.parametrize(
    ("clause", "said"),
    [
        ('quantity = "start_sped"\nat_most = "1 m/s"', "did you mean `start_speed`"),
        ('quantity = "stroke"\nat_least = "8"', 'such as "8 mm"'),
        ('quantity = "stroke"', "wants nothing"),
        ('quantity = "stroke"\nat_least = "9 mm"\nat_most = "8 mm"', "lies above"),
        ('quantity = "verdict"\nat_least = "1"', "a verdict is a word"),
        ('quantity = "stroke"\nequals = "kicks"', "is a number"),
        ('quantity = "stroke"\nat_most = "8 mm"\npart = "tial"', "is not in the case"),
    ],
)
def test_a_clause_that_makes_no_sense_is_one_line(clause, said):
    with pytest.raises(InputError) as error:
        case_with(clause)
    assert said in error.value.problems[0]
    assert "brief" in error.value.problems[0]


def test_cold_water_cannot_be_asked_of_a_stated_modulus():
    text = PADDLE.replace('durometer = "46 OO"', 'youngs_modulus = "200 kPa"')
    case = loads(text + f'[[brief]]\n{SLOW}\ntemperature = "4 degC"\n')
    assert any("the same at every temperature" in warning for warning in case.warnings)


def test_a_stem_of_soft_body_is_no_go_until_it_was_looked_at():
    inside = replace(start(0.2, 0.1, 0.3), basis=f"{BASIS}; {ON_SOFT_BODY}")
    case = case_with(SLOW)
    found = judge(case, [inside], banded=True)[0]
    assert (found.verdict, found.reason) == (MARGINAL, UNPROVEN)
    left_out = replace(case, seen=(Seen("start_speed", 3.0, 0.1, "eye"),))
    assert judge(left_out, [inside], banded=True)[0].verdict == MARGINAL
    given = replace(inside, basis=f"{inside.basis}; {BY_LOOK}")
    assert judge(case, [given], banded=True)[0].verdict == GO
    outside = replace(inside, value=0.6, low=0.5, high=0.7)
    assert judge(case, [outside], banded=True)[0].verdict == NO_GO


@pytest.mark.parametrize(
    ("wish", "values"),
    [('at_most = "0.02 m/s"', (0.306, 0.34, 0.381)), ('at_least = "9 m/s"', (0.4, 0.2, 0.1))],
)
def test_designs_that_all_miss_by_far_are_told_apart(wish, values):
    """One half band grows with its number: linearly, all of them would read -1.9."""
    case = case_with(f'quantity = "start_speed"\n{wish}')
    read = [score(judge(case, [start(v, None, None)], banded=False)) for v in values]
    shown = [f"{margin:.1f}" for margin in read]
    assert sorted(read, reverse=True) == read
    assert len(set(shown)) == len(shown)
    assert score(judge(case_with(SLOW), [start(0.400001, None, None)], banded=False)) > -1e-4
