"""Ctrl-C reaches every process of a terminal: one line, no traceback of a worker, no leftover."""

import os
import random
import signal
import subprocess
import sys
import time
import tomllib

import pytest
from sweep_cases import STRIP

from simsoft.design.sweep.pool import run_jobs
from simsoft.design.sweep.row import REFUSED
from simsoft.design.sweep.task import BaseCase, Task

posix = pytest.mark.skipif(os.name != "posix", reason="process groups")


def interrupted(folder, delay):
    """Sweep, send Ctrl-C to the whole group after a delay [s]; return status and stderr."""
    words = [sys.executable, "-m", "simsoft", "sweep", "strip.toml", "--workers", "2"]
    words += ["--out", "out", "--vary", "parts.strip.thickness=1:3:0.01 mm"]
    process = subprocess.Popen(
        words,
        cwd=folder,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
    )
    time.sleep(delay)
    os.killpg(process.pid, signal.SIGINT)
    _, said = process.communicate(timeout=60)
    return process.returncode, said


def check(folder, delays):
    (folder / "strip.toml").write_text(STRIP)
    for delay in delays:
        status, said = interrupted(folder, delay)
        assert "Traceback" not in said, f"after {delay:.2f} s: {said}"
        # the interpreter ends by the signal itself where it comes in the middle of some imports
        assert status in (0, 130, -signal.SIGINT), f"after {delay:.2f} s: {said}"
        left = (
            [p.name for p in (folder / "out").glob(".*.part*")] if (folder / "out").exists() else []
        )
        assert left == []


@posix
def test_ctrl_c_while_workers_start(tmp_path):
    check(tmp_path, [1.6, 2.2])


@posix
def test_ctrl_c_while_the_command_line_loads(tmp_path):
    check(tmp_path, [0.25, 0.5])


@posix
def test_ctrl_c_does_not_wait_for_a_design_under_way(tmp_path):
    """One long row takes half a minute of a processor (computed here)."""
    text = STRIP.replace("elements = 6", "elements = 128")
    text = text.replace('kind = "hold"', 'kind = "retrieve"\nspeed = "0.3 m/s"')
    base = BaseCase("strip.toml", text, tomllib.loads(text))
    slow = Task(("parts.strip.length=60 mm", "parts.strip.thickness=0.6 mm"))
    jobs = [("refused", Task(("no.key=1",))), ("a", slow), ("b", slow)]
    rows = run_jobs(base, jobs, workers=2, chunk=1)
    assert next(rows)[0].status == REFUSED  # the workers are up, and one is at a long design
    begun = time.monotonic()
    rows.close()
    assert time.monotonic() - begun < 10.0


@posix
@pytest.mark.slow
def test_ctrl_c_at_random_moments(tmp_path):
    moments = random.Random(20)
    check(tmp_path, [moments.uniform(0.3, 4.0) for _ in range(24)])
