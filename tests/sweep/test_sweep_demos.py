"""The demo cases: their picks by brute force, the winter case woken by one change."""

from pathlib import Path

import pytest

from simsoft.engine import run
from simsoft.sweep.changes import default_axes
from simsoft.sweep.pick import pick
from simsoft.sweep.run import local_runner, read_base
from simsoft.sweep.task import Task, case_of
from simsoft.sweep.tolerance import make_trial

CASES = Path(__file__).parents[2] / "cases"
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
