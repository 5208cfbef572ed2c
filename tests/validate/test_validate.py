"""The command end to end, and every published check."""

import sys
import warnings
from concurrent.futures import Future, ProcessPoolExecutor, ThreadPoolExecutor
from multiprocessing import get_context
from types import SimpleNamespace

import pytest

from simsoft.cli import main as cli
from simsoft.core.errors import InputError
from simsoft.validate import run as command
from simsoft.validate.check import AllowedDifference
from simsoft.validate.compare import CheckRow
from simsoft.validate.execute import execute
from simsoft.validate.load import load_checks
from simsoft.validate.locate import checks_directory
from simsoft.validate.run import check_published, run_checks
from simsoft.validate.small_motions import bisect
from simsoft.validate.table import checks_page, text_table

FAST = "H04"
IDENTITIES = [check.identity for check in load_checks(checks_directory())]


def test_a_fast_check_passes_end_to_end(capsys):
    table, passed = check_published((FAST,), write=False)
    assert passed
    assert table.endswith("4 of 4 values of 1 check within tolerance")
    assert all(len(line) <= 100 for line in table.splitlines())
    assert capsys.readouterr().err == "1 of 1: H04 Log-linear law of type A: ok\n"


def test_a_case_is_run_by_the_code_users_run():
    (check,) = load_checks(checks_directory(), ("A08",))
    rows = execute(check, check.runs[0])
    assert [row.what for row in rows] == ["λ1", "λ2", "λ3"]
    assert all(row.passed for row in rows)


class Interrupted:
    """A pool in which the first condition ends and Ctrl-C comes with the second."""

    def __init__(self):
        self.ended = []
        self._processes = {1: SimpleNamespace(terminate=lambda: self.ended.append(1))}
        self.jobs = []

    def submit(self, function, job):
        future = Future()
        future.job = job
        if self.jobs:
            future.set_exception(KeyboardInterrupt())
        else:
            future.set_result(function(job))
        self.jobs.append(job)
        return future

    def shutdown(self, **_):
        self.ended.append("waited")


def test_ctrl_c_ends_the_processes_and_sums_up_what_ran(monkeypatch, capsys):
    pool = Interrupted()
    monkeypatch.setattr(command, "ProcessPoolExecutor", lambda *_, **__: pool)
    monkeypatch.setattr(command, "as_completed", list)
    with pytest.raises(SystemExit) as caught:
        cli.main(["validate", FAST, "H05", "H07"])
    assert caught.value.code == 130
    assert pool.ended == [1, "waited"]
    out, err = capsys.readouterr()
    assert out == "4 of 4 values of 1 check within tolerance; stopped, 1 of 3 checks ran\n"
    assert err.splitlines()[0].startswith("1 of 3: H04 ")
    assert "Traceback" not in err


def test_an_unknown_id_is_wrong_input():
    with pytest.raises(InputError, match="`A99` is no published check"):
        check_published(("A99",), write=False)


def test_write_wants_all_checks():
    with pytest.raises(InputError, match="give no ids with it"):
        check_published((FAST,), write=True)


def test_write_puts_the_page_beside_the_checks(tmp_path, monkeypatch):
    folder = tmp_path / FAST
    folder.mkdir()
    source = checks_directory() / FAST / "expected.toml"
    (folder / "expected.toml").write_text(source.read_text(encoding="utf-8"), encoding="utf-8")
    monkeypatch.setattr(command, "checks_directory", lambda: tmp_path)
    assert check_published((), write=True)[1]
    text = (tmp_path / "README.md").read_text(encoding="utf-8")
    assert "## H04 Log-linear law of type A" in text
    assert "Qi, Joyce & Boyce 2003" in text
    assert "| E [MPa] | 30 A | ≠1.067 |" in text


def test_a_miss_shows_and_fails():
    checks = load_checks(checks_directory(), (FAST,))
    exact = AllowedDifference(0.01, relative=True)
    rows = [
        CheckRow(FAST, "E", "30 A", 1.0, 1.5, exact, "Qi 2003"),
        CheckRow(FAST, "E", "60 A", 1.0, None, exact, "Qi 2003", reason="no such record"),
    ]
    table = text_table(checks, rows)
    assert "+50.00 % 1 %    Qi 2003          MISS" in table
    assert "    no such record" in table
    assert table.endswith("0 of 2 values of 1 check within tolerance; 2 missed")
    assert "| E | 60 A | 1 | no such record |  | 1 % | MISS |" in checks_page(checks, rows)


def test_bisection_finds_the_turn():
    assert bisect(lambda x: x > 1.25, 1.0, 2.0) == pytest.approx(1.25, abs=1e-6)


@pytest.fixture(scope="module")
def rows():
    """Return the rows of all checks, run once on all cores."""
    return run_checks(load_checks(checks_directory()))


@pytest.mark.slow
@pytest.mark.parametrize("identity", IDENTITIES)
def test_published_check(rows, identity):
    own = [row for row in rows if row.identity == identity]
    assert own
    missed = [(r.what, r.condition, r.expected, r.found, r.reason) for r in own if not r.passed]
    assert missed == []


def test_a_check_without_its_extra_is_skipped_with_a_word_and_summed_up(monkeypatch, capsys):
    """Outlines need shapely; without it the check is skipped, and no check at all is no pass."""
    monkeypatch.setitem(sys.modules, "shapely", None)
    monkeypatch.setattr(command, "ProcessPoolExecutor", lambda *_, **__: ThreadPoolExecutor(1))
    table, passed = check_published((FAST, "A20"), write=False)
    assert passed
    assert table.endswith("4 of 4 values of 1 check within tolerance; "
                          "skipped for want of an extra: A20")  # fmt: skip
    assert "skipped: a drawn outline needs the extra `outline`" in capsys.readouterr().err
    assert not check_published(("A20",), write=False)[1]


def test_what_a_library_warns_of_in_a_worker_does_not_reach_the_terminal(capfd):
    spawn = get_context("spawn")
    with ProcessPoolExecutor(1, mp_context=spawn, initializer=command._begin) as pool:
        pool.submit(warnings.warn, "of a library").result()
    assert capfd.readouterr().err == ""
