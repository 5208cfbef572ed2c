"""Faults in numbers: ``python tests/faults/run.py kills --count 500``, ``flips``, ``disk``.

``--table FILE`` adds a line to a text file: the command and what it found. Exit status 1 where
anything was wrong. ``--every N`` tries only each N-th step of 4 kB.
"""

from __future__ import annotations

import argparse
import shlex
import sys
import tempfile
from collections import Counter
from collections.abc import Callable
from pathlib import Path

import flips
import full
import kills

FINE = {
    "kills", "ended", "enough", "one line, exit 1", "resumed equal", "named, made again",
    "same content", "refused in one line", "read as written", "compiled again, same answer",
}  # fmt: skip
SLICE = 50  # kills between two lines of the table
TEXTS = ("case", "profile", "track", "ringdown", "droop", "weigh", "sink", "cast", "beats",
         "results")  # fmt: skip


def _jobs(chosen: argparse.Namespace) -> dict[str, Callable[[Path], Counter[str]]]:
    count, seed, every = chosen.count, chosen.seed, chosen.every
    if chosen.what == "kills":
        return {
            f"kills of a {kind} sweep, {start + 1} on": lambda f, k=kind, s=start: kills.killed(
                k, f, min(SLICE, count - s), seed + s
            )
            for kind in chosen.kind or ("marched", "fast")
            for start in range(0, count, SLICE)
        }
    if chosen.what == "disk":
        return {
            "full disk, sweep": lambda f: full.of_sweep(f, every=every),
            "full disk, run": lambda f: full.of_run(f, every=every),
        }
    return {
        "bits of rows.sqlite": lambda f: flips.of_sweep_file(f, "rows.sqlite", count, seed),
        "bits of sweep.h5": lambda f: flips.of_sweep_file(f, "sweep.h5", count, seed),
        "bits of results.h5": lambda f: flips.of_results(f, count, seed),
        "bits of a lock": lambda f: flips.of_lock(f, count, seed),
        "bits of files.json": lambda f: flips.of_list(f, count, seed),
        "bits of compiled code": lambda f: flips.of_compiled(f, count, seed),
        **{
            f"bits of a {kind}": lambda f, k=kind: flips.of_text(k, f, count, seed)
            for kind in TEXTS
        },
    }


def main() -> int:
    """Run, print, return the exit status."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("what", choices=("kills", "flips", "disk"))
    parser.add_argument("--kind", choices=("marched", "fast"), action="append", help="of kills")
    parser.add_argument("--count", type=int, default=200, help="kills, or bits of each kind")
    parser.add_argument("--every", type=int, default=1, help="step of 4 kB")
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--table", type=Path, help="text file that gets a line")
    parser.add_argument("--only", help="a job whose name holds this")
    chosen = parser.parse_args()
    command = shlex.join(["python", "tests/faults/run.py", *sys.argv[1:]])
    bad = False
    for name, job in _jobs(chosen).items():
        if chosen.only and chosen.only not in name:
            continue
        with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as folder:
            found = job(Path(folder))
        bad |= bool(set(found) - FINE)
        line = f"{name}: " + ", ".join(f"{word} {count}" for word, count in found.items())
        print(line, flush=True)
        if chosen.table is not None:
            with chosen.table.open("a", encoding="utf-8") as file:
                file.write(f"{command}\n  {line}\n")
    return int(bad)


if __name__ == "__main__":
    sys.exit(main())
