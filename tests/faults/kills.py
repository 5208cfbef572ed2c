"""Sweeps killed at random moments and started again until they end: nothing lost, nothing mixed."""

from __future__ import annotations

import random
import shutil
import sqlite3
import time
from collections import Counter
from contextlib import closing
from pathlib import Path

import inject
import sweeps


def rows_in(out: Path) -> int:
    """Return how many runs the journal of a folder holds."""
    path = out / "rows.sqlite"
    if not path.exists():
        return 0
    with closing(sqlite3.connect(path)) as connection:
        try:
            return int(connection.execute("SELECT COUNT(*) FROM checked").fetchone()[0])
        except sqlite3.OperationalError:  # killed before its table was made
            return 0


def killed(kind: str, folder: Path, count: int, seed: int) -> Counter[str]:
    """Return counts: kills that met a sweep at work, sweeps that ended, and whatever was wrong."""
    moments = random.Random(f"{kind}/{seed}")
    case, whole = sweeps.warmed(kind, folder)
    said = folder / "said"
    begun = time.monotonic()
    inject.in_a_child(sweeps.sweep(kind, case, folder / "timed"), said)
    longest = 1.05 * (time.monotonic() - begun)
    found: Counter[str] = Counter()
    number = kept = 0
    out = folder / "out0"
    while found["kills"] < count:
        moment = moments.uniform(0.0, longest)
        status = inject.in_a_child(sweeps.sweep(kind, case, out), said, moment)
        if any(data != whole[name] for name, data in sweeps.written(out).items()):
            found["half or other file"] += 1
        if status is None:
            found["kills"] += 1
            now = rows_in(out)
            if now < kept:
                found["rows lost"] += 1
            kept = now
            continue
        found["ended"] += 1
        text = said.read_text()
        if status != 0 or "Traceback" in text or "damaged" in text:
            found["ended badly"] += 1
            print(kind, status, text)
        if sweeps.written(out) != whole:
            found["not equal"] += 1
        if sweeps.parts_left(out):
            found["parts left"] += 1
        shutil.rmtree(out)
        number, kept = number + 1, 0
        out = folder / f"out{number}"
    return found
