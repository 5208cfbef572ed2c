"""Counts of long runs: a line of JSON for every slice that is done, merged and told as tables.

``python tests/tally.py --merge A.jsonl B.jsonl`` adds the lines of tables made elsewhere to
``tests/fuzz/counts.jsonl`` and writes ``counts.txt`` anew. A slice that stands in several tables
counts once: the one read last. Without ``--merge`` only the text is written anew. Exit status 1
where a slice found a defect.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import os
import sys
from collections import Counter
from collections.abc import Iterable
from pathlib import Path
from typing import NamedTuple

HERE = Path(__file__).parent
COUNTS = HERE / "fuzz" / "counts.jsonl"
FINE = {
    "measured", "meshed", "understood", "refused", "read",
    "kills", "ended", "enough", "one line, exit 1", "resumed equal", "named, made again",
    "same content", "refused in one line", "read as written", "compiled again, same answer",
    "equal",
}  # fmt: skip
ANSWER = "answer "  # and a digest
# What the long runs ask for: of the kinds that begin with a word, so many of a count.
ASKED = {
    "FILES": {
        "csv": 50_000,
        "case": 20_000,
        "drawing": 2_000,
        "mesh": 400,
        "clip": 500,
        "lock": 5_000,
        "profile": 5_000,
    },
    "KILLS": {"marched": 500, "fast": 500},
    "TURNED BITS": {"each file": 200},
    "FULL DISK": {"sweep": "every 4 kB", "run": "every 4 kB"},
    "BIT-EQUAL": {"each demo": "a run and a sweep"},
}


class Row(NamedTuple):
    """What one slice of a long run found.

    Attributes
    ----------
    what : str, a key of ASKED
    group : str, such as 'csv' or 'marched'
    kind : str, such as 'track'
    slice : str, says which files or moments; the same words mean the same slice
    counts : outcomes
    sources : str, digest of the package's sources, see `sources`
    defects : list of str, one for each count that is no good
    """

    what: str
    group: str
    kind: str
    slice: str
    counts: dict[str, int]
    sources: str = ""
    defects: list[str] = []  # noqa: RUF012  never changed


def sources() -> str:
    """Return the first digits of a digest over every module of the package."""
    package = HERE.parent / "simsoft"
    digest = hashlib.sha256()
    for path in sorted(package.rglob("*.py")):
        digest.update(path.relative_to(package).as_posix().encode() + path.read_bytes())
    return digest.hexdigest()[:8]


def fine(word: str) -> bool:
    """Tell whether an outcome is no defect; answers are compared when a table is written."""
    return word in FINE or word.startswith(ANSWER)


def key(row: Row) -> tuple[str, str, str]:
    """Return what tells slices apart."""
    return row.what, row.kind, row.slice


def read(path: Path) -> list[Row]:
    """Return the rows of a table; a line that a kill left half is none."""
    found = []
    for line in path.read_text(encoding="utf-8").splitlines() if path.exists() else []:
        try:
            found.append(Row(**json.loads(line)))
        except (ValueError, TypeError):
            continue
    return found


def line(row: Row) -> str:
    """Return a row as a line of a table."""
    return json.dumps(row._asdict(), ensure_ascii=False) + "\n"


def append(path: Path | None, row: Row) -> None:
    """Add a row to a table at once, so that nothing done is lost."""
    if path is None:
        return
    with path.open("a", encoding="utf-8") as file:
        file.write(line(row))
        file.flush()
        os.fsync(file.fileno())


def merged(tables: Iterable[list[Row]]) -> list[Row]:
    """Return the rows of several tables, each slice once, the last one of it."""
    return sorted({key(row): row for table in tables for row in table}.values(), key=key)


def _table(rows: list[Row]) -> list[str]:
    """Return the lines of a table, a kind a line."""
    kinds: dict[str, Counter[str]] = {}
    for row in rows:
        kinds.setdefault(row.kind, Counter()).update(row.counts)
    heads = sorted(
        {w for counts in kinds.values() for w in counts}, key=lambda w: (w not in FINE, w)
    )
    lines = [f"| kind | {' | '.join(heads)} |", "| --- " * (len(heads) + 1) + "|"]
    for kind, counts in kinds.items():
        lines.append(f"| {kind} | " + " | ".join(str(counts[word]) for word in heads) + " |")
    return lines


def reached(rows: list[Row], what: str, group: str) -> int:
    """Return how many files, kills or bits of a group were tried."""
    chosen = [row.counts for row in rows if (row.what, row.group) == (what, group)]
    if what == "KILLS":
        return sum(counts.get("kills", 0) for counts in chosen)
    return sum(sum(counts.values()) for counts in chosen)


def compared(rows: Iterable[Row]) -> list[Row]:
    """Return rows whose answers are told as equal to the first of their kind or different."""
    first: dict[str, str] = {}
    found = []
    for row in rows:
        words = [word for word in row.counts if word.startswith(ANSWER)]
        same = all(first.setdefault(row.kind, word) == word for word in words)
        if words:
            told = [] if same else ["different: another answer than the first"]
            row = row._replace(counts={"equal" if same else "different": 1}, defects=told)
        found.append(row)
    return found


def text(rows: list[Row], brief: bool = False) -> str:
    """Return the counts as tables, with what was asked for; ``brief`` only what there is."""
    lines = [
        "Counts of the long runs, written by tests/tally.py from counts.jsonl. README.md has the",
        "commands.",
    ]
    for what, groups in ASKED.items():
        chosen = compared(row for row in rows if row.what == what)
        if not chosen and brief:
            continue
        lines += ["", what, ""]
        for group, asked in groups.items():
            if isinstance(asked, int) and group != "each file":
                lines.append(f"{group}: {reached(rows, what, group):,} of {asked:,}")
            else:
                lines.append(f"asked of {group}: {asked}")
        lines += ["", *(_table(chosen) if chosen else ["not run"])]
        lines += [f"  {row.kind}, {row.slice}: {told}" for row in chosen for told in row.defects]
    used = Counter(row.sources for row in rows)
    said = ", ".join(f"{digest or 'earlier'} ({count})" for digest, count in sorted(used.items()))
    return "\n".join([*lines, "", f"Slices by digest of the sources: {said or 'none'}.", ""])


def main() -> int:
    """Merge, write both files, print the text, return the exit status."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--merge", type=Path, nargs="*", default=[], help="tables made elsewhere")
    parser.add_argument("--into", type=Path, default=COUNTS, help="table that gets their lines")
    chosen = parser.parse_args()
    rows = merged(read(path) for path in (chosen.into, *chosen.merge))
    chosen.into.write_text("".join(map(line, rows)), encoding="utf-8")
    chosen.into.with_suffix(".txt").write_text(text(rows), encoding="utf-8")
    print(text(rows), end="")
    return int(any(row.defects for row in compared(rows)))


if __name__ == "__main__":
    sys.exit(main())
