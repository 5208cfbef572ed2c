"""The command line: parse, call, print; nothing else.

Exit status: 0 done, 1 the run failed, 2 the input is wrong, 130 interrupted. Heavy modules are
imported inside the commands, so that ``simsoft --help`` stays quick.
"""

from __future__ import annotations

import gc
import io
import shlex
import signal
import sys
import traceback
import warnings
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn

import click

from simsoft import __version__
from simsoft.cli import complete
from simsoft.cli.card import card
from simsoft.cli.console import progress_bar, terminal_columns
from simsoft.cli.design import COMMANDS
from simsoft.cli.explore import explore
from simsoft.cli.guide import guide
from simsoft.cli.keys import keys
from simsoft.cli.log import log
from simsoft.cli.new import new
from simsoft.cli.pour import pour
from simsoft.cli.resolve import resolve
from simsoft.cli.tank import calibrate, compare, measure, plan
from simsoft.cli.vary import vary
from simsoft.cli.warm import compile_all, said_where_compiled, warm
from simsoft.core.errors import DamageWarning, InputError, SimsoftError
from simsoft.report.text.width import WIDTH, narrowed

if TYPE_CHECKING:
    from simsoft.case.model import Case
    from simsoft.results.result import RunResult

# Imports make many objects that live on; to look through them again and again takes a twentieth of
# a short run.
OBJECTS_PER_COLLECTION = 100_000

FAILED, WRONG_INPUT, INTERRUPTED, TERMINATED = 1, 2, 130, 143
GOES_ON = {"sweep", "pick", "tolerance", "batch", "freeze"}  # commands that keep what they solved
_DEBUG: ContextVar[bool] = ContextVar("debug", default=False)


@click.group(context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="simsoft", message="%(prog)s %(version)s")
@click.option("--debug", is_flag=True, help="Show where an error comes from.")
@click.pass_context
def commands(context: click.Context, debug: bool) -> None:
    """Predict the action of a soft-plastic lure before anything is printed.

    \b
    simsoft new paddle-tail --out tail.toml   write a starter case, then edit it
    simsoft run tail.toml                     does it kick, from what speed, how fast
    simsoft guide                             the pages of the guide

    Screening estimates, not a safety assessment.
    """
    _DEBUG.set(debug)


@commands.command("run")
@click.argument("case", shell_complete=complete.files)
@click.option(
    "--set",
    "overrides",
    metavar="PATH=VALUE",
    multiple=True,
    help="Change one value.",
    shell_complete=complete.paths,
)
@click.option("--json", "as_json", is_flag=True, help="One JSON object on stdout, SI units.")
@click.option("--out", metavar="DIR", help="Also write report.html, results.h5, records, figures.")
@click.option("--quiet", is_flag=True, help="No progress and no notes on stderr.")
@click.option("--change", is_flag=True, help="Run the CASE without --set too; tell the change.")
@click.option("--strict", is_flag=True, help="Treat warnings as errors.")
@click.option("--write", is_flag=True, help="Put the values of --set back into the CASE file.")
def run_case(
    case: str,
    overrides: tuple[str, ...],
    as_json: bool,
    out: str | None,
    quiet: bool,
    change: bool,
    strict: bool,
    write: bool,
) -> int:
    """Run a CASE file and print the answer."""
    if write and not overrides:
        raise click.UsageError("--write puts values back that --set gives; there is no --set")
    if change and not overrides:
        raise click.UsageError("--change tells what --set changes; there is no --set")
    from simsoft.case.read import load
    from simsoft.core.files import kept_directory

    checked = load(case, overrides)
    if strict and checked.warnings:
        raise InputError([f"{warning} (--strict)" for warning in checked.warnings])
    from simsoft.design.other_water import with_other_water
    from simsoft.engine.kernels import missing_for
    from simsoft.engine.run import run as solve

    with (
        kept_directory(out) as directory,
        progress_bar(quiet) as bar,
        said_where_compiled(quiet, bar) as progress,
    ):
        compile_all(missing_for(checked, page=directory is not None), quiet, bar)
        with of_file(case):
            _tell_slow(checked, quiet)
            result = solve(checked, progress)
        result = with_other_water(result, lambda more: load(case, (*overrides, *more)), progress)
        result = _with_waking(result)
        if change:
            from simsoft.design.paired_runs import run_changes

            before = solve(load(case), progress)
            result = replace(result, changes=tuple(run_changes(before, result)))
    notes = _print(result, as_json)
    if change and not as_json:
        from simsoft.report.text.change import change_lines

        told = change_lines(result.changes, checked.length_unit)
        click.echo("\n".join(["", *(told or ["nothing changed"])]))
    if directory is not None:
        from simsoft.cli.out import write_all

        notes.append(f"wrote {write_all(result, directory)} files to {directory}")
    if write:
        from simsoft.case.rewrite import write_values

        notes.append(f"wrote {', '.join(overrides)} back to {write_values(case, overrides)}")
    if not quiet:
        from simsoft.cli.next_step import next_step

        for note in filter(None, (*notes, next_step(result, case, () if write else overrides))):
            click.echo(note, err=True)
    if strict and result.warnings:
        click.echo("error: the run has warnings (--strict)", err=True)
        return FAILED
    return 0


