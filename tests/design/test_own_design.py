"""A sweep and the file it is told against stand on one ground, with a look or without."""

from __future__ import annotations

import json

import pytest
from sweep_cases import PADDLE

from simsoft.case.read import loads
from simsoft.cli.sweep import read_plan, sweep_command
from simsoft.design.own_design import Own, own_design, with_looks
from simsoft.design.rank import judged, rank
from simsoft.design.sweep.axis import read_axis
from simsoft.design.sweep.plan import Plan
from simsoft.design.sweep.row import DONE, FAILED, Row, cells, column_of
from simsoft.design.sweep.run import prepare_sweep, read_base
from simsoft.design.sweep.table import SweepTable, columns_of
from simsoft.engine.seen import BY_LOOK
from simsoft.report.text.sweep import confirmed_lines, sweep_text
from simsoft.results.record import Record

LOOK = '\n[[seen]]\nquantity = "start_speed"\nvalue = "0.5 m/s"\nby = "eye"\n'
AT_MOST = '\n[[brief]]\nquantity = "start_speed"\nat_most = "0.42 m/s"\n'
BETTER = '\n[[brief]]\nquantity = "start_speed"\nbetter_than = "base"\n'
SAME = '\n[[brief]]\nquantity = "flap_frequency"\nspeed = "0.5 m/s"\nsame_as = "base"\n'


def record(quantity, value, unit, basis="", **at):
    return Record("retrieve", "tail", quantity, value, None, None, unit, basis, at)


def start(value, basis=""):
    return record("start_speed", value, "m/s", basis)


def beat(value):
    return record("flap_frequency", value, "Hz", speed=0.5)


def swept(tmp_path, text, values="1.8,2 mm"):
    path = tmp_path / "paddle.toml"
    path.write_text(text)
    axis = read_axis(f"parts.tail.thickness={values}")
    return prepare_sweep(read_base(path), Plan((axis,)), "fast")


def table_of(sweep, designs):
    rows = [[(Row(str(i), DONE, "", cells(found)), None)] for i, found in enumerate(designs)]
    columns, status, reason = columns_of(iter(rows), len(rows))
    axis = sweep.plan.axes[0]
    values = [(value,) for value in axis.values]
    return SweepTable("", "", {}, (axis.path,), ("mm",), values, status, reason, columns)


def answering(records):
    """Return a runner that gives the same records whatever is asked."""
    return lambda base, jobs: ([Row(key, DONE, "", cells(records))] for key, _ in jobs)


def test_a_look_moves_every_design_as_it_moves_the_file(tmp_path):
    """The design that is the file reads as the file does; before, it read 54 % below it."""
    sweep = swept(tmp_path, PADDLE + AT_MOST + LOOK)
    own = own_design(sweep, [start(0.4, f"march; {BY_LOOK}")], tmp_path, answering([start(0.2)]))
    assert own.hand[0].value == pytest.approx(0.4)
    ranked = rank(sweep, table_of(sweep, [[start(0.18)], [start(0.2)]]), None, own)
    thin, same = sorted(ranked.designs(), key=lambda item: item.index)
    assert same.findings[0].record.value == pytest.approx(0.4)
    assert thin.findings[0].record.value == pytest.approx(0.36)
    text = sweep_text(sweep, ranked.table, ranked, [], 0)
    assert "0.360 m/s yes" in " ".join(text.split())
    assert next(li for li in text.splitlines() if li.startswith("2 mm")).endswith("+0 %")
    assert "moves every number here by as much as the file's own" in " ".join(text.split())


def test_a_look_that_was_refused_moves_nothing_and_the_text_says_so(tmp_path):
    sweep = swept(tmp_path, PADDLE + AT_MOST + LOOK)
    own = own_design(sweep, [start(0.21, "march")], tmp_path, answering([start(0.2)]))
    assert own.looks == {}
    ranked = rank(sweep, table_of(sweep, [[start(0.18)], [start(0.2)]]), None, own)
    assert next(ranked.designs()).findings[0].record.value == 0.18
    assert "moves none of these numbers" in sweep_text(sweep, ranked.table, ranked, [], 0)


def test_a_verdict_does_not_contradict_the_start_that_a_look_has_moved():
    kicks = record("verdict", "kicks", "", speed=0.3)
    moved = with_looks([start(0.2), kicks], {column_of(start(0.2)): 2.0})
    assert [r.value for r in moved] == [0.4, "still"]


