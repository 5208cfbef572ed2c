"""``simsoft warm``, and what a run says while it compiles: never silence, what and how long."""

from __future__ import annotations

import time
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

import click

from simsoft.cli.console import Progress, progress_bar

if TYPE_CHECKING:
    from simsoft.core.prepare import Wanted

KEPT = "kept for later runs"


@click.command()
@click.option("--quiet", is_flag=True, help="No progress and no notes on stderr.")
def warm(quiet: bool) -> int:
    """Compile what runs will need, on all cores, so that no run has to wait for it."""
    from simsoft.core.prepare import not_compiled

    wanted = not_compiled()
    if not wanted and not quiet:
        click.echo("everything that is known ahead is compiled", err=True)
    with progress_bar(quiet) as progress:
        compile_all(wanted, quiet, progress)
    return 0


def compile_all(wanted: list[Wanted], quiet: bool, progress: Progress | None) -> None:
    """Compile kernels on all cores and say so; nothing is said where nothing is to do."""
    if not wanted:
        return
    from simsoft.core.machine import cores
    from simsoft.core.pace import slowness
    from simsoft.core.prepare import expected, prepare

    about = expected(wanted, cores(), slowness(cores()))
    if not quiet:
        told = f"about {about:.0f} s as busy as this machine is now"
        click.echo(f"compiling {len(wanted)} kernels, {told}; {KEPT}", err=True)
    begun, due = time.monotonic(), about

    def report(name: str, share: float, left: float | None) -> None:
        nonlocal due
        spent = time.monotonic() - begun
        if progress is not None:
            pause = "" if left is None else f", about {left:.0f} s left"
            progress(f"compiling: {name}{pause}", share)
        elif left and spent > due and not quiet:  # without a bar: where the promise does not hold
            click.echo(f"still compiling, about {left:.0f} s left", err=True)
            due = spent + left

    prepare(wanted, cores(), report, about)
    if not quiet:
        click.echo(f"compiled in {time.monotonic() - begun:.0f} s", err=True)


@contextmanager
def said_where_compiled(quiet: bool, progress: Progress | None) -> Iterator[Progress | None]:
    """Name in the progress what is compiled while the block runs; without a bar say it once.

    Yields
    ------
    progress : function of a label and the share done, None where nothing is shown
    """
    if quiet:
        yield progress
        return
    from numba.core import event

    reached = [0.0]

    def remembered(label: str, share: float) -> None:
        reached[0] = share
        if progress is not None:
            progress(label, share)

    class Listener(event.Listener):  # type: ignore[misc]
        said = False

        def on_start(self, happened: Any) -> None:
            name = happened.data["dispatcher"].__name__.replace("_", " ")
            if progress is not None:
                progress(f"compiling: {name}", reached[0])
            elif not self.said:
                click.echo(f"compiling what this kind of case needs; {KEPT}", err=True)
            self.said = True

        def on_end(self, happened: Any) -> None:
            """Say nothing; the next step speaks."""

    with event.install_listener("numba:compile", Listener()):
        yield remembered if progress is not None else None
