"""Measure everything once and write ``benchmarks/README.md``: ``python benchmarks/report.py``."""

import cProfile
import os
import platform
import pstats
import time
from pathlib import Path
from unittest import mock

from workloads import (
    ROOT,
    SAMPLES,
    SIMULATED,
    STEP,
    TARGETS,
    command,
    import_time,
    lure_run,
    make_flight,
    make_onset,
    make_rest,
    paddle_run,
)

from simsoft import __version__
from simsoft.case.read import load
from simsoft.engine import jobs
from simsoft.engine import run as engine

PAGE = ROOT / "benchmarks" / "README.md"
TOP = 14  # functions of the profile
REPEATS = 5

HEAD = """# Benchmarks

`pytest benchmarks` measures and asserts ratios; this page is written by `python
benchmarks/report.py` (simsoft {version}, Python {python}) on a {cores}-core machine, best of {n}
(whole commands: best of 3). Kernels are compiled before anything is timed.

Targets are those set for this release. For comparison, measured on the same machine when they were
set: general-purpose compiled beam codes took 0.34 s (the best) and 1.2 s (a typical one) for the
40-element march, without reactive force and wake.

"""


class Serial:
    """Stand-in for a pool of threads: the profiler sees only the thread it was started in."""

    def __init__(self, max_workers=None):
        self.map = map

    def shutdown(self, wait=True, cancel_futures=False):
        """Do nothing; there is nothing to end."""


def best(function, repeats=REPEATS):
    """Return the fastest of some calls [s]."""
    times = []
    for _ in range(repeats):
        begin = time.perf_counter()
        function()
        times.append(time.perf_counter() - begin)
    return min(times)


def measured():
    """Return rows of the table: what, figure, unit, target or None."""
    rows = []
    for elements in (16, 40, 80):
        figure = best(make_flight(elements))
        what = f"march of a {elements}-element tail in space, {SIMULATED:g} s at {1e3 * STEP:g} ms"
        rows.append((what, figure, "s", TARGETS.get(f"march {elements}")))
    figure = best(make_flight(40, reactive=False))
    rows.append(("the 40-element one without reactive force", figure, "s", None))
    what = f"rest shapes of the 40-element ribbon demo at {SAMPLES} speeds"
    rows.append((what, best(make_rest(40)), "s", None))
    what = f"rest shapes and start speed of it over {SAMPLES} speeds"
    rows.append((what, best(make_onset(40)), "s", TARGETS["rest and onset"]))
    rows.append(("`simsoft --help`", best(lambda: command("--help"), 3), "s", TARGETS["help"]))
    rows.append(("`import simsoft`", min(import_time("simsoft") for _ in range(3)), "s", None))
    figure = min(import_time("simsoft.engine.run") for _ in range(3))
    rows.append(("`import simsoft.engine.run`", figure, "s", None))
    paddle_run()
    runs = [paddle_run() for _ in range(3)]
    what = "`simsoft run cases/paddle_100.toml`, bands included"
    rows.append((what, min(seconds for seconds, _ in runs), "s", TARGETS["run"]))
    rows.append(("its peak memory", max(peak for _, peak in runs), "MB", TARGETS["memory"]))
    lure_run()
    what = "`simsoft run benchmarks/three_parts.toml`: fall, three speeds, clearance, cast, bands"
    rows.append((what, min(lure_run()[0] for _ in range(3)), "s", TARGETS["lure"]))
    return rows


def profile():
    """Return seconds in all and rows of the functions the paddle run spends its time in."""
    case = load(ROOT / "cases" / "paddle_100.toml")
    engine.run(case)
    with (
        mock.patch.object(engine, "ThreadPoolExecutor", Serial),
        mock.patch.object(jobs, "ThreadPoolExecutor", Serial),
    ):
        profiler = cProfile.Profile()
        profiler.enable()
        engine.run(case)
        profiler.disable()
    stats = pstats.Stats(profiler)
    entries = sorted(stats.stats.items(), key=lambda item: -item[1][2])
    rows = [
        (place(name), calls, own, with_callees)
        for name, (_, calls, own, with_callees, _) in entries[:TOP]
    ]
    return stats.total_tt, rows


def place(name):
    """Return a function's module and name without any path of this machine."""
    file, _, function = name
    if file == "~":
        return function.strip("<>")
    path = Path(file)
    inside = path.relative_to(ROOT) if path.is_relative_to(ROOT) else Path(*path.parts[-3:])
    return f"{inside.with_suffix('').as_posix().replace('/', '.')}:{function}"


def page(rows, total, functions):
    """Return the page as Markdown."""
    text = HEAD.format(
        version=__version__,
        python=platform.python_version(),
        cores=os.cpu_count(),
        n=REPEATS,
    )
    text += "| what | measured | target | met |\n|---|--:|--:|---|\n"
    for what, figure, unit, target in rows:
        aim = "" if target is None else f"{target:g} {unit}"
        met = "" if target is None else ("yes" if figure <= target else "NO")
        text += f"| {what} | {figure:.3g} {unit} | {aim} | {met} |\n"
    text += (
        "\n## Where the paddle run spends its time\n\n`simsoft.run` of the paddle demo with "
        f"its bands, all cases one after another in one thread under the profiler: {total:.2f} s. "
        "A run does the moved cases on all cores at once. Compiled kernels count as one function "
        "each.\n\n| function | calls | own time [s] | with callees [s] |\n|---|--:|--:|--:|\n"
    )
    for name, calls, own, with_callees in functions:
        text += f"| `{name}` | {calls} | {own:.3f} | {with_callees:.3f} |\n"
    return text


def main():
    """Measure and write the page."""
    rows = measured()
    PAGE.write_text(page(rows, *profile()), encoding="utf-8")


if __name__ == "__main__":
    main()
