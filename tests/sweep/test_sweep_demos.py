"""The demo cases: their picks by brute force, the winter case woken by one change."""

import math
from pathlib import Path

import pytest

from simsoft.engine import run
from simsoft.sweep.axis import read_axis
from simsoft.sweep.changes import default_axes
from simsoft.sweep.pick import around, pick
from simsoft.sweep.run import local_runner, read_base
from simsoft.sweep.screening import marched_records
from simsoft.sweep.task import Task, case_of
from simsoft.sweep.tolerance import make_trial, points, tasks_at

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
    found = pick(trial, axes, 8, 4, tmp_path, local_runner(1, "fast"))
    changed = {}
    for one in found:
        assert one.best is not None, one.axis.path
        change = f"{one.axis.path}={one.best.value}"
        assert not case_of(base, Task((change,))).warnings
        woken = marched(base, change)
        assert woken["start_speed", None] <= limit, change
        assert woken["fold_back", limit] <= 30.0, change
        assert woken["verdict", max(speeds)] == "kicks", change
        changed[one.axis.path] = float(one.best.value.split()[0])
    assert changed["parts.tail.thickness"] < 2.4
    assert changed["material.durometer"] < 58
    assert changed["parts.tail.length"] > 16


def by_hand(name, case, records):
    """Tell whether one sample does what a demo case's brief says, from its bare records."""
    fast = max((max(s.speeds, default=0.0) for s in case.scenarios), default=0.0)

    def one(quantity, **at):
        return next(
            (r.value for r in records if r.quantity == quantity and dict(r.at) == at), math.nan
        )

    if name == "winter_80":
        return one("start_speed") <= 0.4 and one("fold_back", speed=fast) <= 30.0
    if name == "stick_127":
        reach = one("cast_distance", wind=0.0, wind_from=0.0)
        return 9 * INCH <= one("sink_rate") <= 11 * INCH and reach >= 18.0
    gaps = [r.value for r in records if r.quantity == "hook_clearance"]
    return None not in gaps and min(gaps) >= 1e-3


@pytest.mark.slow
@pytest.mark.parametrize(
    ("name", "changed", "vary"),
    [
        ("winter_80", [], "parts.tail.thickness=1.8:2.4:0.3 mm"),
        ("winter_80", [], "material.durometer=46:58:6 OO"),
        ("winter_80", [], "parts.tail.length=14:20:3 mm"),
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
    (found,) = pick(trial, [axis], 8, 4, tmp_path, local_runner(1, trial.mode))
    middle, passed = [], []
    for value in axis.values:
        design = (f"{axis.path}={value}",)
        moved = around(trial, design)
        judged = []
        for row in [[0.5] * len(moved.inputs), *points(moved, 8, 4)]:
            (task,) = tasks_at(moved, row, design)
            case = case_of(base, task)
            judged.append(by_hand(name, case, marched_records(case)))
            if trial.mode == "full" and not judged[0]:
                break  # not met in the middle: never picked, so never sampled
        middle.append(judged[0])
        passed.append(sum(judged[1:]))
    assert [c.middle.passes for c in found.candidates] == middle
    if not any(middle):
        assert found.best is None
        return
    best = axis.values.index(found.best.value)
    if trial.mode == "full":
        assert [c.chance.passed if c.chance else 0 for c in found.candidates] == passed
        assert passed[best] == max(passed)
        return
    # screening and march may differ where a sample stands at a limit
    assert max(n for n, good in zip(passed, middle, strict=True) if good) - passed[best] <= 1
    for candidate, count in zip(found.candidates, passed, strict=True):
        assert abs(candidate.chance.passed - count) <= 2


@pytest.mark.slow
def test_the_pick_of_the_demo_paddle_is_the_one_brute_force_finds(tmp_path):
    """Every candidate and every sample marched and judged by hand, past screening and brief."""
    base = read_base(CASES / "paddle_100.toml")
    trial = make_trial(base)
    assert trial.mode == "fast"
    axis = read_axis("parts.tail.thickness=1.6:3.2:0.8 mm")
    (found,) = pick(trial, [axis], 8, 4, tmp_path, local_runner(1, "fast"))
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
    # screening and march may differ where a sample stands at a limit
    assert max(passed) - passed[best] <= 1
    for candidate, count in zip(found.candidates, passed, strict=True):
        assert abs(candidate.chance.passed - count) <= 2
    # the inverse run forward, whole
    forward = marched(base, f"{axis.path}={found.best.value}")
    assert forward["start_speed", None] <= 0.5
    assert 4.0 <= forward["flap_frequency", 0.6] <= 9.0
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
    if None in (start, chilled, beat, fold):
        return False
    return start <= 0.5 and chilled <= 0.6 and 4.0 <= beat <= 9.0 and fold <= 40.0
