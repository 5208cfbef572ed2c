"""What every command shares: progress on stderr, a bar or plain lines, and the terminal's width."""

from __future__ import annotations

import shutil
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager

Progress = Callable[[str, float], None]
NARROWEST = 40  # columns


def terminal_columns(widest: int) -> int:
    """Return the columns of the terminal (``COLUMNS`` where that is set), at most ``widest``."""
    return min(max(shutil.get_terminal_size((widest, 0)).columns, NARROWEST), widest)


EVERY = 60.0  # [s] between plain lines
NEARLY = 0.999  # a bar that was full once stops its clock; the next stage goes on from it


@contextmanager
def progress_bar(quiet: bool, *, plain: bool = False) -> Iterator[Progress | None]:
    """Show progress on stderr while the block runs, if somebody is looking at a terminal.

    Parameters
    ----------
    quiet : bool
    plain : bool, off a terminal write a line at the start and at most one a minute after it

    Yields
    ------
    progress : function of a label and the share done (0..1), or None where nothing is shown
    """
    if quiet or not sys.stderr.isatty():
        yield None if quiet or not plain else plain_lines()
        return
    from rich.console import Console
    from rich.markup import escape
    from rich.progress import BarColumn, TaskProgressColumn, TextColumn, TimeElapsedColumn
    from rich.progress import Progress as Bar

    columns = (TextColumn("{task.description}"), BarColumn(), TaskProgressColumn())
    with Bar(*columns, TimeElapsedColumn(), console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("starting", total=1.0)

        def update(stage: str, fraction: float) -> None:
            bar.update(task, description=escape(stage), completed=min(fraction, NEARLY))

        yield update


def plain_lines() -> Progress:
    """Return a progress that writes plain lines on stderr: the first at once, then few."""
    begun = time.monotonic()
    last: list[float] = []

    def update(stage: str, _: float) -> None:
        now = time.monotonic()
        if not last or now - last[0] >= EVERY:
            last[:] = [now]
            spent = f"{(now - begun) / 60.0:.0f} min: " if now - begun >= EVERY else ""
            print(f"{spent}{stage}", file=sys.stderr, flush=True)

    return update
