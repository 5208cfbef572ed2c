"""The same question asked again in other surroundings: processes, threads, hash seeds."""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

THREADS = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "NUMBA_NUM_THREADS")
ONE_CORE = """
import os, sys
if hasattr(os, "sched_setaffinity"):
    cores = sorted(os.sched_getaffinity(0))
    os.sched_setaffinity(0, {cores[os.getpid() % len(cores)]})
os.cpu_count = lambda: 1
from simsoft.cli.main import main
main(sys.argv[1:])
"""
PLAIN = ("-m", "simsoft")
# how Python is started, hash seed, threads; the first two are the same question asked twice
SURROUNDINGS = {
    "as it is": (PLAIN, "0", None),
    "as it is, again": (PLAIN, "0", None),
    "on one core": (("-c", ONE_CORE), "1", "1"),
    "with four threads": (PLAIN, "4711", "4"),
}
RUN = tuple(SURROUNDINGS)
SWEEP = {"as it is": 1, "with four threads": 2, "on one core": 2}  # workers
TWO_WATERS = "water.temperature=10:20:10 degC"  # an axis that every case has
SWEPT = ("sweep.h5", "sweep.csv")


def answer(words: Sequence[object], folder: Path, where: str) -> bytes:
    """Return what a command prints in the named surroundings.

    Raises
    ------
    RuntimeError
        It failed or printed no JSON.
    """
    start, seed, threads = SURROUNDINGS[where]
    environment = {**os.environ, "PYTHONHASHSEED": seed}
    environment |= dict.fromkeys(THREADS, threads) if threads else {}
    command = [sys.executable, *start, *map(str, words)]
    done = subprocess.run(command, cwd=folder, env=environment, capture_output=True, check=False)
    if done.returncode not in (0, 1) or not done.stdout.startswith(b"{"):
        raise RuntimeError(f"exit status {done.returncode}: {done.stderr.decode()[-500:]}")
    return done.stdout


def of_run(case: object, folder: Path, where: str) -> str:
    """Return the digest of a run's answer."""
    return _digest([answer(["run", case, "--json", "--quiet"], folder, where)])


def of_sweep(case: object, folder: Path, where: str, workers: int, vary: str = TWO_WATERS) -> str:
    """Return the digest of a sweep's answer and of the files that it wrote."""
    out = folder / f"out {where} {workers}"
    words = ["sweep", case, "--vary", vary, "--json", "--quiet", "--workers", workers]
    said = answer([*words, "--out", out], folder, where)
    return _digest([said, *((out / name).read_bytes() for name in SWEPT)])


def _digest(parts: Sequence[bytes]) -> str:
    return hashlib.sha256(b"\0".join(parts)).hexdigest()[:16]
