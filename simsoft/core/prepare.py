"""Compile, before a run asks for them, the kernels that its questions are known to need.

The table ``kernels.json`` holds every kernel that Python calls, with its types, the questions that
need it and the processor time that compiling it took where the table was written. Kernels are
independent of each other, so every core compiles its own. What the table lacks is compiled when it
is called, as without it; what it has too much costs time and nothing else. ``python
benchmarks/kernel_table.py`` writes it.
"""

from __future__ import annotations

import importlib
import json
import multiprocessing
import signal
import time
from collections.abc import Callable, Collection
from concurrent.futures import FIRST_COMPLETED, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from pathlib import Path
from typing import Any, NamedTuple

from simsoft.core.signatures import Text, type_of

TABLE = Path(__file__).with_name("kernels.json")
START = 4.0  # [s] of the table's machine that a process takes to come up
# Every process compiles for itself what kernels share: what took 32 s of processor time in one
# process took 45 s in two, on the same busy machine; computed here.
SHARED = 1.4
TICK = 2.0  # [s] between two words on what is left


class Wanted(NamedTuple):
    """A kernel to compile.

    Attributes
    ----------
    name : str, ``module:function`` inside the package
    arguments : list of text, see ``signatures``
    seconds : float [s], what compiling it took where the table was written
    """

    name: str
    arguments: list[Text]
    seconds: float

    @property
    def kernel(self) -> Any:
        """The kernel itself."""
        module, function = self.name.split(":")
        return getattr(importlib.import_module(f"simsoft.{module}"), function)

    @property
    def signature(self) -> tuple[Any, ...]:
        """The types it is called with."""
        return tuple(type_of(text) for text in self.arguments)


def not_compiled(questions: Collection[str] | None = None) -> list[Wanted]:
    """Return what is not compiled yet of what some questions need, the longest first.

    ``None`` asks for every kernel of the table.
    """
    rows = json.loads(TABLE.read_text(encoding="utf-8"))
    wanted = [
        Wanted(row["kernel"], row["arguments"], row["seconds"])
        for row in rows
        if questions is None or not set(questions).isdisjoint(row["for"])
    ]
    return sorted((one for one in wanted if not _is_kept(one)), key=lambda one: -one.seconds)


def _is_kept(wanted: Wanted) -> bool:
    kernel = wanted.kernel
    cache = kernel._cache
    key = cache._index_key(wanted.signature, kernel.targetctx.codegen())
    return key in cache._cache_file._load_index()


def expected(wanted: list[Wanted], workers: int, slow: float = 1.0) -> float:
    """Return the time [s] that compiling takes, ``slow`` times that of the table's machine."""
    if not wanted:
        return 0.0
    shared = sum(one.seconds for one in wanted) / workers
    return slow * (START + SHARED * max(shared, max(one.seconds for one in wanted)))


def seconds_left(
    spent: float, done: float, under_way: float, whole: float, promised: float
) -> float:
    """Return the time [s] left: what was promised, or more where the pace so far says so.

    Parameters
    ----------
    spent : float [s], since the start
    done, under_way, whole : float [s] of the table; half of what is under way counts as done
    promised : float [s], for all of it
    """
    reached = done + 0.5 * under_way
    pace = spent * (whole - reached) / reached if reached > 0.0 else 0.0
    return max(promised - spent, pace)


def prepare(
    wanted: list[Wanted],
    workers: int,
    report: Callable[[str, float, float | None], None],
    promised: float = 0.0,
) -> None:
    """Compile kernels into the cache, every worker its own.

    Parameters
    ----------
    wanted : list of Wanted
    workers : int, processes
    report : function of the kernel that is ready, the share of all work done (0..1) and the time
        [s] that is left, None before there is a pace; called every ``TICK`` at least
    promised : float [s], how long it was said to take; what is left is never less than that says

    Where a worker is lost, to a lack of memory say, the rest is left to the run.
    """
    whole = sum(one.seconds for one in wanted)
    begun, done = time.monotonic(), 0.0
    report(_short(wanted[0].name), 0.0, None)
    context = multiprocessing.get_context("spawn")
    pool = ProcessPoolExecutor(min(workers, len(wanted)), mp_context=context, initializer=_deaf)
    try:
        jobs = {pool.submit(_compile, one): one for one in wanted}
        waiting, name = set(jobs), _short(wanted[0].name)
        while waiting:
            ended, waiting = wait(waiting, TICK, FIRST_COMPLETED)
            for job in ended:
                job.result()
                done += jobs[job].seconds
                name = _short(jobs[job].name)
            under_way = [one.seconds for job, one in jobs.items() if job in waiting][:workers]
            spent = time.monotonic() - begun
            left = seconds_left(spent, done, sum(under_way), whole, promised)
            report(name, done / whole, left if waiting else 0.0)
    except BrokenProcessPool:
        return
    except BaseException:
        for process in list(pool._processes.values()):  # a kernel may take half a minute
            process.terminate()
        raise
    finally:
        pool.shutdown(wait=True, cancel_futures=True)


def _short(name: str) -> str:
    return name.split(":")[1].replace("_", " ")


def _deaf() -> None:
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the parent hears it and ends the pool


def _compile(wanted: Wanted) -> None:
    wanted.kernel.compile(wanted.signature)
