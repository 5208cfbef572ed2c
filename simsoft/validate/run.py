"""``simsoft validate``: run the published checks, print the table, fail on any miss."""

from __future__ import annotations

import os
import signal
import sys
import warnings
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from contextlib import contextmanager
from multiprocessing import get_context
from pathlib import Path

from simsoft.core.errors import InputError
from simsoft.core.files import write_text
from simsoft.validate.check import Check, Run
from simsoft.validate.compare import CheckRow
from simsoft.validate.execute import execute
from simsoft.validate.load import load_checks
from simsoft.validate.locate import checks_directory
from simsoft.validate.table import checks_page, summary_of_checks, text_table

PAGE = "README.md"
THREAD_SETTINGS = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")
Say = Callable[[str], None]


class Stopped(KeyboardInterrupt):
    """The user stopped the checks.

    Attributes
    ----------
    rows : list of CheckRow, of the checks that had ended
    told : str, their closing line
    """

    def __init__(self, rows: Sequence[CheckRow], told: str = "") -> None:
        super().__init__()
        self.rows, self.told = list(rows), told


def check_published(ids: Sequence[str], write: bool) -> tuple[str, bool]:
    """Run published checks.

    Parameters
    ----------
    ids : sequence of str, ids of the wanted checks; empty for all
    write : bool, also rewrite ``README.md`` beside the checks, which needs all of them

    Returns
    -------
    table : str
    passed : bool, whether every value that was checked lies within its tolerance; not where an
        extra lacks for all of them

    Raises
    ------
    InputError
        If an id is unknown, a check file is wrong, or ``write`` is asked for with some ids only.
    OutputError
        If the page cannot be written.
    Stopped
        If the user stops it; ``told`` sums up what ran.
    """
    if ids and write:
        raise InputError("--write writes the table of all checks; give no ids with it")
    directory = checks_directory()
    checks = load_checks(directory, ids)
    try:
        rows = run_checks(checks, _say)
    except Stopped as stop:
        done = [check for check in checks if any(r.identity == check.identity for r in stop.rows)]
        ran_so_far = f"stopped, {len(done)} of {len(checks)} checks ran"
        stop.told = f"{summary_of_checks(done, stop.rows)}; {ran_so_far}"
        raise
    ran = [row for row in rows if not row.skipped]
    if write:
        if len(ran) < len(rows):
            raise InputError("--write needs every check; some were skipped for want of an extra")
        _write(directory, checks, rows)
    return text_table(checks, rows), bool(ran) and all(row.passed for row in ran)


def run_checks(checks: Sequence[Check], say: Say | None = None) -> list[CheckRow]:
    """Return the rows of all checks in order, run on all cores.

    Parameters
    ----------
    checks : sequence of Check
    say : function of one line of progress, called as each check ends

    Raises
    ------
    Stopped
        If the user stops it; the processes are ended at once.
    """
    jobs: list[tuple[Check, Run]] = [(check, run) for check in checks for run in check.runs]
    left = {check.identity: len(check.runs) for check in checks}
    found: dict[str, dict[int, list[CheckRow]]] = {check.identity: {} for check in checks}

    def ended() -> list[CheckRow]:
        """Return the rows of the checks that have ended, in order."""
        whole = [c.identity for c in checks if not left[c.identity]]
        return [row for name in whole for k in sorted(found[name]) for row in found[name][k]]

    with _one_thread_each():
        workers = min(os.cpu_count() or 1, len(jobs))
        spawn = get_context("spawn")
        pool = ProcessPoolExecutor(workers, mp_context=spawn, initializer=_begin)
        try:
            numbers = {pool.submit(_work, job): k for k, job in enumerate(jobs)}
            for future in as_completed(numbers):
                check = jobs[numbers[future]][0]
                found[check.identity][numbers[future]] = future.result()
                left[check.identity] -= 1
                if say is not None and not left[check.identity]:
                    own = [row for rows in found[check.identity].values() for row in rows]
                    count = f"{sum(not n for n in left.values())} of {len(checks)}"
                    say(f"{count}: {check.identity} {check.title}: {_state(own)}")
        except BaseException as error:
            for process in list((pool._processes or {}).values()):  # a condition may take minutes
                process.terminate()
            if isinstance(error, KeyboardInterrupt):
                raise Stopped(ended()) from None
            raise
        finally:
            pool.shutdown(wait=True, cancel_futures=True)
    return ended()


def _state(own: Sequence[CheckRow]) -> str:
    """Return how a check ended."""
    missed = sum(not row.passed for row in own if not row.skipped)
    if own and own[0].skipped:
        return own[0].reason
    return f"{missed} of {len(own)} values missed" if missed else "ok"


def _begin() -> None:
    """Leave Ctrl-C to the parent, and what libraries warn of unsaid: a check tells its misses."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    warnings.simplefilter("ignore")


def _work(job: tuple[Check, Run]) -> list[CheckRow]:
    return execute(*job)


@contextmanager
def _one_thread_each() -> Iterator[None]:
    """Let processes started in the block do linear algebra on one thread.

    Every core already has a process; more threads on small matrices wait for each other.
    """
    before = {name: os.environ.get(name) for name in THREAD_SETTINGS}
    os.environ.update(dict.fromkeys(THREAD_SETTINGS, "1"))
    try:
        yield
    finally:
        for name, value in before.items():
            if value is None:
                del os.environ[name]
            else:
                os.environ[name] = value


def _write(directory: Path, checks: Sequence[Check], rows: Sequence[CheckRow]) -> None:
    write_text(directory / PAGE, checks_page(checks, rows))


def _say(line: str) -> None:
    print(line, file=sys.stderr, flush=True)
