"""``simsoft validate``: run the published checks, print the table, fail on any miss."""

from __future__ import annotations

import os
import sys
import warnings
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
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
from simsoft.validate.table import page, text_table

PAGE = "README.md"
THREAD_SETTINGS = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")
Say = Callable[[str], None]


def validate(ids: Sequence[str], write: bool) -> tuple[str, bool]:
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
    """
    if ids and write:
        raise InputError("--write writes the table of all checks; give no ids with it")
    directory = checks_directory()
    checks = load_checks(directory, ids)
    rows = run_checks(checks, _say)
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
    """
    jobs: list[tuple[Check, Run]] = [(check, run) for check in checks for run in check.runs]
    left = {check.identity: len(check.runs) for check in checks}
    rows: dict[str, list[CheckRow]] = {check.identity: [] for check in checks}
    with _one_thread_each():
        workers = min(os.cpu_count() or 1, len(jobs))
        spawn = get_context("spawn")
        pool = ProcessPoolExecutor(workers, mp_context=spawn, initializer=_without_warnings)
        try:
            for (check, _), found in zip(jobs, pool.map(_work, jobs), strict=True):
                rows[check.identity] += found
                left[check.identity] -= 1
                if say is not None and left[check.identity] == 0:
                    own = rows[check.identity]
                    missed = sum(not row.passed for row in own if not row.skipped)
                    state = f"{missed} of {len(own)} values missed" if missed else "ok"
                    state = own[0].reason if own and own[0].skipped else state
                    say(f"{check.identity} {check.title}: {state}")
        finally:
            pool.shutdown(wait=True, cancel_futures=True)
    return [row for check in checks for row in rows[check.identity]]


def _without_warnings() -> None:
    """Keep what libraries warn of in a worker off the terminal; a check tells what it missed."""
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
    write_text(directory / PAGE, page(checks, rows))


def _say(line: str) -> None:
    print(line, file=sys.stderr, flush=True)
