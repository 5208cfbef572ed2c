"""The same question gives the same bytes: twice, on one core and all, whatever the hash seed."""

import os
import subprocess
import sys

import pytest

from simsoft.case.starter import demo_files

STRIP = """
title = "Test strip"
[material]
durometer = "50 OO"
[[parts]]
name = "strip"
kind = "strip"
length = "40 mm"
width = "6 mm"
thickness = "2 mm"
[numerics]
elements = 8
[[scenarios]]
name = "tank"
kind = "hold"
"""
THREADS = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "NUMBA_NUM_THREADS")
ONE_CORE = """
import os, sys
if hasattr(os, "sched_setaffinity"):
    os.sched_setaffinity(0, {min(os.sched_getaffinity(0))})
os.cpu_count = lambda: 1
from simsoft.cli.main import main
main(sys.argv[1:])
"""


def answers(words, folder):
    """Return what a command prints: as it is, on one core, with four threads and another seed."""
    found = []
    for start, seed, threads in (
        (["-m", "simsoft"], "0", None),
        (["-c", ONE_CORE], "1", "1"),
        (["-m", "simsoft"], "4711", "4"),
    ):
        environment = {**os.environ, "PYTHONHASHSEED": seed}
        environment |= dict.fromkeys(THREADS, threads) if threads else {}
        done = subprocess.run(
            [sys.executable, *start, *map(str, words)],
            cwd=folder,
            env=environment,
            capture_output=True,
        )
        assert done.returncode in (0, 1), done.stderr
        assert done.stdout.startswith(b"{"), done.stderr
        found.append(done.stdout)
    return found


def test_a_run_is_equal_to_the_bit(tmp_path):
    (tmp_path / "strip.toml").write_text(STRIP)
    assert len(set(answers(["run", "strip.toml", "--json", "--quiet"], tmp_path))) == 1


def test_a_sweep_is_equal_to_the_bit_with_one_worker_and_two(tmp_path):
    (tmp_path / "strip.toml").write_text(STRIP)
    found = set()
    for workers in (1, 2):
        words = ["sweep", "strip.toml", "--vary", "parts.strip.thickness=1:2:0.5 mm", "--json"]
        words += ["--quiet", "--workers", workers, "--out", f"out{workers}"]
        found |= set(answers(words, tmp_path)[:2])
    assert len(found) == 1
    one, two = (tmp_path / f"out{n}" for n in (1, 2))
    for name in ("sweep.h5", "sweep.csv"):
        assert (one / name).read_bytes() == (two / name).read_bytes()


@pytest.mark.slow
@pytest.mark.parametrize("demo", sorted(demo_files()))
def test_a_demo_is_equal_to_the_bit(tmp_path, demo):
    assert len(set(answers(["run", demo_files()[demo], "--json", "--quiet"], tmp_path))) == 1
