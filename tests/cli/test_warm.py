"""``simsoft warm`` and what a run says while it compiles."""

import pytest
from click.testing import CliRunner
from numba.core import event

from simsoft.cli import warm
from simsoft.cli.main import commands
from simsoft.core import machine, pace, prepare

WANTED = [prepare.Wanted("a:long_one", [], 9.0), prepare.Wanted("a:other", [], 1.0)]


@pytest.fixture
def pretend(monkeypatch):
    """Let kernels be missing and compile without doing so."""

    def set_up(missing):
        def work(wanted, workers, report, promised):
            report("long one", 0.0, None)
            report("long one", 0.9, 1.0)

        monkeypatch.setattr(prepare, "not_compiled", lambda: missing)
        monkeypatch.setattr(prepare, "prepare", work)
        monkeypatch.setattr(pace, "slowness", lambda cores: 10.0)
        monkeypatch.setattr(machine, "cores", lambda: 2)

    return set_up


def test_warm_says_how_much_there_is_to_do(pretend):
    pretend(WANTED)
    found = CliRunner().invoke(commands, ["warm"])
    assert found.exit_code == 0, found.output
    assert "compiling 2 kernels, about 166 s as busy as" in found.stderr  # 10 (4 + 1.4 * 9)
    assert "compiled in 0 s" in found.stderr
    assert CliRunner().invoke(commands, ["warm", "--quiet"]).output == ""


def test_without_a_bar_a_promise_that_does_not_hold_is_put_right(monkeypatch, pretend, capsys):
    pretend(WANTED)
    clock = iter([0.0, 100.0, 200.0, 300.0, 900.0])

    def work(wanted, workers, report, promised):
        report("long one", 0.0, 93.0)
        report("long one", 0.1, 500.0)
        report("long one", 0.2, 450.0)

    monkeypatch.setattr(prepare, "prepare", work)
    monkeypatch.setattr(warm.time, "monotonic", lambda: next(clock))
    warm.compile_all(WANTED, False, None)
    err = capsys.readouterr().err
    assert err.count("still compiling") == 1
    assert "still compiling, about 500 s left" in err


def test_warm_says_where_nothing_is_to_do(pretend):
    pretend([])
    assert "is compiled" in CliRunner().invoke(commands, ["warm"]).stderr


def test_the_bar_names_the_kernel_and_the_time_that_is_left(pretend):
    pretend(WANTED)
    told = []
    warm.compile_all(WANTED, True, lambda *now: told.append(now))
    assert told == [("compiling: long one", 0.0), ("compiling: long one, about 1 s left", 0.9)]


class Named:
    __name__ = "some_kernel"


def compiled():
    with event.trigger_event("numba:compile", data={"dispatcher": Named()}):
        pass


def test_what_is_compiled_on_the_way_is_named_where_the_bar_stands():
    told = []
    with warm.said_where_compiled(False, lambda *now: told.append(now)) as progress:
        progress("tank: tail", 0.25)
        compiled()
    assert told == [("tank: tail", 0.25), ("compiling: some kernel", 0.25)]


def test_without_a_bar_it_is_said_once_and_not_at_all_where_quiet(capsys):
    with warm.said_where_compiled(False, None):
        compiled()
        compiled()
    assert capsys.readouterr().err.count("compiling") == 1
    with warm.said_where_compiled(True, None):
        compiled()
    assert capsys.readouterr().err == ""
