"""The table of kernels compiled ahead, and how it is worked off."""

import json
import os
import subprocess
import sys

from simsoft.core import prepare
from simsoft.core.signatures import text_of

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
        "    print([share for _, share, _ in told], wanted[0] in left)\n"
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


def test_the_time_told_is_at_least_that_of_the_longest_kernel():
    wanted = [prepare.Wanted("a:b", [], 10.0), prepare.Wanted("a:c", [], 2.0)]
    assert prepare.expected(wanted, 8) == prepare.START + 10.0
    assert prepare.expected(wanted, 1) == prepare.START + 12.0
    assert prepare.expected([], 2) == 0.0
