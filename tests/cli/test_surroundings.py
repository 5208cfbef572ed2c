"""Homes that cannot be written, foreign locales, closed pipes, tiny terminals, two at a time."""

import os
import subprocess
import sys

import pytest

TOY = """
from simsoft.core.compiled import kernel

@kernel()
def toy(x):
    total = 0.0
    for i in range(int(x)):
        total += 1.0 / (1.0 + i)
    return total

print(repr(toy(50.0)))
"""
ROWS = "L_mm,droop_mm,t_mm\n40,6.1,3\n50,12.4,3.1\n60,21,2.9\n"
SIMSOFT = [sys.executable, "-m", "simsoft"]
posix = pytest.mark.skipif(os.name != "posix", reason="homes and pipes of this system")


def surroundings(**changes):
    """Return an environment with some variables set, or with None left out."""
    found = {**os.environ, **{k: v for k, v in changes.items() if v is not None}}
    return {k: v for k, v in found.items() if k not in changes or changes[k] is not None}


def toy(folder, **changes):
    script = folder / "toy.py"
    script.write_text(TOY)
    return subprocess.Popen(
        [sys.executable, str(script)],
        env=surroundings(**changes),
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def test_processes_that_compile_into_one_cache_at_once_agree(tmp_path):
    cache = str(tmp_path / "cache")
    running = [toy(tmp_path, SIMSOFT_CACHE=cache) for _ in range(3)]
    answers = [process.communicate(timeout=120) for process in running]
    assert len({out for out, _ in answers}) == 1
    assert all(err == "" for _, err in answers)
    again = toy(tmp_path, SIMSOFT_CACHE=cache).communicate(timeout=120)
    assert again == answers[0]


@posix
@pytest.mark.parametrize("home", [None, "/dev/null/none", "folder"])
def test_a_home_that_cannot_be_written_or_is_not_there_is_done_without(tmp_path, home):
    if home == "folder":
        (tmp_path / "home").mkdir(mode=0o500)
        home = str(tmp_path / "home")
    process = toy(tmp_path, SIMSOFT_CACHE=None, XDG_CACHE_HOME=None, HOME=home)
    out, err = process.communicate(timeout=120)
    assert out.startswith("4.49920533"), err
    assert "Traceback" not in err


def measured(tmp_path, **changes):
    (tmp_path / "bent.csv").write_text(ROWS)
    return subprocess.run(
        [*SIMSOFT, "measure", "bent.csv"],
        cwd=tmp_path,
        env=surroundings(**changes),
        capture_output=True,
        timeout=120,
    )


def test_a_foreign_locale_changes_no_number_and_breaks_nothing(tmp_path):
    plain = measured(tmp_path)
    assert plain.returncode == 0, plain.stderr
    for locale in ("C", "POSIX", "de_DE.UTF-8", "tr_TR.ISO-8859-9", "nonsense"):
        found = measured(tmp_path, LC_ALL=locale, LANG=locale, PYTHONUTF8="0")
        assert found.returncode == 0, (locale, found.stderr)
        assert found.stderr == b""
        numbers = [part for part in found.stdout.split() if part[:1].isdigit()]
        assert numbers == [part for part in plain.stdout.split() if part[:1].isdigit()]


@pytest.mark.parametrize(("columns", "lines"), [("1", "1"), ("0", "0"), ("20", "2"), ("x", "")])
def test_a_tiny_terminal_breaks_nothing(tmp_path, columns, lines):
    found = measured(tmp_path, COLUMNS=columns, LINES=lines, TERM="dumb")
    assert found.returncode == 0, found.stderr
    assert found.stderr == b""
    assert b"kPa" in found.stdout


@posix
@pytest.mark.parametrize("words", [("new", "paddle-tail"), ("measure", "bent.csv"), ("--help",)])
def test_a_closed_pipe_ends_quietly(tmp_path, words):
    (tmp_path / "bent.csv").write_text(ROWS)
    reading, writing = os.pipe()
    os.close(reading)
    try:
        found = subprocess.run(
            [*SIMSOFT, *words], cwd=tmp_path, stdout=writing, stderr=subprocess.PIPE, timeout=120
        )
    finally:
        os.close(writing)
    assert b"Traceback" not in found.stderr
    assert b"defect" not in found.stderr
    assert len(found.stderr.splitlines()) <= 1
