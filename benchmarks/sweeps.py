"""Measure sweeps and write SWEEPS.md: ``python benchmarks/sweeps.py [MARCHED SCREENED]``.

Marched designs (rest shape, start speed, march at two speeds) with one worker and with two, and
screened designs with their memory. Kernels are compiled before anything is timed; every line is
measured in a process of its own.
"""

import json
import os
import platform
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from simsoft import __version__
from simsoft.design.sweep.axis import read_axis
from simsoft.design.sweep.plan import Plan
from simsoft.design.sweep.run import local_runner, prepare_sweep, read_base, run_sweep

ROOT = Path(__file__).resolve().parent.parent
PAGE = ROOT / "benchmarks" / "SWEEPS.md"
CASE = ROOT / "cases" / "paddle_100.toml"
OVERRIDES = ("scenarios.retrieve.speed=['0.4 m/s', '0.6 m/s']",)
AXES = ("parts.tail.thickness=1.8:3.2 mm", "material.durometer=38:58 OO")
WORDS = {"full": "marched", "fast": "screened"}
TARGETS = {"full": (1000, 60.0), "fast": (100_000, 300.0)}  # designs and [s] on two cores
HEAD = """# Sweeps

Written by `python benchmarks/sweeps.py` (simsoft {version}, Python {python}) on a {cores}-core
machine with a load average of {load:.1f} before it: what other work shares the machine makes wall
times longer, and CPU times too.

A marched design is a paddle's rest shape, start speed and march at two speeds; a screened one the
same by harmonic balance (`--fast`). Targets are for two cores, after compilation: {marched:.0f} s
for 1,000 marched designs, {screened:.0f} s for 100,000 screened ones. Start of the workers and the
finished file count.

| what | designs | workers | wall [s] | CPU a design [ms] | peak memory, parent / worker [MB] |
|---|--:|--:|--:|--:|--:|
{rows}

{ends}
"""


def sweep_of(mode, count, seed):
    """Return a sweep of ``count`` sampled paddles."""
    plan = Plan(tuple(map(read_axis, AXES)), sample=count, seed=seed)
    base = read_base(CASE, OVERRIDES)
    tables = {k: v for k, v in base.tables.items() if k != "brief"}
    tables["scenarios"] = [s for s in tables["scenarios"] if s["kind"] == "retrieve"]
    return prepare_sweep(type(base)(base.name, base.text, tables), plan, mode)


def timed(mode, count, workers, seed):
    """Return wall and CPU seconds of all processes, and peak memory [MB] of parent and worker."""
    with tempfile.TemporaryDirectory() as place:
        before = sum(os.times()[:4])
        begin = time.perf_counter()
        run_sweep(sweep_of(mode, count, seed), Path(place), local_runner(workers, mode))
        wall = time.perf_counter() - begin
        used = sum(os.times()[:4]) - before
    peaks = (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)
    return wall, used, [resource.getrusage(who).ru_maxrss / 1024.0 for who in peaks]


def measured(mode, count, workers):
    """Return what ``timed`` returns, from a process of its own."""
    words = [sys.executable, __file__, "--line", mode, str(count), str(workers)]
    return json.loads(subprocess.run(words, check=True, capture_output=True, text=True).stdout)


def row(mode, count, workers, found):
    """Return one line of the table."""
    wall, used, (parent, worker) = found
    beside = f"{worker:.0f}" if workers > 1 else "-"
    return (
        f"| {WORDS[mode]} | {count:,} | {workers} | {wall:.1f} | {1e3 * used / count:.1f} | "
        f"{parent:.0f} / {beside} |"
    )


def end(mode, count, wall):
    """Return the sentence that compares two workers with the target."""
    designs, target = TARGETS[mode]
    scaled = wall / count * designs
    word = "met" if scaled <= target else "NOT met"
    how = "" if count == designs else f", scaled from {count:,}"
    return f"- {designs:,} {WORDS[mode]}: {scaled:.0f} s{how}; target of {target:.0f} s {word}."


def main(marched, screened):
    """Measure and write the page."""
    load = os.getloadavg()[0]
    for mode in TARGETS:
        measured(mode, 2, 1)  # compiles; not in here, or every line would start from its memory
    lines = [("full", marched, 1), ("full", marched, 2)]
    lines += [("fast", screened // 10, 2), ("fast", screened, 2)]
    found, rows = [], []
    for line in lines:
        found.append(measured(*line))
        rows.append(row(*line, found[-1]))
        print(rows[-1], flush=True)
    few, many = found[2][2][0], found[3][2][0]
    ends = [
        end("full", marched, found[1][0]),
        end("fast", screened, found[3][0]),
        f"- Two workers march {found[0][0] / found[1][0]:.2f} times as fast as one.",
        f"- Ten times the designs take {many - few:.0f} MB more in the parent "
        f"({1e3 * (many - few) / (0.9 * screened):.2f} kB each: the table), none in a worker.",
    ]
    text = HEAD.format(
        version=__version__, python=platform.python_version(), cores=os.cpu_count(), load=load,
        marched=TARGETS["full"][1], screened=TARGETS["fast"][1],
        rows="\n".join(rows), ends="\n".join(ends),
    )  # fmt: skip
    PAGE.write_text(text, encoding="utf-8")


if __name__ == "__main__":
    if sys.argv[1:2] == ["--line"]:
        mode, count, workers = sys.argv[2:]
        print(json.dumps(timed(mode, int(count), int(workers), seed=7)))
    else:
        main(*(int(word) for word in (sys.argv[1:] or ("1000", "100000"))))