@commands.command()
@click.argument("directory", metavar="DIR", shell_complete=complete.folders)
@click.option("--quiet", is_flag=True, help="No notes on stderr.")
def report(directory: str, quiet: bool) -> int:
    """Write DIR/report.html again from the results.h5 that a run left in DIR."""
    from simsoft.report.folder import add_to_list
    from simsoft.report.html.page import write_page
    from simsoft.results.hdf5_reader import read_run

    path = write_page(read_run(Path(directory) / "results.h5"), directory)
    add_to_list(Path(directory), path)
    if not quiet:
        click.echo(f"wrote {path}", err=True)
    return 0


@commands.command()
@click.argument("before", metavar="A", shell_complete=complete.folders)
@click.argument("after", metavar="B", shell_complete=complete.folders)
@click.option("--json", "as_json", is_flag=True, help="One JSON object on stdout, SI units.")
def diff(before: str, after: str, as_json: bool) -> int:
    """What changed from run A to run B (folders that `run --out` wrote); 1 where anything did."""
    from simsoft.design.difference import run_difference
    from simsoft.design.paired_runs import run_changes
    from simsoft.report.text.difference import difference_json, difference_text
    from simsoft.results.hdf5_reader import read_run

    if any(Path(one).is_file() for one in (before, after)):
        raise InputError(_folders_needed(before, after))
    runs = [read_run(Path(folder) / "results.h5").result for folder in (before, after)]
    found, changed = run_difference(*runs), run_changes(*runs)
    unit = runs[1].case.length_unit
    text = difference_json(found, changed) if as_json else difference_text(found, unit, changed)
    click.echo(text.rstrip())
    return FAILED if found.is_one else 0


def _folders_needed(before: str, after: str) -> str:
    """Return which commands make the folders that `diff` compares, where files are given."""
    files = [one for one in (before, after) if Path(one).is_file()]
    folders = [Path(one).stem if one in files else one for one in (before, after)]
    if folders[0] == folders[1]:
        folders = ["before", "after"]
    made = [
        shlex.join(["simsoft", "run", one, "--out", folder])
        for one, folder in zip((before, after), folders, strict=True)
        if one in files
    ]
    told = f"{' and '.join(files)}: {'is a file' if len(files) == 1 else 'are files'}"
    steps = "; ".join([*made, shlex.join(["simsoft", "diff", *folders])])
    return f"{told}; diff compares two folders that runs wrote: {steps}"


@commands.command()
def about() -> int:
    """Say what a bug report needs: versions, cores, card, cache."""
    from simsoft.cli.about import about_lines

    for line in about_lines():
        click.echo(line)
    return 0


@commands.command()
@click.argument("ids", nargs=-1, shell_complete=complete.checks)
@click.option("--write", is_flag=True, help="Rewrite the table in validation/README.md.")
def validate(ids: tuple[str, ...], write: bool) -> int:
    """Run the published checks (all, or those with the given IDS) and fail on any miss."""
    from simsoft.validate.run import Stopped
    from simsoft.validate.run import check_published as check

    try:
        table, passed = check(ids, write)
    except Stopped as stop:
        click.echo(stop.told)
        raise
    click.echo(table)
    return 0 if passed else FAILED


