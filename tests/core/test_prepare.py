"""The table of kernels compiled ahead, and how it is worked off."""

import json
import os
import subprocess
import sys
import time
from concurrent.futures import ThreadPoolExecutor

import pytest

from simsoft.case.read import loads
from simsoft.case.starter import starter
from simsoft.core import pace, prepare
from simsoft.core.signatures import text_of
from simsoft.engine.kernels import missing_for

ROWS = json.loads(prepare.TABLE.read_text())


def test_every_row_names_a_kernel_that_still_takes_such_arguments():
    assert ROWS
    for row in ROWS:
        wanted = prepare.Wanted(row["kernel"], row["arguments"], row["seconds"])
        assert len(wanted.signature) == wanted.kernel.py_func.__code__.co_argcount, row["kernel"]
        assert [text_of(kind) for kind in wanted.signature] == row["arguments"]
        assert row["seconds"] > 0.0
        assert row["for"]


def test_what_is_kept_is_not_wanted_and_the_longest_comes_first(monkeypatch):
    kept = ROWS[0]["kernel"]
    monkeypatch.setattr(prepare, "_is_kept", lambda wanted: wanted.name == kept)
    wanted = prepare.not_compiled()
    assert len(wanted) == sum(row["kernel"] != kept for row in ROWS)
    assert [one.seconds for one in wanted] == sorted((o.seconds for o in wanted), reverse=True)
    asked = ROWS[0]["for"][0]
    some = {one.name for one in prepare.not_compiled({asked})}
    assert some == {r["kernel"] for r in ROWS if asked in r["for"]} - {kept}
    assert prepare.not_compiled({"no such question"}) == []


def test_a_kernel_compiled_ahead_is_found_and_needs_no_compiling_again(tmp_path):
    """In a process of its own, whose cache is empty."""
    row = min(ROWS, key=lambda row: row["seconds"])
    script = (
        "from simsoft.core import prepare\n"
        f"wanted = [one for one in prepare.not_compiled() if one.name == {row['kernel']!r}][:1]\n"
        "told = []\n"
        "if __name__ == '__main__':\n"
        "    prepare.prepare(wanted, 2, lambda *now: told.append(now))\n"
        "    left = prepare.not_compiled()\n"
        "    print(sorted({share for _, share, _ in told}), wanted[0] in left)\n"
    )
    path = tmp_path / "ahead.py"
    path.write_text(script)
    found = subprocess.run(
        [sys.executable, str(path)],
        env={
            **os.environ,
            "SIMSOFT_CACHE": str(tmp_path / "cache"),
            "PYTHONPATH": str(prepare.TABLE.parents[2]),
        },
        capture_output=True,
        text=True,
    )
    assert found.stdout.strip() == "[0.0, 1.0] False", found.stderr


def test_the_time_told_is_at_least_that_of_the_longest_kernel_and_goes_with_the_machine():
    wanted = [prepare.Wanted("a:b", [], 10.0), prepare.Wanted("a:c", [], 2.0)]
    assert prepare.expected(wanted, 8) == prepare.START + prepare.SHARED * 10.0
    assert prepare.expected(wanted, 1) == prepare.START + prepare.SHARED * 12.0
    assert prepare.expected(wanted, 1, 5.0) == 5.0 * prepare.expected(wanted, 1)
    assert prepare.expected([], 2) == 0.0


@pytest.mark.parametrize(
    ("spent", "done", "under_way", "left"),
    [
        (0.0, 0.0, 20.0, 30.0),  # nothing is known but the promise
        (10.0, 30.0, 20.0, 20.0),  # quicker than promised: the promise stands
        (60.0, 0.0, 20.0, 240.0),  # nothing is done yet, half of what is under way at best guess
        (300.0, 40.0, 10.0, 300.0 * 5.0 / 45.0),  # ten times slower
    ],
)
def test_what_is_left_is_never_less_than_the_pace_so_far_allows(spent, done, under_way, left):
    found = prepare.seconds_left(spent, done, under_way, 50.0, 30.0)
    assert found == pytest.approx(left)


def test_what_is_left_is_told_while_a_kernel_is_under_way(monkeypatch):
    """A kernel that takes three ticks is reported at each, with ever more to come."""
    monkeypatch.setattr(prepare, "ProcessPoolExecutor", lambda *_, **__: ThreadPoolExecutor(1))
    monkeypatch.setattr(prepare, "_compile", lambda wanted: time.sleep(1.0))
    monkeypatch.setattr(prepare, "TICK", 0.1)
    told = []
    wanted = [prepare.Wanted("a:b", [], 1.0), prepare.Wanted("a:c", [], 1.0)]
    prepare.prepare(wanted, 1, lambda *now: told.append(now), 0.2)
    first = [left for _, share, left in told[1:] if share == 0.0]
    assert len(first) >= 3
    assert first[-1] > first[0] > 0.0
    assert told[-1] == ("c", 1.0, 0.0)


@pytest.mark.skipif(not hasattr(os, "getloadavg"), reason="no load is told here")
def test_a_busy_machine_is_slower(monkeypatch):
    found = []
    for load in (0.0, 400.0):
        monkeypatch.setattr(os, "getloadavg", lambda load=load: (load, 0.0, 0.0))
        found.append(pace.slowness(2))
    assert found[1] > 5.0 * found[0] > 0.0  # 201 against what the loop itself sees of the load


def test_the_screening_of_a_page_is_on_the_list_of_a_paddle_alone(monkeypatch):
    monkeypatch.setattr(prepare, "_is_kept", lambda wanted: False)
    for kind, asked in (("paddle-tail", True), ("ribbon", False)):
        case = loads(starter(kind), "case.toml", [])
        ahead, of_page = missing_for(case), missing_for(case, page=True)
        more = {one.name for one in of_page} - {one.name for one in ahead}
        assert more == ({"bodies.rod.screening:screen"} if asked else set())
