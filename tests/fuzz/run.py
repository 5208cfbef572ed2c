"""The long fuzz: ``python tests/fuzz/run.py --long --jobs 31 --seconds 540 --table FILE``.

Spoils files of every kind by seed, uses each as the program would, and prints how many came to
what; every defect with its kind and seed. The same seeds give the same files. Exit status 1 where
there is a defect. ``--files 1000`` takes so many of each kind instead, ``--kind`` and ``--group``
choose. ``--table`` gets a line for every fifty files as they end; called again with the same
table it goes on with what is missing there.
"""

from __future__ import annotations

import argparse
import os
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # this package, not another one
sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

import kinds
import outcomes
import tally
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
    parser.add_argument("--seconds", type=float, default=1e9, help="then stop")
    parser.add_argument("--table", type=Path, help="file of lines of JSON to go on with")
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


def _told(seen: workers.Seen, places: set[str], keep: Path | None) -> str:
    """Print a defect, its whole trace where the place is new, keep its file; return a line."""
    last = seen.said.strip().splitlines()[-1:] or [""]
    line = f"{seen.outcome}: {seen.kind} {seen.seed}: {last[0][:150]}"
    print(line, flush=True)
    where = "".join(line for line in seen.said.splitlines() if "File " in line)
    if where and where not in places:
        places.add(where)
        print(seen.said, flush=True)
    if keep is not None:
        kind = kinds.KINDS[seen.kind]
        keep.mkdir(parents=True, exist_ok=True)
        (keep / f"{seen.kind}-{seen.seed}-{kind.name}").write_bytes(kind.make(seen.seed))
    return line


def main() -> int:
    """Run, print the table, return the exit status."""
    chosen = _parser().parse_args()
    os.environ["PYTHONPATH"] = os.pathsep.join(filter(None, sys.path))
    begun, digest = time.monotonic(), tally.sources()
    done = {tally.key(row) for row in tally.read(chosen.table)} if chosen.table else set()
    rows = {
        (kind, first): tally.Row("FILES", kinds.KINDS[kind].group, kind, name, {}, digest)
        for kind, count in wanted(chosen).items()
        for start in range(0, count, SLICE)
        for first, size in [(chosen.seed + start, min(SLICE, count - start))]
        for name in [f"seeds {first} to {first + size - 1}"]
        if ("FILES", kind, name) not in done
    }
    sizes = {key: int(row.slice.split()[-1]) - key[1] + 1 for key, row in rows.items()}
    jobs = [(kind, first, sizes[kind, first]) for kind, first in rows]
    places: set[str] = set()
    defects: list[str] = []
    ended = []
    for seen in workers.run(jobs, chosen.jobs):
        key = (seen.kind, chosen.seed + (seen.seed - chosen.seed) // SLICE * SLICE)
        row = rows[key]
        row.counts[seen.outcome] = row.counts.get(seen.outcome, 0) + 1
        if seen.outcome not in outcomes.FINE:
            defects.append(_told(seen, places, chosen.keep))
            rows[key] = row = row._replace(defects=[*row.defects, defects[-1]])
        if sum(row.counts.values()) == sizes[key]:
            ended.append(row)
            tally.append(chosen.table, row)
        if time.monotonic() - begun > chosen.seconds:
            break
    print(tally.text(ended, brief=True))
    print(f"{len(ended)} slices ended, {len(rows) - len(ended)} not")
    return int(bool(defects))


if __name__ == "__main__":
    sys.exit(main())
