"""The command line: exit status, streams, files, and no traceback for a user error."""

import dataclasses
import json
import os
import signal
import subprocess
import sys
import time
import types

import pytest

from simsoft import __version__, cli, console
from simsoft.errors import InputError, SolveError

PYTHON = [sys.executable, "-m", "simsoft"]


@pytest.fixture
def command(capsys):
    """Run the command line in this process; return status, stdout, stderr."""

    def call(*words):
        with pytest.raises(SystemExit) as caught:
            cli.main([str(word) for word in words])
        streams = capsys.readouterr()
        return caught.value.code, streams.out, streams.err

    kept = signal.getsignal(signal.SIGTERM)
    yield call
    signal.signal(signal.SIGTERM, kept)


@pytest.fixture
def stand_in(monkeypatch, synthetic_result):
    """Replace reading and solving, so that these tests are about the command line alone."""
    state = types.SimpleNamespace(result=synthetic_result, calls=[], failure=None)

    def load(path, overrides=()):
        state.calls.append((path, tuple(overrides)))
        return state.result.case

    def run(case, progress=None):
        if state.failure is not None:
            raise state.failure
        return state.result

    monkeypatch.setitem(sys.modules, "simsoft.case.read", types.SimpleNamespace(load=load))
    monkeypatch.setitem(sys.modules, "simsoft.engine", types.SimpleNamespace(run=run))
    return state


def test_version(command):
    assert command("--version") == (0, f"simsoft {__version__}\n", "")


def test_run_prints_the_answer_first(command, stand_in):
    status, out, err = command("run", "tail.toml")
    assert (status, err) == (0, "")
    assert out.startswith("tail kicks from 0.24 m/s")
    assert stand_in.calls == [("tail.toml", ())]


def test_overrides_reach_the_reader_in_order(command, stand_in):
    command("run", "tail.toml", "--set", "a.b=1 mm", "--set", "c=2")
    assert stand_in.calls == [("tail.toml", ("a.b=1 mm", "c=2"))]


def test_json_is_one_object_and_the_rest_goes_to_stderr(command, stand_in):
    status, out, err = command("run", "tail.toml", "--json")
    assert status == 0
    assert json.loads(out)["case"] == "Demo paddle tail, 100 mm"
    assert err == f"warning: {stand_in.result.warnings[0]}\n"


def test_quiet_keeps_stderr_empty(command, stand_in):
    status, out, err = command("run", "tail.toml", "--json", "--quiet")
    assert (status, err) == (0, "")
    assert json.loads(out)


def test_out_writes_every_file(command, stand_in, tmp_path):
    folder = tmp_path / "deep" / "results"
    status, _, err = command("run", "tail.toml", "--out", folder)
    assert (status, err) == (0, f"wrote 9 files to {folder}\n")
    names = set(os.listdir(folder))
    assert len(names) == 9
    assert {"report.html", "results.h5", "records.json", "response-stream-tail.png"} <= names
    assert json.loads((folder / "records.json").read_text())["simsoft"] == __version__


def test_strict_refuses_a_case_with_warnings(command, stand_in):
    odd = dataclasses.replace(stand_in.result.case, warnings=("density is odd",))
    stand_in.result = dataclasses.replace(stand_in.result, case=odd)
    status, out, err = command("run", "tail.toml", "--strict")
    assert (status, out, err) == (2, "", "error: density is odd (--strict)\n")


def test_strict_fails_after_a_run_with_warnings(command, stand_in):
    status, out, err = command("run", "tail.toml", "--strict")
    assert (status, err) == (1, "error: the run has warnings (--strict)\n")
    assert out.startswith("tail kicks")


def test_failed_run_is_one_line_and_status_one(command, stand_in, tmp_path):
    stand_in.failure = SolveError("tail: no rest shape at 0.5 m/s")
    status, out, err = command("run", "tail.toml", "--json", "--out", tmp_path)
    assert (status, out, err) == (1, "", "error: tail: no rest shape at 0.5 m/s\n")
    assert os.listdir(tmp_path) == []


def test_every_problem_of_the_input_is_a_line_and_status_two(command, stand_in):
    stand_in.failure = InputError(["one", "two"])
    assert command("run", "tail.toml") == (2, "", "error: one\nerror: two\n")


def test_interrupt_is_one_line_and_no_file(command, stand_in, tmp_path):
    stand_in.failure = KeyboardInterrupt()
    status, out, err = command("run", "tail.toml", "--out", tmp_path)
    assert (status, out) == (130, "")
    assert err.strip() == "interrupted; no half-written file is left behind"
    assert os.listdir(tmp_path) == []


def test_unusable_directory_is_told_before_the_run(command, stand_in, tmp_path):
    stand_in.failure = AssertionError("the run must not start")
    (tmp_path / "file").write_text("")
    status, out, err = command("run", "tail.toml", "--out", tmp_path / "file")
    assert (status, out) == (1, "")
    assert err == f"error: {tmp_path / 'file'}: cannot be used for results, File exists\n"


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("run",), "Missing argument 'CASE'"),
        (("run", "x.toml", "--sett", "a=1"), "No such option"),
        (("swim",), "No such command 'swim'"),
        (("run", "x.toml", "--set"), "requires an argument"),
    ],
)
def test_wrong_usage_is_status_two(command, words, message):
    status, out, err = command(*words)
    assert (status, out) == (2, "")
    assert message in err


