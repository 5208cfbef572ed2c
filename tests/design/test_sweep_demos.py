"""The demo cases: their picks by brute force, the winter case woken by one change."""

import math
from pathlib import Path

import pytest

from simsoft.design.candidates import Bench, around
from simsoft.design.changes import default_axes
from simsoft.design.pick import pick_values
from simsoft.design.sweep.axis import read_axis
from simsoft.design.sweep.run import local_runner, read_base
from simsoft.design.sweep.screening import marched_records
from simsoft.design.sweep.task import Task, case_of
from simsoft.design.tolerance import make_trial, points, tasks_at
from simsoft.engine.run import run

CASES = Path(__file__).parents[2] / "cases"
INCH = 0.0254
WARM = "water.temperature=22 degC"


def marched(base, *changes):
    """Run a changed case forward, whole, past every room of the sweep; its records by name."""
    records = run(case_of(base, Task(changes)), bands=False).records
    return {(r.quantity, r.at.get("speed")): r.value for r in records if r.scenario != "tank"}


@pytest.mark.slow
def test_the_winter_case_is_dead_in_the_cold_and_three_single_changes_wake_it(tmp_path):
    base = read_base(CASES / "winter_80.toml")
    trial = make_trial(base)
    limit = trial.case.brief[0].at_most
    cold, warm = marched(base), marched(base, WARM)
    speeds = trial.case.scenarios[1].speeds
    assert "kicks" not in [cold["verdict", speed] for speed in speeds]
    assert warm["verdict", max(speeds)] == "kicks"
    assert warm["start_speed", None] < limit < cold["start_speed", None]
    axes = default_axes(trial.case, base.tables)
    found = pick_values(Bench(trial, 8, 4, tmp_path, local_runner(1, trial.mode)), axes)
    changed = {}
    for one in found:
        if one.best is None:
            continue  # no diameter does it alone
        change = f"{one.axis.path}={one.best.value}"
        assert not case_of(base, Task((change,))).warnings
        woken = marched(base, change)
        assert woken["start_speed", None] <= limit, change
        assert woken["fold_back", limit] <= 30.0, change
        assert woken["verdict", max(speeds)] == "kicks", change
        changed[one.axis.path] = float(one.best.value.split()[0])
    assert changed["parts.tail.thickness"] < 4.0
    assert changed["material.durometer"] < 48
    assert changed["parts.tail.length"] > 16
    # on its stem's axis it starts later and kicks at no speed of a winter retrieve, warm or cold
    for water, hung in (((), cold), ((WARM,), warm)):
        centred = marched(base, "parts.tail.paddle_offset=0 mm", *water)
        assert centred["start_speed", None] > hung["start_speed", None]
        assert "kicks" not in {centred["verdict", speed] for speed in speeds}


def by_hand(name, case, records):
    """Tell whether one sample does what a demo case's brief says, from its bare records."""
    fast = max((max(s.speeds, default=0.0) for s in case.scenarios), default=0.0)

    def one(quantity, **at):
        return next(
            (r.value for r in records if r.quantity == quantity and dict(r.at) == at), math.nan
        )

    if name == "winter_80":
        start, fold = one("start_speed"), one("fold_back", speed=fast)
        kicks = one("verdict", speed=fast) == "kicks"
        return kicks and None not in (start, fold) and start <= 0.45 and fold <= 30.0
    if name == "stick_127":
        reach = one("cast_distance", wind=0.0, wind_from=0.0)
        return 9 * INCH <= one("sink_rate") <= 11 * INCH and reach >= 18.0
    gaps = [r.value for r in records if r.quantity == "hook_clearance"]
    return None not in gaps and min(gaps) >= 1e-3


