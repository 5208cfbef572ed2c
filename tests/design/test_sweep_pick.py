"""The pick against brute force, its band, and 'none in range'."""

from dataclasses import replace

import pytest
from sweep_cases import PADDLE

from simsoft.case.read import loads
from simsoft.design.candidates import Bench, around
from simsoft.design.changes import default_axes, spread
from simsoft.design.pick import pick_values, ranked, size_of
from simsoft.design.sweep.axis import read_axis
from simsoft.design.sweep.run import local_runner, read_base
from simsoft.design.sweep.task import Task, case_of
from simsoft.design.tolerance import make_trial, points, tasks_at
from simsoft.lure.parts import assemble, values_of
from simsoft.report.text.pick import pick_text
from simsoft.scenarios.screening import screen_paddle

LIMIT = 0.42
BRIEF = f"""
[[brief]]
quantity = "start_speed"
at_most = "{LIMIT} m/s"
[[brief]]
quantity = "start_frequency"
at_least = "5.5 Hz"
"""


TAPERED = """
title = "Tapered"
[material]
durometer = "42 OO"
[[parts]]
name = "part"
kind = "{kind}"
length = "34 mm"
width = "8 mm"
thickness = ["1.1 mm", "0.9 mm"]
[numerics]
elements = 8
[[scenarios]]
name = "tank"
kind = "hold"
[[brief]]
quantity = "natural_frequency"
at_most = "1 Hz"
"""


def trial_of(tmp_path, brief=BRIEF):
    path = tmp_path / "paddle.toml"
    path.write_text(PADDLE + brief)
    return make_trial(read_base(path))


def meets(case):
    """Judge a case by its screened numbers alone, past every room of the sweep."""
    lure = assemble(case)
    strip = lure.strips[0]
    found = screen_paddle(strip, lure.water, values_of(strip), case.scenarios[0]).answers
    start = found["start_speed", ()].value
    beat = found["start_frequency", ()].value
    return start is not None and start <= LIMIT and beat >= 5.5


def test_the_pick_is_the_one_brute_force_finds(tmp_path):
    trial = trial_of(tmp_path)
    axis = read_axis("parts.tail.thickness=1.8:2.8:0.2 mm")
    (found,) = pick_values(Bench(trial, 16, 4, tmp_path, local_runner(1, "fast")), [axis])
    passed, middle = [], []
    for value in axis.values:
        design = (f"parts.tail.thickness={value}",)
        middle.append(meets(loads(trial.base.text, overrides=design)))
        moved = around(trial, design)
        tasks = [tasks_at(moved, row, design)[0] for row in points(trial, 16, 4)]
        cases = [case_of(trial.base, task) for task in tasks]
        passed.append(sum(map(meets, cases)))
    assert [c.middle.passes for c in found.candidates] == middle
    assert [c.chance.passed for c in found.candidates] == passed
    good = [i for i in range(len(middle)) if middle[i]]
    assert good
    assert passed[axis.values.index(found.best.value)] == max(passed[i] for i in good)
    low, high = (axis.values.index(value) for value in found.keep)
    assert low <= axis.values.index(found.best.value) <= high
    # the inverse run forward
    assert meets(loads(trial.base.text, overrides=[f"parts.tail.thickness={found.best.value}"]))


def test_none_in_range_names_the_nearest_miss(tmp_path):
    trial = trial_of(tmp_path)
    axes = [read_axis("parts.tail.thickness=5:6:0.5 mm"), read_axis("material.durometer=74,80 OO")]
    found = ranked(pick_values(Bench(trial, 8, 4, tmp_path, local_runner(1, "fast")), axes))
    assert all(p.best is None for p in found)
    thick = next(p for p in found if "thickness" in p.axis.path)
    assert thick.nearest.value == "5 mm"
    assert thick.reason.clause.quantity == "start_speed"
    text = pick_text("x", found, [], "mm", True)
    assert "none in range" in text
    assert "misses start speed" in text


def test_a_candidate_that_cannot_be_is_a_candidate_that_fails(tmp_path):
    trial = trial_of(tmp_path)
    axis = read_axis("parts.tail.thickness=-1,2 mm")
    (found,) = pick_values(Bench(trial, 8, 4, tmp_path, local_runner(1, "fast")), [axis])
    assert not found.candidates[0].middle.passes
    assert "zero or negative" in found.candidates[0].middle.reason


