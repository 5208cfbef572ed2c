"""The command line: exit status, streams, files, and no traceback for a user error."""

import dataclasses
import hashlib
import json
import os
import re
import subprocess
import sys
import time
import tomllib
import types
from pathlib import Path

import pytest

from simsoft import __version__
from simsoft.case.starter import demo_files
from simsoft.cli import console
from simsoft.core.errors import InputError, SolveError

PYTHON = [sys.executable, "-m", "simsoft"]
CASES = Path(__file__).parents[2] / "cases"


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
    assert (status, err) == (0, f"wrote 10 files to {folder}\n")
    names = set(os.listdir(folder))
    assert len(names) == 11  # the list of them among them
    assert {"report.html", "results.h5", "records.json", "response-stream-tail.png"} <= names
    assert json.loads((folder / "records.json").read_text())["simsoft"] == __version__


def test_the_answer_goes_by_the_terminal_and_the_kept_one_does_not(
    command, stand_in, tmp_path, monkeypatch
):
    answers, kept = [], []
    for columns in ("60", "200"):
        monkeypatch.setenv("COLUMNS", columns)
        answers.append(command("run", "tail.toml", "--out", tmp_path / columns)[1])
        text = (tmp_path / columns / "summary.txt").read_text()
        kept.append(re.sub(r"T\d\d:\d\d:\d\d", "", text))  # when it was written
    assert answers[0] != answers[1]
    assert answers[0].split() == answers[1].split()
    assert kept[0] == kept[1]


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
    assert command("run", "tail.toml") == (
        2,
        "",
        "error: tail.toml: one\nerror: tail.toml: two\n",
    )


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


def test_demo_cases_of_an_installed_package_lie_inside_it(tmp_path):
    package = tmp_path / "simsoft"
    with pytest.raises(InputError, match="no demo cases are in"):
        demo_files(package)
    (tmp_path / "cases").mkdir()
    (tmp_path / "cases" / "beside.toml").write_text("")
    assert set(demo_files(package)) == {"beside"}
    (package / "_cases").mkdir(parents=True)
    (package / "_cases" / "inside.toml").write_text("")
    assert set(demo_files(package)) == {"inside"}


def test_the_wheel_carries_cases_and_checks():
    text = (CASES.parent / "pyproject.toml").read_text(encoding="utf-8")
    carried = tomllib.loads(text)["tool"]["hatch"]["build"]["targets"]["wheel"]["force-include"]
    assert carried == {"validation": "simsoft/_validation", "cases": "simsoft/_cases"}


@pytest.mark.parametrize(("passed", "status"), [(True, 0), (False, 1)])
def test_validate_fails_on_a_miss(command, monkeypatch, passed, status):
    calls = []

    def validate(ids, write):
        calls.append((ids, write))
        return "the table", passed

    stub = types.SimpleNamespace(check_published=validate, Stopped=KeyboardInterrupt)
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
    def seconds(*words):
        start = time.perf_counter()
        done = subprocess.run(words, capture_output=True, check=True, text=True)
        assert "simsoft run tail.toml" in done.stdout or "pass" in words
        return time.perf_counter() - start

    # beside an interpreter that does nothing, in turns: other work slows both
    pairs = [(seconds(*PYTHON, "--help"), seconds(sys.executable, "-c", "pass")) for _ in range(3)]
    shown, bare = (min(taken) for taken in zip(*pairs, strict=True))
    assert shown < 20.0 * bare


