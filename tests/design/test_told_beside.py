"""A change is told beside the absolutes: in a sweep's ranking and in a tolerance."""

import pytest
from sweep_cases import PADDLE

from simsoft.case.read import loads
from simsoft.cli.sweep import read_plan, sweep_command
from simsoft.cli.tolerance import tolerance_command
from simsoft.design.brief import judge
from simsoft.design.paired_samples import sample_changes
from simsoft.design.rank import Ranked, changes_of
from simsoft.design.sweep.run import local_runner, read_base
from simsoft.design.tolerance import make_trial, points
from simsoft.results.record import Record

WISH = '[[brief]]\nquantity = "start_speed"\n'
AT_MOST = f'{WISH}at_most = "0.3 m/s"\n'
BETTER = f'{WISH}better_than = "base"\n'
THINNER = "parts.tail.thickness=1.8 mm"


def start(value):
    why = None if value else "does not start"
    return Record("retrieve", "tail", "start_speed", value, None, None, "m/s", "", reason=why)


def test_a_design_is_told_against_the_file_middle_to_middle():
    case = loads(PADDLE + AT_MOST)
    item = Ranked(0, ("1.8 mm",), judge(case, [start(0.2)], banded=False), 1.0, True)
    assert changes_of(item, [start(0.25)]) == [pytest.approx(0.8)]
    assert changes_of(item, []) == [None]
    assert changes_of(item, [start(None)]) == [None]


def test_a_sweep_tells_its_designs_against_the_file(tmp_path):
    path = tmp_path / "paddle.toml"
    path.write_text(PADDLE + AT_MOST)
    plan = read_plan(["parts.tail.thickness=1.8,2 mm"], [], None, 1)
    text, _ = sweep_command(
        str(path), tmp_path / "out", None, plan=plan, overrides=[], fast=True, confirm=0,
        workers=1, scheduler=None, as_json=False,
    )  # fmt: skip
    thin, same = (next(li for li in text.splitlines() if li.startswith(v)) for v in ("1.8", "2 mm"))
    assert thin.rstrip().endswith(" %")
    assert " -" in thin
    assert same.rstrip().endswith("+0 %")


def test_a_tolerance_against_the_bait_in_hand_tells_the_change(tmp_path):
    path = tmp_path / "paddle.toml"
    path.write_text(PADDLE + BETTER)
    text, _ = tolerance_command(
        str(path), tmp_path / "out", None, overrides=[THINNER], samples=16, seed=1, full=False,
        only=None, sobol=0, vary=[], workers=1, as_json=False,
    )  # fmt: skip
    assert "% lower (" in " ".join(text.split())
    assert "than the file itself;" in " ".join(text.split())


def test_without_such_a_wish_no_second_side_is_run(tmp_path):
    path = tmp_path / "paddle.toml"
    path.write_text(PADDLE + AT_MOST)
    trial = make_trial(read_base(path, [THINNER]))
    shares = points(trial, 8, 1)
    assert sample_changes(trial, shares, tmp_path, local_runner(1, "fast")) == ()