def test_missing_case_file_is_one_line(command, tmp_path):
    status, out, err = command("run", tmp_path / "none.toml")
    assert (status, out) == (2, "")
    assert err.startswith("error: ")
    assert err.count("\n") == 1


def test_new_prints_a_starter_case(command):
    status, out, err = command("new", "paddle-tail")
    assert (status, err) == (0, "")
    assert 'kind = "paddle-tail"' in out


def test_new_writes_a_file_but_never_over_another(command, tmp_path):
    path = tmp_path / "tail.toml"
    status, out, err = command("new", "strip", "--out", path)
    assert (status, out) == (0, "")
    assert err == f"wrote {path}; next: simsoft run {path}\n"
    text = path.read_text()
    status, _, err = command("new", "leg", "--out", path)
    assert (status, err) == (2, f"error: {path}: exists already; choose another name\n")
    assert path.read_text() == text


def test_new_of_an_unknown_kind_is_wrong_input(command):
    status, out, err = command("new", "paddletail")
    assert (status, out) == (2, "")
    assert "paddle-tail" in err


@pytest.mark.parametrize(("passed", "status"), [(True, 0), (False, 1)])
def test_validate_fails_on_a_miss(command, monkeypatch, passed, status):
    calls = []

    def validate(ids, write):
        calls.append((ids, write))
        return "the table", passed

    stub = types.SimpleNamespace(validate=validate)
    monkeypatch.setitem(sys.modules, "simsoft.validate", types.ModuleType("simsoft.validate"))
    monkeypatch.setitem(sys.modules, "simsoft.validate.run", stub)
    assert command("validate", "A01", "A02", "--write") == (status, "the table\n", "")
    assert calls == [(("A01", "A02"), True)]


def test_progress_is_silent_without_a_terminal():
    with console.progress_bar(quiet=False) as progress:
        assert progress is None


def test_progress_on_a_terminal_shows_the_stage(monkeypatch, capsys):
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True, raising=False)
    monkeypatch.setenv("TERM", "xterm")
    with console.progress_bar(quiet=False) as progress:
        progress("march [tail] at 0.5 m/s", 0.5)
    shown = capsys.readouterr()
    assert shown.out == ""
    assert "march [tail] at 0.5 m/s" in shown.err
    with console.progress_bar(quiet=True) as progress:
        assert progress is None


def test_help_is_quick():
    def seconds():
        start = time.perf_counter()
        done = subprocess.run([*PYTHON, "--help"], capture_output=True, check=True, text=True)
        assert "simsoft run tail.toml" in done.stdout
        return time.perf_counter() - start

    assert min(seconds() for _ in range(3)) < 0.5


def test_help_imports_nothing_heavy():
    code = (
        "import sys, simsoft.cli; heavy = {'numpy', 'pint', 'pydantic', 'scipy', 'matplotlib', "
        "'h5py', 'numba', 'rich'}; print(sorted(heavy & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, check=True, text=True)
    assert done.stdout == "[]\n"


def test_closed_pipe_is_no_traceback():
    reader, writer = os.pipe()
    os.close(reader)
    done = subprocess.run(
        [*PYTHON, "new", "paddle-tail"], stdout=writer, stderr=subprocess.PIPE, text=True
    )
    os.close(writer)
    assert done.stderr == ""


@pytest.mark.parametrize(("number", "status"), [(signal.SIGINT, 130), (signal.SIGTERM, 143)])
def test_stopped_process_leaves_no_file(tmp_path, number, status):
    code = (
        "import sys, time, types\n"
        "from simsoft import cli\n"
        "from simsoft.files import whole_file\n"
        "def run(case, progress=None):\n"
        f"    with whole_file({str(tmp_path / 'results.h5')!r}) as temporary:\n"
        "        temporary.write_text('half')\n"
        "        print('writing', file=sys.stderr, flush=True)\n"
        "        time.sleep(30)\n"
        "load = lambda path, overrides: types.SimpleNamespace(warnings=())\n"
        "sys.modules['simsoft.case.read'] = types.SimpleNamespace(load=load)\n"
        "sys.modules['simsoft.engine'] = types.SimpleNamespace(run=run)\n"
        "cli.main(['run', 'tail.toml'])\n"
    )
    process = subprocess.Popen(
        [sys.executable, "-c", code],
        stderr=subprocess.PIPE,
        text=True,
        # a shell's background job ignores the interrupt, and its children inherit that
        preexec_fn=lambda: signal.signal(number, signal.SIG_DFL),
    )
    assert process.stderr.readline() == "writing\n"
    process.send_signal(number)
    rest = process.communicate(timeout=20)[1]
    assert process.returncode == status
    assert "Traceback" not in rest
    assert os.listdir(tmp_path) == []


def test_a_warm_cache_is_known_for_all_kernels_and_for_one(monkeypatch, tmp_path):
    from simsoft import compiled

    monkeypatch.setattr(compiled, "cache_directory", lambda: tmp_path)
    assert compiled.is_cold()
    (tmp_path / "march_kernel.advance-1.py311.nbi").touch()
    assert not compiled.is_cold()
    assert not compiled.is_cold("advance")
    assert compiled.is_cold("evaluate")
