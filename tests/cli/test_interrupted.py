"""Runs and sweeps that end early: one line, no half-written file, and a word on how to go on."""

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from simsoft.cli import main as cli
from simsoft.core.errors import SolveError

PYTHON = [sys.executable, "-m", "simsoft"]
CASES = Path(__file__).parents[2] / "cases"


def test_interrupt_is_one_line_and_no_file(command, stand_in, tmp_path):
    stand_in.failure = KeyboardInterrupt()
    status, out, err = command("run", "tail.toml", "--out", tmp_path)
    assert (status, out) == (130, "")
    assert err.strip() == "interrupted; no half-written file is left behind"
    assert os.listdir(tmp_path) == []


@pytest.mark.parametrize("failure", [KeyboardInterrupt(), SolveError("no rest shape")])
def test_a_run_that_ends_early_leaves_no_folder_that_it_made(command, stand_in, tmp_path, failure):
    stand_in.failure = failure
    assert command("run", "tail.toml", "--out", tmp_path / "deep" / "results")[0] in (1, 130)
    assert os.listdir(tmp_path) == []
    (tmp_path / "mine").mkdir()
    command("run", "tail.toml", "--out", tmp_path / "mine" / "results")
    assert os.listdir(tmp_path) == ["mine"]


@pytest.mark.parametrize(
    ("words", "told"),
    [(("sweep", "tail.toml"), True), (("run", "tail.toml", "--out", "sweep"), False)],
)
def test_an_interrupt_says_that_a_sweep_goes_on(command, monkeypatch, words, told):
    def stopped(_):
        raise KeyboardInterrupt

    monkeypatch.setattr(cli, "_run", stopped)
    status, _, err = command(*words)
    assert status == 130
    assert ("the same command goes on where it was" in err) == told


@pytest.mark.parametrize(("number", "status"), [(signal.SIGINT, 130), (signal.SIGTERM, 143)])
def test_stopped_process_leaves_no_file(tmp_path, number, status):
    code = (
        "import sys, time, types\n"
        "from simsoft.cli import main as cli\n"
        "from simsoft.core.files import whole_file\n"
        "def run(case, progress=None):\n"
        f"    with whole_file({str(tmp_path / 'results.h5')!r}) as temporary:\n"
        "        temporary.write_text('half')\n"
        "        print('writing', file=sys.stderr, flush=True)\n"
        "        time.sleep(30)\n"
        "load = lambda path, overrides: types.SimpleNamespace(warnings=())\n"
        "sys.modules['simsoft.case.read'] = types.SimpleNamespace(load=load)\n"
        "sys.modules['simsoft.engine.run'] = types.SimpleNamespace(run=run)\n"
        "ready = types.SimpleNamespace(missing_for=lambda *_, **__: [])\n"
        "sys.modules['simsoft.engine.kernels'] = ready\n"
        "limp = types.SimpleNamespace(slow_parts=lambda case: [])\n"
        "sys.modules['simsoft.lure.limp'] = limp\n"
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
