"""Spoilt files tried in processes of their own: a crash or a hang ends none but one file."""

from __future__ import annotations

import multiprocessing
import resource
import tempfile
import time
from collections.abc import Iterator
from multiprocessing.connection import Connection, wait
from pathlib import Path
from typing import NamedTuple

STUCK = 120.0  # [s] of the clock without a word: a hang that no signal of Python ends
MEMORY = 6 << 30  # bytes of address space a worker may take
Job = tuple[str, int, int]  # kind, first seed, files


class Seen(NamedTuple):
    """What became of one file."""

    kind: str
    seed: int
    outcome: str
    said: str


def _work(pipe: Connection) -> None:
    """Try the files of one job after the other; say which one is next before it is tried."""
    import kinds

    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    with tempfile.TemporaryDirectory() as name:
        while (job := pipe.recv()) is not None:
            kind, first, count = job
            for seed in range(first, first + count):
                pipe.send(Seen(kind, seed, "", ""))
                pipe.send(Seen(kind, seed, *kinds.one(kind, seed, Path(name))))
            pipe.send(None)


class _Worker:
    """A process, what it works on, and since when."""

    def __init__(self) -> None:
        context = multiprocessing.get_context("spawn")
        self.pipe, other = context.Pipe()
        self.process = context.Process(target=_work, args=(other,), daemon=True)
        self.process.start()
        other.close()
        self.job: Job | None = None
        self.on: Seen | None = None
        self.since = time.monotonic()

    def give(self, job: Job | None) -> None:
        self.job, self.on, self.since = job, None, time.monotonic()
        if job is not None:
            self.pipe.send(job)

    def end(self) -> None:
        self.process.kill()
        self.process.join()
        self.pipe.close()


def run(jobs: list[Job], processes: int) -> Iterator[Seen]:
    """Yield what became of every file, in the order in which they are done."""
    waiting = jobs[::-1]
    workers = [_Worker() for _ in range(min(processes, len(jobs)))]
    try:
        for worker in workers:
            worker.give(waiting.pop() if waiting else None)
        while any(worker.job for worker in workers):
            ready = wait([w.pipe for w in workers if w.job], timeout=1.0)
            for number, worker in enumerate(workers):
                lost = ""
                if worker.job is None:
                    continue
                if worker.pipe in ready:
                    try:
                        seen = worker.pipe.recv()
                    except (EOFError, ConnectionError):
                        lost = "crash"
                    else:
                        worker.since = time.monotonic()
                        if seen is None:
                            worker.give(waiting.pop() if waiting else None)
                        elif seen.outcome:
                            yield seen
                        else:
                            worker.on = seen
                elif time.monotonic() - worker.since > STUCK:
                    lost = "stuck"
                if lost:
                    kind, first, count = worker.job
                    seed = first if worker.on is None else worker.on.seed
                    worker.end()
                    yield Seen(kind, seed, lost, f"exit status {worker.process.exitcode}")
                    workers[number] = fresh = _Worker()
                    rest = first + count - seed - 1
                    fresh.give(
                        (kind, seed + 1, rest) if rest else waiting.pop() if waiting else None
                    )
    finally:
        for worker in workers:
            worker.end()