@pytest.mark.slow
@pytest.mark.parametrize(
    ("name", "changed", "vary"),
    [
        ("winter_80", [], "parts.tail.thickness=3.4:4:0.3 mm"),
        ("winter_80", [], "material.durometer=36:48:6 OO"),
        ("winter_80", [], "parts.tail.length=13:19:3 mm"),
        ("stick_127", [], "body.height=8,9,10 mm"),
        ("stick_127", [], "body.salt_fraction=5:25:10 %"),
        # coarse rods: the search is what is tested, not the claws
        ("creature_95", ["numerics.elements=8"], "parts.claw.length=14,20,26 mm"),
        ("creature_95", ["numerics.elements=8"], "material.durometer=55,70 OO"),
    ],
)
def test_the_pick_of_a_demo_is_the_one_brute_force_finds(name, changed, vary, tmp_path):
    base = read_base(CASES / f"{name}.toml", changed)
    trial = make_trial(base)
    axis = read_axis(vary)
    (found,) = pick_values(Bench(trial, 8, 4, tmp_path, local_runner(1, trial.mode)), [axis])
    middle, passed = [], []
    for value in axis.values:
        design = (f"{axis.path}={value}",)
        moved = around(trial, design)
        judged = []
        for row in [[0.5] * len(moved.inputs), *points(moved, 8, 4)]:
            (task,) = tasks_at(moved, row, design)
            case = case_of(base, task)
            judged.append(by_hand(name, case, marched_records(case)))
            if not judged[0]:
                break  # not met in the middle: never picked, so never sampled
        middle.append(judged[0])
        passed.append(sum(judged[1:]))
    assert [c.middle.passes for c in found.candidates] == middle
    if not any(middle):
        assert found.best is None
        return
    best = axis.values.index(found.best.value)
    assert trial.mode == "full"  # nothing here is judged by the screening
    assert [c.chance.passed if c.chance else 0 for c in found.candidates] == passed
    assert passed[best] == max(passed)


@pytest.mark.slow
def test_the_pick_of_the_demo_paddle_is_the_one_brute_force_finds(tmp_path):
    """Every candidate and every sample marched and judged by hand, past screening and brief."""
    base = read_base(CASES / "paddle_100.toml")
    trial = make_trial(base)
    assert trial.mode == "full"
    axis = read_axis("parts.tail.thickness=1.6:2.4:0.4 mm")
    (found,) = pick_values(Bench(trial, 8, 4, tmp_path, local_runner(1, "full")), [axis])
    passed, middle = [], []
    for value in axis.values:
        design = (f"{axis.path}={value}",)
        moved = around(trial, design)
        shares = [[0.5] * len(moved.inputs), *points(moved, 8, 4)]
        judged = [kicks_as_wanted(base, tasks_at(moved, row, design)) for row in shares]
        middle.append(judged[0])
        passed.append(sum(judged[1:]))
    assert [c.middle.passes for c in found.candidates] == middle
    best = axis.values.index(found.best.value)
    assert middle[best]
    assert passed[best] == max(n for n, good in zip(passed, middle, strict=True) if good)
    for candidate, count in zip(found.candidates, passed, strict=True):
        assert candidate.chance is None or candidate.chance.passed == count
    # the inverse run forward, whole
    forward = marched(base, f"{axis.path}={found.best.value}")
    assert forward["start_speed", None] <= 0.5
    assert 4.0 <= forward["flap_frequency", 0.6] <= 10.0
    assert forward["stroke", 0.6] >= 4e-3
    assert forward["fold_back", 0.6] <= 40.0


def kicks_as_wanted(base, tasks):
    """Tell whether a sample does what the demo case's brief says, by the march alone."""
    own, cold = (
        {(r.quantity, r.at.get("speed")): r.value for r in marched_records(case_of(base, task))}
        for task in tasks
    )
    fast = max(case_of(base, tasks[0]).scenarios[0].speeds)
    start, chilled = own["start_speed", None], cold["start_speed", None]
    beat, fold = own["flap_frequency", fast], own["fold_back", fast]
    stroke = own["stroke", fast]
    if None in (start, chilled, beat, fold, stroke):
        return False
    starts = start <= 0.5 and chilled <= 0.6
    return starts and 4.0 <= beat <= 10.0 and stroke >= 4e-3 and fold <= 40.0