def test_a_comparison_with_the_file_is_answered_in_a_sweep(tmp_path):
    sweep = swept(tmp_path, PADDLE + BETTER + SAME)
    own = own_design(sweep, [], tmp_path, answering([start(0.2), beat(8.0)]))
    designs = [[start(0.18), beat(8.4)], [start(0.2), beat(8.0)]]
    ranked = rank(sweep, table_of(sweep, designs), None, own)
    thin, same = sorted(ranked.designs(), key=lambda item: item.index)
    assert [f.verdict for f in thin.findings] == ["meets", "meets"]
    assert [f.verdict for f in same.findings] == ["misses", "meets"]  # the file is not better
    assert ranked.good == 1


def test_a_comparison_without_the_file_says_why(tmp_path):
    sweep = swept(tmp_path, PADDLE + AT_MOST + BETTER)

    def failing(base, jobs):
        return ([Row(key, FAILED, "it tips over")] for key, _ in jobs)

    own = own_design(sweep, [], tmp_path, failing)
    ranked = rank(sweep, table_of(sweep, [[start(0.18)], [start(0.2)]]), None, own)
    text = " ".join(sweep_text(sweep, ranked.table, ranked, [], 0).split())
    assert "0 of 2 meet the whole brief by their numbers, 2 more so far" in text
    assert "the file's own design could not be run: it tips over" in text


def test_what_is_set_is_told_against_the_file_as_written(tmp_path):
    """``--set`` changes the case that is swept, not the bait in hand."""
    path = tmp_path / "paddle.toml"
    path.write_text(PADDLE + BETTER)
    base = read_base(path, ["material.durometer=40 OO"])
    sweep = prepare_sweep(base, Plan((read_axis("parts.tail.thickness=1.8,2 mm"),)), "fast")
    asked = []

    def runner(base, jobs):
        for key, _ in jobs:
            asked.append(base.tables["material"]["durometer"])
            yield [Row(key, DONE, "", cells([start(0.2)]))]

    own_design(sweep, [], tmp_path, runner)
    assert asked == ["40 OO", "46 OO"]


def test_no_go_while_a_clause_is_not_answered(tmp_path, monkeypatch):
    from simsoft.design import rank as ranking

    case = loads(PADDLE + AT_MOST + BETTER)
    found = Record("retrieve", "tail", "start_speed", 0.3, 0.25, 0.35, "m/s", "", {})
    monkeypatch.setattr(ranking, "solve_designs", lambda *_: [[Row("", DONE, "", cells([found]))]])
    base = read_base(_written(tmp_path, PADDLE + AT_MOST + BETTER))
    (one,) = ranking.confirm_changes(base, case, [["parts.tail.thickness=1.8 mm"]], tmp_path, None)
    lines = confirmed_lines(["parts.tail.thickness"], one, "mm")
    assert lines[0].endswith(": GO so far")
    assert any("not answered" in line for line in lines)


def _written(tmp_path, text):
    path = tmp_path / "written.toml"
    path.write_text(text)
    return path


def test_judged_without_the_file_is_as_it_was(tmp_path):
    sweep = swept(tmp_path, PADDLE + AT_MOST)
    table = table_of(sweep, [[start(0.18)], [start(0.2)]])
    assert judged(sweep.case, table, 0, None, Own()).findings[0].record.value == 0.18


@pytest.mark.slow
def test_a_sweep_of_a_bait_that_was_looked_at(tmp_path):
    """Whole way, screened: the row that is the file reads as its run with bands."""
    path = _written(tmp_path, PADDLE + AT_MOST.replace("0.42", "0.9") + BETTER + LOOK)
    plan = read_plan(["parts.tail.thickness=1.8,2 mm"], [], None, 1)
    body, _ = sweep_command(
        str(path), tmp_path / "out", None, plan=plan,
        overrides=[], fast=True, confirm=0, workers=1, scheduler=None,
        as_json=True,
    )  # fmt: skip
    found = json.loads(body)
    own = found["confirmed"][0]["brief"][0]["record"]["value"]
    same = next(row for row in found["ranked"] if row["design"] == 1)
    assert same["brief"][0]["record"]["value"] == pytest.approx(own, rel=1e-9)
    assert own > 0.45  # without the look it starts at 0.4
    assert found["confirmed"][0]["verdict"].endswith("so far")
    assert [clause["verdict"] for clause in same["brief"]][1] == "misses"