TOOLS = (
    new,
    vary,
    log,
    keys,
    guide,
    explore,
    card,
    pour,
    measure,
    compare,
    calibrate,
    plan,
    resolve,
    warm,
)
for command in (*TOOLS, *COMMANDS):
    commands.add_command(command)


def main(arguments: Sequence[str] | None = None) -> NoReturn:
    """Run the command line and leave with its exit status.

    Parameters
    ----------
    arguments : sequence of str or None, the words after ``simsoft``; None takes the process's
    """
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")
    signal.signal(signal.SIGTERM, _terminate)
    _name_damage()
    gc.set_threshold(OBJECTS_PER_COLLECTION)
    with narrowed(terminal_columns(WIDTH)):
        status = _status(arguments)
    gc.freeze()  # the interpreter looks through everything again as it ends, a quarter of a second
    sys.exit(status)


def _name_damage() -> None:
    """Show a damaged file as one line, without the place in the program."""
    plain = warnings.showwarning

    def show(message: Warning | str, category: type[Warning], *where: Any, **more: Any) -> None:
        if issubclass(category, DamageWarning):
            click.echo(f"warning: {message}", err=True)
        elif _DEBUG.get():  # what a library warns of is for those who look for a defect
            plain(message, category, *where, **more)

    warnings.showwarning = show


def _terminate(*_: Any) -> NoReturn:
    """Leave by an exception, so that files under way are cleaned up."""
    sys.exit(TERMINATED)


@contextmanager
def of_file(name: str) -> Iterator[None]:
    """Name the file in what is refused only once its lure is put together."""
    try:
        yield
    except InputError as error:
        raise InputError([f"{name}: {problem}" for problem in error.problems]) from None


def _status(arguments: Sequence[str] | None) -> int:
    """Run a command and return its exit status, user errors as one clear line each."""
    words = None if arguments is None else list(arguments)
    try:
        return _run(words)
    except click.UsageError as error:
        error.show()
        return WRONG_INPUT
    except InputError as error:
        for problem in error.problems:
            click.echo(f"error: {problem}", err=True)
        return WRONG_INPUT
    except SimsoftError as error:
        click.echo(f"error: {error}", err=True)
        return FAILED
    except (click.Abort, KeyboardInterrupt):
        click.echo("interrupted; no half-written file is left behind", err=True)
        said = sys.argv[1:] if words is None else words
        if next((word for word in said if not word.startswith("-")), "") in GOES_ON:
            click.echo("what was solved is kept: the same command goes on where it was", err=True)
        return INTERRUPTED
    except Exception as error:
        told = " ".join(f"{type(error).__name__}: {error}".split())
        click.echo(f"error: this is a defect of simsoft: {told}", err=True)
        click.echo(
            "run it again as `simsoft --debug ...` and send that with `simsoft about`", err=True
        )
        return FAILED


def _run(words: list[str] | None) -> int:
    """Run a command; where it was asked for, say where an error comes from before it passes on."""
    try:
        return int(commands.main(words, prog_name="simsoft", standalone_mode=False) or 0)
    except Exception:
        if _DEBUG.get():
            click.echo(traceback.format_exc(), err=True)
        raise


def _tell_slow(case: Case, quiet: bool) -> None:
    """Say before a long run starts what makes it long."""
    from simsoft.lure.limp import slow_parts

    for line in slow_parts(case):
        if not quiet:
            click.echo(f"warning: {line}", err=True)


def _print(result: RunResult, as_json: bool) -> list[str]:
    """Print the answer on stdout and return what belongs on stderr."""
    if as_json:
        from simsoft.report.json import as_json as json_text

        click.echo(json_text(result, __version__))
        return [f"warning: {warning}" for warning in result.warnings]
    from simsoft.report.text.run import summary

    click.echo(summary(result, datetime.now(UTC).date().isoformat()), nl=False)
    return []


def _with_waking(result: RunResult) -> RunResult:
    """Return a run with its warnings told what would wake a paddle that does not kick."""
    from simsoft.design.wake import asleep
    from simsoft.report.text.wake import wake_warnings

    told = wake_warnings(asleep(result.case, result.records), result.case.length_unit)
    return replace(result, warnings=(*result.warnings, *told))
