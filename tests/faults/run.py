"""Faults in numbers: ``python tests/faults/run.py kills``, ``flips``, ``disk``, ``equal``.

``--jobs 31`` runs so many slices at a time, ``--seconds 540`` ends after that long, ``--table``
gets a line for every slice as it ends; called again with the same table the run goes on with what
is missing there. ``--only`` takes the slices whose name holds a text. Exit status 1 where anything
was wrong. ``python tests/tally.py --merge FILE`` keeps what a table holds.
"""

from __future__ import annotations

import argparse
import json
import os
import sys
import tempfile
from collections import Counter
from collections.abc import Callable
from functools import partial
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # this package, not another one
sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

import bit_equal
import flips
import full
import kills
import parallel
import tally

from simsoft.case.starter import demo_files

Job = Callable[[Path], Counter[str]]
KILLS, BITS = 10, 25  # of a slice
DISK = {"sweep": 2, "run": 24}  # slices of the sizes of a disk
TEXTS = ("case", "profile", "track", "ringdown", "droop", "weigh", "sink", "cast", "beats",
         "results")  # fmt: skip
FILES: dict[str, Callable[[Path, int, int], Counter[str]]] = {
    "compiled code": flips.of_compiled,
    "sweep.h5": lambda folder, n, seed: flips.of_sweep_file(folder, "sweep.h5", n, seed),
    "rows.sqlite": lambda folder, n, seed: flips.of_sweep_file(folder, "rows.sqlite", n, seed),
    "results.h5": flips.of_results,
    "lock": flips.of_lock,
    "files.json": flips.of_list,
    **{kind: partial(flips.of_text, kind) for kind in TEXTS},
}


def _slices(count: int, size: int, seed: int) -> dict[str, tuple[int, int]]:
    """Return the number and the seed of each slice of a count by the slice's name."""
    sizes = [min(size, count - start) for start in range(0, count, size)]
    return {f"seed {seed + n}, {many}": (many, seed + n) for n, many in enumerate(sizes)}


def _equal(ask: Callable[[object, Path, str], str], demo: str, where: str) -> Job:
    return lambda folder: Counter([f"answer {ask(demo_files()[demo], folder, where)}"])


def slices(what: str, count: int, seed: int) -> dict[str, tuple[tally.Row, Job]]:
    """Return the slices of a kind of fault by name, each with its empty row."""
    found: list[tuple[str, str, str, str, Job]] = []
    if what == "kills":
        for kind in ("fast", "marched"):
            for name, (many, first) in _slices(count, KILLS, seed).items():
                job = partial(kills.killed, kind, count=many, seed=first)
                found.append(("KILLS", kind, kind, name, job))
    elif what == "flips":
        for kind, turn in FILES.items():
            size = BITS if kind in tuple(FILES)[:4] else count
            for name, (many, first) in _slices(count, size, seed).items():
                job = partial(lambda folder, t, m, f: t(folder, m, f), t=turn, m=many, f=first)
                found.append(("TURNED BITS", "each file", kind, name, job))
    elif what == "disk":
        for kind, parts in DISK.items():
            fill = full.of_sweep if kind == "sweep" else full.of_run
            for part in range(parts):
                job = partial(fill, share=(part, parts))
                found.append(("FULL DISK", kind, kind, f"part {part + 1} of {parts}", job))
    else:
        for demo in sorted(demo_files(), key="creature_95".__ne__):  # the longest first
            for where, workers in bit_equal.SWEEP.items():
                ask = partial(bit_equal.of_sweep, workers=workers)
                name = f"{where}, {workers} at work"
                found.append(
                    ("BIT-EQUAL", "each demo", f"sweep of {demo}", name, _equal(ask, demo, where))
                )
            for where in bit_equal.RUN:
                job = _equal(bit_equal.of_run, demo, where)
                found.append(("BIT-EQUAL", "each demo", f"run of {demo}", where, job))
    return {
        f"{kind}, {name}": (tally.Row(of, group, kind, name, {}), job)
        for of, group, kind, name, job in found
    }


def _one(job: Job) -> int:
    """Run one slice; its counts are the last line."""
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as folder:
        found = job(Path(folder))
    print(json.dumps(found), flush=True)
    return 0


def main() -> int:
    """Run, print, return the exit status."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("what", choices=("kills", "flips", "disk", "equal"))
    parser.add_argument("--count", type=int, help="kills of each sweep, or bits of each file")
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--jobs", type=int, default=1, help="slices at a time")
    parser.add_argument("--seconds", type=float, default=1e9, help="then stop")
    parser.add_argument("--table", type=Path, help="file of lines of JSON to go on with")
    parser.add_argument("--only", default="", help="slices whose name holds this")
    parser.add_argument("--slice", help="run this one here and print its counts")
    chosen = parser.parse_args()
    os.environ["PYTHONPATH"] = os.pathsep.join(filter(None, sys.path))
    count = chosen.count or (500 if chosen.what == "kills" else 200)
    known = slices(chosen.what, count, chosen.seed)
    if chosen.slice:
        return _one(known[chosen.slice][1])
    done = {tally.key(row) for row in tally.read(chosen.table)} if chosen.table else set()
    digest = tally.sources()
    rows = {
        name: row._replace(sources=digest)
        for name, (row, _) in known.items()
        if chosen.only in name and tally.key(row) not in done
    }
    words = [__file__, chosen.what, "--count", str(count), "--seed", str(chosen.seed)]
    bad, ended = False, 0
    for row in parallel.run(words, rows, chosen.jobs, chosen.seconds):
        tally.append(chosen.table, row)
        bad, ended = bad or bool(row.defects), ended + 1
        print(parallel.told(row), flush=True)
    print(f"{ended} slices ended, {len(rows) - ended} not, {len(known) - len(rows)} not asked")
    return int(bad)


if __name__ == "__main__":
    sys.exit(main())
