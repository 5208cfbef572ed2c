"""What every command shares: a progress bar on stderr, and how wide the terminal is."""

from __future__ import annotations

import shutil
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager

Progress = Callable[[str, float], None]
NARROWEST = 40  # columns


def columns(widest: int) -> int:
    """Return the columns of the terminal (``COLUMNS`` where that is set), at most ``widest``."""
    return min(max(shutil.get_terminal_size((widest, 0)).columns, NARROWEST), widest)


@contextmanager
def progress_bar(quiet: bool) -> Iterator[Progress | None]:
    """Show progress on stderr while the block runs, if somebody is looking at a terminal.

    Yields
    ------
    progress : function of a label and the share done (0..1), or None where nothing is shown
    """
    if quiet or not sys.stderr.isatty():
        yield None
        return
    from rich.console import Console
    from rich.markup import escape
    from rich.progress import BarColumn, TaskProgressColumn, TextColumn, TimeElapsedColumn
    from rich.progress import Progress as Bar

    columns = (TextColumn("{task.description}"), BarColumn(), TaskProgressColumn())
    with Bar(*columns, TimeElapsedColumn(), console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("starting", total=1.0)

        def update(stage: str, fraction: float) -> None:
            bar.update(task, description=escape(stage), completed=fraction)

        yield update
