"""Runs on all cores: tasks out, rows back as they come, whatever happens to a worker."""

from __future__ import annotations

import itertools
import multiprocessing
import os
import signal
import threading
import warnings
from collections.abc import Generator, Iterable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from functools import lru_cache
from typing import TYPE_CHECKING

from simsoft.core.errors import SimsoftError
from simsoft.design.sweep.row import FAILED, Row
from simsoft.design.sweep.task import BaseCase, Task, solve_task

if TYPE_CHECKING:
    from threadpoolctl import ThreadpoolController

Job = tuple[str, Task]  # key and task

AHEAD = 3  # chunks under way for each worker
NO_WORKERS = (
    "no worker process comes up; a script that sweeps needs its calls below "
    'if __name__ == "__main__":, or workers=1'
)
DIED = "the worker process died on this design (out of memory, or a defect)"


def solve_chunk(base: BaseCase, jobs: Sequence[Job]) -> list[Row]:
    """Return the rows of some tasks; runs in a worker."""
    # one thread in the algebra: the processes already fill the cores
    with _algebra().limit(limits=1, user_api="blas"):
        return [solve_task(base, task, key) for key, task in jobs]


@lru_cache(maxsize=1)
def _algebra() -> ThreadpoolController:
    """Return the libraries with threads of their own; looking for them takes milliseconds."""
    import scipy.linalg  # noqa: F401  its library must be loaded to be found
    from threadpoolctl import ThreadpoolController

    return ThreadpoolController()


def run_jobs(
    base: BaseCase, jobs: Iterable[Job], workers: int, chunk: int, kernel: str = ""
) -> Iterator[list[Row]]:
    """Yield the rows of the jobs in chunks, in the order in which they are done.

    Parameters
    ----------
    base : BaseCase
    jobs : iterable of key and task, taken only as fast as they are solved
    workers : int, processes; 1 solves in this process
    chunk : int, jobs handed to a worker at a time
    kernel : str, name of a kernel whose absence from the cache asks for compiling first
    """
    chunks: Iterator[Sequence[Job]] = chunks_of(jobs, chunk)
    if workers == 1:
        for part in chunks:
            yield solve_chunk(base, part)
        return
    from simsoft.core.compiled import is_cold

    if is_cold(kernel):
        # compiled once here and kept, not by every worker at the same time
        for part in itertools.islice(chunks, 1):
            yield solve_chunk(base, part[:1])
            chunks = itertools.chain([part[1:]], chunks)
    while True:
        lost = yield from _round(base, chunks, workers)
        if not lost:
            return
        if not _comes_up(base):
            raise SimsoftError(NO_WORKERS)
        # Which job killed the worker is not known: each that was under way goes alone.
        for job in itertools.chain.from_iterable(lost):
            yield [_alone(base, job)]


def chunks_of(jobs: Iterable[Job], size: int) -> Iterator[Sequence[Job]]:
    """Yield jobs in tuples of at most ``size``, taken as they are asked for."""
    source = iter(jobs)
    while part := tuple(itertools.islice(source, size)):
        yield part


def _round(
    base: BaseCase, chunks: Iterator[Sequence[Job]], workers: int
) -> Generator[list[Row], None, list[Sequence[Job]]]:
    """Yield rows until the chunks are done or a worker dies; return the chunks then lost."""
    pending: dict[Future[list[Row]], Sequence[Job]] = {}
    pool = _pool(workers)
    lost: list[Sequence[Job]] = []
    try:
        more = True
        while more or pending:
            while more and not lost and len(pending) < AHEAD * workers:
                part = next(chunks, None)
                if part is None:
                    more = False
                    break
                try:
                    pending[_submit(pool, base, part)] = part
                except BrokenProcessPool:
                    lost.append(part)
            if not pending:
                break
            done, _ = wait(pending, return_when=FIRST_COMPLETED)
            for future in done:
                part = pending.pop(future)
                try:
                    rows = future.result()
                except BrokenProcessPool:
                    lost.append(part)
                    continue
                yield rows
        return lost
    except BaseException:
        # Ctrl-C, or nobody asks for more rows: a design may take minutes and is not waited for
        for process in list((pool._processes or {}).values()):
            process.terminate()
        raise
    finally:
        pool.shutdown(wait=True, cancel_futures=True)


def _comes_up(base: BaseCase) -> bool:
    """Tell whether a worker with nothing to solve comes up at all."""
    with _pool(1) as pool:
        try:
            return _submit(pool, base, []).result() == []
        except BrokenProcessPool:
            return False


def _alone(base: BaseCase, job: Job) -> Row:
    """Return the row of a job in a process of its own, tried once more."""
    with _pool(1) as pool:
        try:
            return _submit(pool, base, [job]).result()[0]
        except BrokenProcessPool:
            return Row(job[0], FAILED, DIED)


def _submit(pool: ProcessPoolExecutor, base: BaseCase, jobs: Sequence[Job]) -> Future[list[Row]]:
    """Hand jobs to a pool, which may start a worker for them.

    A worker takes over what of its parent is blocked: Ctrl-C, which the terminal sends to all,
    then leaves it alone from its first instruction on. The parent gets it a moment later.
    """
    if not hasattr(signal, "pthread_sigmask"):
        return pool.submit(solve_chunk, base, jobs)
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        return pool.submit(solve_chunk, base, jobs)
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def _pool(workers: int) -> ProcessPoolExecutor:
    # Spawned, not forked: compiled code and its threads do not survive a fork everywhere.
    context = multiprocessing.get_context("spawn")
    return ProcessPoolExecutor(workers, mp_context=context, initializer=_begin)


def _begin() -> None:
    """Make a worker leave when its parent is gone, leave Ctrl-C to it, and keep libraries quiet."""
    warnings.simplefilter("ignore")
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    parent = multiprocessing.parent_process()
    if parent is not None:
        threading.Thread(target=_leave_after, args=(parent,), daemon=True).start()


def _leave_after(parent: multiprocessing.process.BaseProcess) -> None:
    parent.join()
    os._exit(1)
