"""The same sweep on a dask.distributed scheduler (extra ``cluster``)."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from importlib import import_module
from typing import Any

from simsoft.core.errors import InputError
from simsoft.design.sweep.pool import AHEAD, Job, chunks_of, solve_chunk
from simsoft.design.sweep.row import FAILED, Row
from simsoft.design.sweep.run import CHUNK, Runner
from simsoft.design.sweep.task import BaseCase, Mode

SHORTER = 4  # chunks of a cluster are this many times those of a pool: the way is longer
PATIENCE = "15s"  # for the scheduler to answer
RETRIES = 3
DIED = "the workers that ran this design died"


def cluster_runner(address: str, mode: Mode) -> Runner:
    """Return the runner on a scheduler's workers.

    Parameters
    ----------
    address : str, such as 'tcp://127.0.0.1:8786'; simsoft must be installed on every worker

    Raises
    ------
    InputError
        The extra is not installed or nobody answers at the address.
    """
    try:
        distributed: Any = import_module("distributed")
    except ImportError:
        raise InputError('--scheduler: needs the extra "cluster" (dask.distributed)') from None
    try:
        client = distributed.Client(address, timeout=PATIENCE, set_as_default=False)
    except (OSError, ValueError, TypeError) as error:
        words = " ".join(str(error).split())[:200]
        raise InputError(f"--scheduler {address}: no scheduler answers; {words}") from None

    def runner(base: BaseCase, jobs: Iterable[Job]) -> Iterator[list[Row]]:
        yield from _run(
            client, distributed.as_completed(loop=client.loop), base, jobs, SHORTER * CHUNK[mode]
        )

    return runner


def _run(
    client: Any, done: Any, base: BaseCase, jobs: Iterable[Job], chunk: int
) -> Iterator[list[Row]]:
    """Yield rows as they come, a few chunks ahead of the workers; a dead worker's go to others."""
    source = chunks_of(jobs, chunk)
    parts: dict[str, Any] = {}

    def submit() -> None:
        part = next(source, None)
        if part is not None:
            future = client.submit(solve_chunk, base, part, pure=False, retries=RETRIES)
            parts[future.key] = part
            done.add(future)

    for _ in range(AHEAD * max(1, len(client.scheduler_info()["workers"]))):
        submit()
    for future in done:
        part = parts.pop(future.key)
        submit()
        try:
            yield future.result()
        except Exception as error:  # whatever happened far away, the others go on
            words = " ".join(str(error).split())[:200]
            yield [Row(key, FAILED, f"{DIED}: {words}") for key, _ in part]
