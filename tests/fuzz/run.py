"""The long fuzz: ``python tests/fuzz/run.py --files 5000 [--kind track] [--seed 0] [--keep DIR]``.

Prints a table of outcomes by kind and, for every defect, its kind and seed; the same seeds give
the same files. Exit status 1 where there is a defect.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from collections import Counter
from pathlib import Path

import mutations
import outcomes

import cases

KINDS = (*mutations.SEEDS, *cases.KINDS)


def one(kind: str, seed: int, folder: Path) -> tuple[str, str]:
    """Return the outcome of one spoilt file and what was said."""
    if kind in cases.KINDS:
        path = folder / "case.toml"
        path.write_bytes(cases.mutated(kind, seed))
        return outcomes.of_case(path)
    path = folder / "file.csv"
    path.write_bytes(mutations.mutated(kind, seed))
    return outcomes.of_measurement(path, folder)


def main() -> int:
    """Run, print the table, return the exit status."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--files", type=int, default=1000, help="of each kind")
    parser.add_argument("--seed", type=int, default=0, help="of the first file")
    parser.add_argument("--kind", choices=KINDS, action="append", help="only this kind")
    parser.add_argument("--keep", type=Path, help="folder for the files with defects")
    chosen = parser.parse_args()
    counts: dict[str, Counter[str]] = {}
    seen: set[str] = set()
    with tempfile.TemporaryDirectory() as name:
        for kind in chosen.kind or KINDS:
            row = counts.setdefault(kind, Counter())
            for seed in range(chosen.seed, chosen.seed + chosen.files):
                outcome, said = one(kind, seed, Path(name))
                row[outcome] += 1
                if outcome in outcomes.FINE:
                    continue
                last = said.strip().splitlines()[-1:] or [""]
                print(f"{outcome}: {kind} {seed}: {last[0][:150]}", flush=True)
                where = "".join(line for line in said.splitlines() if "File " in line)
                if where not in seen:
                    seen.add(where)
                    print(said, flush=True)
                if chosen.keep is not None:
                    chosen.keep.mkdir(parents=True, exist_ok=True)
                    data = next(Path(name).glob("case.toml" if kind in cases.KINDS else "file.csv"))
                    (chosen.keep / f"{kind}-{seed}-{data.name}").write_bytes(data.read_bytes())
    print(outcomes.table(counts))
    return int(any(set(row) - set(outcomes.FINE) for row in counts.values()))


if __name__ == "__main__":
    sys.exit(main())
