"""What every command shares: a progress bar on stderr."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager

Progress = Callable[[str, float], None]


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
