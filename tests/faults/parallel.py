"""Slices of the long fault runs, each in a process of its own, several at a time, until time is up.

A slice that ends the process by a signal or never ends is a defect of its own, not the end of all.
"""

from __future__ import annotations

import contextlib
import json
import os
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence

import tally

STUCK = 1500.0  # [s], of one slice, then it counts as a hang
SAID = 800  # characters kept of what a slice printed


class _Slice:
    """One slice at work."""

    def __init__(self, name: str, words: Sequence[str]) -> None:
        self.name, self.since = name, time.monotonic()
        self.said = tempfile.TemporaryFile("w+", encoding="utf-8", errors="replace")  # noqa: SIM115
        self.process = subprocess.Popen(
            [sys.executable, *words, "--slice", name],
            stdout=self.said,
            stderr=subprocess.STDOUT,
            start_new_session=True,
        )

    def end(self) -> None:
        """Stop it and its children, first so that it gives back its disks."""
        for sign in (signal.SIGINT, signal.SIGINT, signal.SIGKILL):  # one may end a command only
            with contextlib.suppress(ProcessLookupError, subprocess.TimeoutExpired):
                os.killpg(self.process.pid, sign)
                self.process.wait(5.0)

    def row(self, empty: tally.Row, hung: bool) -> tally.Row:
        """Return what it found; the last line it printed is its counts."""
        if hung:
            self.end()
        self.said.seek(0)
        said = self.said.read().strip()
        before, _, last = said.rpartition("\n")
        try:
            counts = dict(json.loads(last))
        except ValueError:
            status = self.process.returncode
            counts, before = {"hang" if hung else "crash": 1}, f"exit status {status}: {said}"
        bad = sorted(word for word in counts if not tally.fine(word))
        defects = [f"{', '.join(bad)}: {before[-SAID:]}"] if bad else []
        return empty._replace(counts=counts, defects=defects)


def run(
    words: Sequence[str], rows: dict[str, tally.Row], jobs: int, seconds: float
) -> Iterator[tally.Row]:
    """Yield the rows of slices as they end.

    Parameters
    ----------
    words : of the command that runs one slice when ``--slice NAME`` is added
    rows : empty rows by the name of the slice
    jobs : int, slices at a time
    seconds : float, then slices at work are stopped and count for nothing
    """
    begun = time.monotonic()
    waiting = list(rows)[::-1]
    working: list[_Slice] = []
    try:
        while (waiting or working) and time.monotonic() - begun < seconds:
            while waiting and len(working) < jobs:
                working.append(_Slice(waiting.pop(), words))
            time.sleep(0.05)
            for one in list(working):
                hung = time.monotonic() - one.since > STUCK
                if hung or one.process.poll() is not None:
                    working.remove(one)
                    yield one.row(rows[one.name], hung)
    finally:
        for one in working:
            one.end()


def told(row: tally.Row) -> str:
    """Return one line, and the defects behind it."""
    counts = ", ".join(f"{word} {count}" for word, count in row.counts.items())
    return "\n  ".join([f"{row.kind}, {row.slice}: {counts}", *row.defects])