def test_an_interval_gets_round_candidates():
    axis = spread(read_axis("parts.tail.thickness=1.44:3.6 mm"))
    assert axis.values[0] == "1.6 mm"
    assert axis.values[-1] == "3.6 mm"
    assert axis.values[1] == "1.8 mm"


def test_single_changes_looked_through_by_default(tmp_path):
    trial = trial_of(tmp_path)
    axes = {axis.path: axis for axis in default_axes(trial.case, trial.base.tables)}
    assert list(axes) == ["parts.tail.thickness", "parts.tail.length",
                          "parts.tail.paddle_diameter", "parts.tail.paddle_offset",
                          "parts.tail.paddle_thickness", "parts.tail.paddle_angle",
                          "material.durometer"]  # fmt: skip
    # 0.6 times 2 mm would be thinner than paddle stems are made
    assert axes["parts.tail.thickness"].values[0] == "1.8 mm"
    assert axes["parts.tail.thickness"].values[-1] == "3 mm"
    assert axes["material.durometer"].values[:2] == ("30 OO", "32 OO")


def test_every_change_looked_through_by_default_is_usual(tmp_path):
    base = trial_of(tmp_path).base
    inches = read_base(base.name, ['parts.tail.thickness="0.08 in"', 'material.durometer="70 OO"'])
    for start in (base, inches):
        case = case_of(start, Task(()))
        for axis in default_axes(case, start.tables):
            for value in (axis.values[0], axis.values[-1]):
                moved = case_of(start, Task((f"{axis.path}={value}",)))
                assert moved.warnings == case.warnings, axis.path
    # what is unusual already is looked through as it stands
    thin = read_base(base.name, ['parts.tail.thickness="1.5 mm"'])
    axes = default_axes(case_of(thin, Task(())), thin.tables)
    assert axes[0].values[0] == "0.9 mm"


@pytest.mark.slow
def test_resize_keeps_the_action(tmp_path):
    from simsoft.design.same_action import with_same_action

    path = tmp_path / "paddle.toml"
    path.write_text(PADDLE)
    longer = read_base(path, ["parts.tail.length=13 mm"])
    base = with_same_action(read_base(path), longer, tmp_path, local_runner(1, "full"))
    trial = make_trial(base)
    assert {c.quantity for c in trial.case.brief} == {"start_speed", "flap_frequency"}
    axis = read_axis("parts.tail.thickness=1.8:2.6:0.1 mm")
    assert trial.mode == "full"  # a rate past the start is not the screening's to judge
    (found,) = pick_values(Bench(trial, 8, 4, tmp_path, local_runner(1, "full")), [axis])
    assert found.best is not None
    # a longer stem bends more easily: the same action needs a thicker one
    assert float(found.best.value.removesuffix(" mm")) > 2.0


def tapered(tmp_path, kind):
    path = tmp_path / "tapered.toml"
    path.write_text(TAPERED.format(kind=kind))
    trial = make_trial(read_base(path))
    axes = {axis.path: axis for axis in default_axes(trial.case, trial.base.tables)}
    return trial, axes["parts.part.thickness"]


def test_a_taper_is_looked_through_as_a_whole(tmp_path):
    _, axis = tapered(tmp_path, "claw")
    # no tip thinner than 0.8 mm: the trade pours none
    assert axis.values[0] == '["0.99 mm", "0.81 mm"]'
    assert '["1.1 mm", "0.9 mm"]' in axis.values
    sizes = [size_of(value) for value in axis.values]
    assert sizes == sorted(sizes)
    assert sizes[-1] == (1.65, "mm")


def test_a_taper_is_picked_and_told_from_root_to_tip(tmp_path):
    trial, axis = tapered(tmp_path, "strip")
    bench = Bench(trial, 8, 4, tmp_path, local_runner(1, "full"))
    (found,) = pick_values(bench, [replace(axis, values=axis.values[:4])])
    rung = [c.middle.findings[0].record.value for c in found.candidates]
    assert rung == sorted(rung)  # thicker rings faster
    assert found.before == '["1.1 mm", "0.9 mm"]'
    sure = [c for c in found.candidates if c.middle.passes and c.chance.value >= 0.8]
    assert found.least is sure[-1]  # the nearest to the case's own, from below
    text = " ".join(pick_text("x", [found], [], "mm", False).split())
    assert "thickness 1.1 mm to 0.9 mm -> 0." in text
    assert '"' not in text
