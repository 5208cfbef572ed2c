"""The same sweep on a real scheduler with two workers on loopback, one killed in the middle."""

import os
import signal
import subprocess
import sys
import time

import pytest
from sweep_cases import STRIP

from simsoft.core.errors import InputError
from simsoft.design.sweep.axis import read_axis
from simsoft.design.sweep.plan import Plan
from simsoft.design.sweep.run import local_runner, prepare_sweep, read_base, run_sweep

pytest.importorskip("distributed")

QUIET = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}


def start(*words):
    return subprocess.Popen([sys.executable, "-m", *words], **QUIET)


@pytest.fixture
def cluster(tmp_path):
    address = tmp_path / "scheduler.json"
    tool = "distributed.cli.dask_"
    loopback = ["--host", "127.0.0.1", "--no-dashboard"]
    found = [start(f"{tool}scheduler", *loopback, "--port", "0", "--scheduler-file", str(address))]
    for _ in range(200):
        if address.exists():
            break
        time.sleep(0.05)
    worker = ["--nthreads", "1", "--no-nanny", "--no-dashboard", "--host", "127.0.0.1"]
    found += [start(f"{tool}worker", "--scheduler-file", str(address), *worker) for _ in range(2)]
    import json

    yield json.loads(address.read_text())["address"], found
    for process in found:
        if process.poll() is None:
            process.send_signal(signal.SIGTERM)
    for process in found:
        try:
            process.wait(10)
        except subprocess.TimeoutExpired:
            process.kill()


@pytest.mark.slow
@pytest.mark.skipif(os.name != "posix", reason="kills a worker by a signal")
def test_a_killed_worker_changes_nothing(cluster, tmp_path):
    from simsoft.design.sweep.cluster import cluster_runner

    address, processes = cluster
    case = tmp_path / "strip.toml"
    case.write_text(STRIP)
    axes = ("parts.strip.thickness=1:3:0.1 mm", "parts.strip.width=5,6,7 mm")
    sweep = prepare_sweep(read_base(case), Plan(tuple(map(read_axis, axes))))
    for name in ("far", "near"):
        (tmp_path / name).mkdir()
    killed = []

    def kill_one(_label, share):
        if not killed and share > 0.2:
            processes[1].send_signal(signal.SIGKILL)
            killed.append(share)

    runner = cluster_runner(address, "full")
    table, solved = run_sweep(sweep, tmp_path / "far", runner, kill_one)
    assert killed
    assert killed[0] < 0.95
    assert processes[1].wait(10) == -signal.SIGKILL
    assert set(table.status) == {"done"}
    assert solved == table.count == 63
    run_sweep(sweep, tmp_path / "near", local_runner(1, "full"))
    far, near = (tmp_path / name / "sweep.h5" for name in ("far", "near"))
    assert far.read_bytes() == near.read_bytes()


def test_no_scheduler_is_one_line(monkeypatch):
    from simsoft.design.sweep import cluster

    monkeypatch.setattr(cluster, "PATIENCE", "0.5s")
    with pytest.raises(InputError) as error:
        cluster.cluster_runner("tcp://127.0.0.1:9", "full")
    assert "no scheduler answers" in str(error.value)
    assert "\n" not in str(error.value)
