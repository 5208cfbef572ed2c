"""The long fuzz: ``python tests/fuzz/run.py --long --jobs 2 --table tests/fuzz/counts.txt``.

Spoils files of every kind by seed, uses each as the program would, and prints how many came to
what; every defect with its kind and seed. The same seeds give the same files. Exit status 1 where
there is a defect. ``--files 1000`` takes so many of each kind instead, ``--kind`` and ``--group``
choose, ``--add`` adds to the counts of an earlier table, so that a long run can go in slices.
"""

from __future__ import annotations

import argparse
import json
import shlex
import sys
from collections import Counter
from pathlib import Path

import kinds
import outcomes
import workers

SLICE = 50  # files handed to a worker at a time


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--long", action="store_true", help=f"the long run: {kinds.LONG}")
    parser.add_argument("--files", type=int, default=1000, help="of each kind")
    parser.add_argument("--share", type=float, default=1.0, help="of the files asked for")
    parser.add_argument("--seed", type=int, default=0, help="of the first file of each kind")
    parser.add_argument("--kind", choices=tuple(kinds.KINDS), action="append")
    parser.add_argument("--group", choices=tuple(kinds.LONG), action="append")
    parser.add_argument("--jobs", type=int, default=1, help="processes")
    parser.add_argument("--keep", type=Path, help="folder for the files with defects")
    parser.add_argument("--table", type=Path, help="text file for the counts")
    parser.add_argument("--add", action="store_true", help="to the counts in --table")
    return parser


def wanted(chosen: argparse.Namespace) -> dict[str, int]:
    """Return how many files of each kind are asked for."""
    found = dict.fromkeys(kinds.KINDS, chosen.files)
    if chosen.long:
        found = {}
        for group, files in kinds.LONG.items():
            found |= kinds.shares(group, files)
    named = set(chosen.kind or kinds.KINDS)
    groups = set(chosen.group or kinds.LONG)
    return {
        kind: max(1, round(chosen.share * count))
        for kind, count in found.items()
        if kind in named and kinds.KINDS[kind].group in groups
    }


def _told(seen: workers.Seen, places: set[str], keep: Path | None) -> None:
    """Print a defect, its whole trace where the place is new, and keep its file."""
    last = seen.said.strip().splitlines()[-1:] or [""]
    print(f"{seen.outcome}: {seen.kind} {seen.seed}: {last[0][:150]}", flush=True)
    where = "".join(line for line in seen.said.splitlines() if "File " in line)
    if where and where not in places:
        places.add(where)
        print(seen.said, flush=True)
    if keep is not None:
        kind = kinds.KINDS[seen.kind]
        keep.mkdir(parents=True, exist_ok=True)
        (keep / f"{seen.kind}-{seen.seed}-{kind.name}").write_bytes(kind.make(seen.seed))


def _earlier(path: Path | None) -> tuple[dict[str, Counter[str]], list[str]]:
    """Return the counts and commands of an earlier table."""
    beside = None if path is None else path.with_suffix(".json")
    if beside is None or not beside.exists():
        return {}, []
    body = json.loads(beside.read_text())
    return {kind: Counter(row) for kind, row in body["counts"].items()}, body["commands"]


def _write(path: Path, counts: dict[str, Counter[str]], commands: list[str]) -> None:
    said = [*commands, "", outcomes.table(counts), ""]
    path.write_text("\n".join(said))
    body = {"commands": commands, "counts": counts}
    path.with_suffix(".json").write_text(json.dumps(body, indent=1) + "\n")


def main() -> int:
    """Run, print the table, return the exit status."""
    chosen = _parser().parse_args()
    counts, commands = _earlier(chosen.table) if chosen.add else ({}, [])
    commands.append(shlex.join(["python", "tests/fuzz/run.py", *sys.argv[1:]]))
    jobs = [
        (kind, chosen.seed + start, min(SLICE, count - start))
        for kind, count in wanted(chosen).items()
        for start in range(0, count, SLICE)
    ]
    places: set[str] = set()
    bad = 0
    for number, seen in enumerate(workers.run(jobs, chosen.jobs), 1):
        counts.setdefault(seen.kind, Counter())[seen.outcome] += 1
        if seen.outcome not in outcomes.FINE:
            bad += 1
            _told(seen, places, chosen.keep)
        if chosen.table is not None and number % 1000 == 0:
            _write(chosen.table, counts, commands)
    if chosen.table is not None:
        _write(chosen.table, counts, commands)
    print(outcomes.table(counts))
    return int(bad > 0)


if __name__ == "__main__":
    sys.exit(main())
