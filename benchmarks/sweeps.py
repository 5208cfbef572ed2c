"""Measure sweeps and write SWEEPS.md: ``python benchmarks/sweeps.py [MARCHED SCREENED]``.

Marched designs (rest shape, start speed, march at two speeds) with one worker and with two, and
screened designs with their memory. Kernels are compiled before anything is timed.
"""

import os
import platform
import resource
import sys
import tempfile
import time
from pathlib import Path

from simsoft import __version__
from simsoft.sweep.axis import read_axis
from simsoft.sweep.plan import Plan
from simsoft.sweep.run import local_runner, prepare, read_base, run_sweep

ROOT = Path(__file__).resolve().parent.parent
PAGE = ROOT / "benchmarks" / "SWEEPS.md"
CASE = ROOT / "cases" / "paddle_100.toml"
OVERRIDES = ("scenarios.retrieve.speed=['0.4 m/s', '0.6 m/s']",)
AXES = ("parts.tail.thickness=1.8:3.2 mm", "material.durometer=38:58 OO")
TARGETS = {"full": (1000, 60.0), "fast": (100_000, 300.0)}  # designs and [s] on two cores


def sweep_of(mode, count, seed):
    """Return a sweep of ``count`` sampled paddles."""
    plan = Plan(tuple(map(read_axis, AXES)), sample=count, seed=seed)
    base = read_base(CASE, OVERRIDES)
    tables = {k: v for k, v in base.tables.items() if k != "brief"}
    tables["scenarios"] = [s for s in tables["scenarios"] if s["kind"] == "retrieve"]
    return prepare(type(base)(base.name, base.text, tables), plan, mode)


def timed(mode, count, workers, seed):
    """Return wall seconds, CPU seconds of all processes, and the peak memory [MB] of the parent."""
    with tempfile.TemporaryDirectory() as place:
        before = sum(os.times()[:4])
        begin = time.perf_counter()
        run_sweep(sweep_of(mode, count, seed), Path(place), local_runner(workers, mode))
        wall = time.perf_counter() - begin
        used = sum(os.times()[:4]) - before
    return wall, used, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0


def main(marched, screened):
    """Measure and write the page."""
    timed("full", 2, 1, 1)
    timed("fast", 2, 1, 1)
    rows = []
    for mode, count, workers in (
        ("full", marched, 1),
        ("full", marched, 2),
        ("fast", screened // 10, 2),
        ("fast", screened, 2),
    ):
        wall, used, memory = timed(mode, count, workers, seed=7)
        designs, target = TARGETS[mode]
        scaled = wall / count * designs
        rows.append(
            f"| {'marched' if mode == 'full' else 'screened'} | {count} | {workers} | {wall:.1f} | "
            f"{1e3 * used / count:.1f} | {memory:.0f} | {scaled:.0f} s for {designs} "
            f"(target {target:.0f} s on two) |"
        )
        print(rows[-1], flush=True)
    head = (
        "# Sweeps\n\n`python benchmarks/sweeps.py` (simsoft "
        f"{__version__}, Python {platform.python_version()}), load average before it "
        f"{os.getloadavg()[0]:.1f} on {os.cpu_count()} cores; anything above 0 means that other "
        "work shared the machine and wall times are too long by that.\n\n"
        "| what | designs | workers | wall s | CPU ms a design | peak MB of the parent | scaled |\n"
        "|---|--:|--:|--:|--:|--:|---|\n"
    )
    PAGE.write_text(head + "\n".join(rows) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main(*(int(word) for word in (sys.argv[1:] or ("1000", "100000"))))