def test_help_imports_nothing_heavy():
    code = (
        "import sys, simsoft.cli.main; heavy = {'numpy', 'pint', 'pydantic', 'scipy', "
        "'matplotlib', 'h5py', 'numba', 'rich'}; print(sorted(heavy & set(sys.modules)))"
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


def test_a_warm_cache_is_known_for_all_kernels_and_for_one(monkeypatch, tmp_path):
    from simsoft.core import compiled

    monkeypatch.setattr(compiled, "cache_directory", lambda: tmp_path)
    assert compiled.is_cold()
    (tmp_path / "march_kernel.advance-1.py311.nbi").touch()
    assert not compiled.is_cold()
    assert not compiled.is_cold("advance")
    assert compiled.is_cold("evaluate")


def test_a_second_run_into_the_same_folder_leaves_nothing_stale(command, stand_in, tmp_path):
    command("run", "tail.toml", "--out", tmp_path)
    (tmp_path / "notes.txt").write_text("mine")
    (tmp_path / "summary.txt").write_text("written over by hand, then by the next run")
    changed = tmp_path / "shapes-stream-tail-0.3.png"
    changed.write_bytes(changed.read_bytes() + b"drawn upon")
    stand_in.result = dataclasses.replace(stand_in.result, traces=(), shapes=())
    command("run", "tail.toml", "--out", tmp_path)
    left = set(os.listdir(tmp_path))
    assert {"notes.txt", changed.name} <= left
    assert not [name for name in left if name.startswith("tip-")]
    assert "shapes-stream-tail-0.5.png" not in left
    assert (tmp_path / "summary.txt").read_text().startswith("tail kicks")


def test_a_list_of_files_cannot_reach_out_of_its_folder(command, stand_in, tmp_path):
    folder = tmp_path / "out"
    folder.mkdir()
    outside = tmp_path / "outside.txt"
    outside.write_text("x")
    digest = hashlib.sha256(b"x").hexdigest()
    (folder / "files.json").write_text(json.dumps({"files": {"../outside.txt": digest}}))
    assert command("run", "tail.toml", "--out", folder)[0] == 0
    assert outside.exists()


@pytest.mark.parametrize("text", ["", "[]", "{}", '{"files": 3}', '{"files": {"a": 1}}'])
def test_a_broken_list_of_files_is_passed_over(command, stand_in, tmp_path, text):
    (tmp_path / "files.json").write_text(text)
    assert command("run", "tail.toml", "--out", tmp_path)[0] == 0
    assert "report.html" in json.loads((tmp_path / "files.json").read_text())["files"]


def test_report_writes_the_page_again(command, stand_in, tmp_path):
    command("run", "tail.toml", "--out", tmp_path)
    first = (tmp_path / "report.html").read_text()
    (tmp_path / "report.html").unlink()
    status, out, err = command("report", tmp_path)
    assert (status, out, err) == (0, "", f"wrote {tmp_path / 'report.html'}\n")
    assert (tmp_path / "report.html").read_text() == first


def test_report_of_a_folder_without_a_run_is_one_line(command, tmp_path):
    status, out, err = command("report", tmp_path)
    assert (status, out) == (2, "")
    assert err == f"error: {tmp_path / 'results.h5'}: cannot be read as a results file\n"


def test_about_tells_versions_cores_and_cache(command):
    status, out, err = command("about")
    assert (status, err) == (0, "")
    lines = dict(line.split(" ", 1) for line in out.splitlines())
    assert lines["simsoft"] == __version__
    assert lines["python"].startswith(".".join(map(str, sys.version_info[:3])))
    assert {"system", "cores", "card", "cache"} <= set(lines)
    assert "MISSING" not in out
    project = tomllib.loads((CASES.parent / "pyproject.toml").read_text(encoding="utf-8"))
    project = project["project"]
    extras = [project["optional-dependencies"][name] for name in ("mesh", "step", "outline")]
    needed = [*project["dependencies"], *(name for extra in extras for name in extra)]
    assert {re.match(r"[\w-]+", name)[0] for name in needed} <= set(lines)


def test_a_defect_is_two_lines_and_says_what_to_send(command, stand_in):
    stand_in.failure = RuntimeError("index\nout of range")
    status, out, err = command("run", "tail.toml")
    assert (status, out) == (1, "")
    first, second = err.splitlines()
    assert first == "error: this is a defect of simsoft: RuntimeError: index out of range"
    assert "simsoft about" in second


@pytest.mark.parametrize(("failure", "code"), [(InputError("odd"), 2), (RuntimeError("odd"), 1)])
def test_debug_says_where_an_error_comes_from(command, stand_in, failure, code):
    stand_in.failure = failure
    status, _, err = command("--debug", "run", "tail.toml")
    assert status == code
    assert "Traceback" in err
    assert "Traceback" not in command("run", "tail.toml")[2]


def test_diff_of_two_runs_ends_with_0_or_1(command, stand_in, tmp_path):
    command("run", "tail.toml", "--out", tmp_path / "a")
    stand_in.result = dataclasses.replace(stand_in.result, records=stand_in.result.records[:-3])
    command("run", "tail.toml", "--out", tmp_path / "b")
    assert command("diff", tmp_path / "a", tmp_path / "a")[0] == 0
    status, out, err = command("diff", tmp_path / "a", tmp_path / "b")
    assert (status, err) == (1, "")
    assert "Only before" in out
    assert json.loads(command("diff", tmp_path / "a", tmp_path / "b", "--json")[1])["records"]
    assert command("diff", tmp_path / "a", tmp_path / "c")[0] == 2


def test_diff_of_case_files_says_which_commands_make_its_folders(command, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    for name in ("tail.toml", "thin.toml"):
        (tmp_path / name).write_text("")
    status, out, err = command("diff", "tail.toml", "thin.toml")
    assert (status, out) == (2, "")
    (line,) = err.splitlines()
    assert line.startswith("error: tail.toml and thin.toml: are files; diff compares two folders")
    assert line.endswith(
        "simsoft run tail.toml --out tail; simsoft run thin.toml --out thin; simsoft diff tail thin"
    )
    (tmp_path / "kept").mkdir()
    assert (
        "run thin.toml --out thin; simsoft diff kept thin"
        in command("diff", "kept", "thin.toml")[2]
    )


def test_a_card_of_an_earlier_run_does_not_outlive_it(command, stand_in, tmp_path):
    command("run", "tail.toml", "--out", tmp_path)
    assert command("card", tmp_path, "--turn", "0.7 m")[0] == 0
    assert command("report", tmp_path)[0] == 0
    assert (tmp_path / "card.html").exists()
    command("run", "tail.toml", "--out", tmp_path)
    assert not (tmp_path / "card.html").exists()
    assert (tmp_path / "report.html").exists()
