"""The commands around a brief: sweep, tolerance, pick, cad; heavy modules are imported inside."""

from __future__ import annotations

import functools
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import click

from simsoft.cli import complete
from simsoft.cli.console import progress_bar

Function = Callable[..., Any]


def _set_option() -> Function:
    return click.option(
        "--set",
        "overrides",
        metavar="PATH=VALUE",
        multiple=True,
        help="Change.",
        shell_complete=complete.paths,
    )


def common(command: Function) -> Function:
    """Add the options that every command of this module has.

    The case is read and checked before anything heavy is loaded.
    """

    @functools.wraps(command)
    def checked(case: str, overrides: tuple[str, ...], **options: Any) -> Any:
        from simsoft.case.read import load

        load(case, overrides)
        return command(case=case, overrides=overrides, **options)

    found: Function = checked
    for option in (
        click.option("--quiet", is_flag=True, help="No progress and no notes on stderr."),
        click.option("--json", "as_json", is_flag=True, help="One JSON object on stdout, SI."),
        click.option("--out", metavar="DIR", help="Where runs are kept; default CASE_sweep."),
        click.option("--workers", metavar="N", type=click.IntRange(1), help="Processes."),
        _set_option(),
    ):
        found = option(found)
    return click.argument("case", shell_complete=complete.files)(found)


def sampled(default: int, of_what: str, most: int = 65536) -> Callable[[Function], Function]:
    """Return what adds the options of a sample; ``of_what`` is the help of its size."""
    seed = click.option("--seed", metavar="N", default=1, show_default=True, help="Of the sample.")
    samples = click.option(
        "--samples", metavar="N", type=click.IntRange(8, most), default=default,
        show_default=True, help=of_what,
    )  # fmt: skip
    return lambda command: samples(seed(command))


def print_shown(text: str, notes: Sequence[str], quiet: bool) -> int:
    """Print an answer on stdout and its notes on stderr."""
    click.echo(text, nl=not text.endswith("\n"))
    if not quiet:
        for note in notes:
            click.echo(note, err=True)
    return 0


def results_directory(case: str, out: str | None) -> Path:
    """Return the directory of a command's results; it is made when there is something to keep."""
    return Path(out) if out else Path(f"{Path(case).stem}_sweep")


def print_answer(
    command: Callable[..., tuple[str, Sequence[str]]],
    case: str,
    out: str | None,
    quiet: bool,
    options: dict[str, Any],
) -> int:
    """Print what a command answers, with its progress."""
    with progress_bar(quiet, plain=True) as progress:
        text, notes = command(case, results_directory(case, out), progress, **options)
    return print_shown(text, notes, quiet)


@click.command()
@common
@click.option(
    "--vary",
    metavar="PATH=FROM:TO:STEP",
    multiple=True,
    help="What to run through.",
    shell_complete=complete.paths,
)
@click.option("--keep", metavar="PATH/VARIED", multiple=True, help="Scale with the varied one.")
@click.option("--sample", metavar="N", type=click.IntRange(1), help="N points, not the grid.")
@click.option("--seed", metavar="N", default=1, show_default=True, help="Of the sample.")
@click.option("--fast", is_flag=True, help="Screening: no time march.")
@click.option("--confirm", metavar="N", default=1, show_default=True, help="Best N with bands.")
@click.option("--scheduler", metavar="ADDRESS", help="Run on a dask.distributed scheduler.")
@click.option("--write", metavar="DIR", help="Write the designs as cases; run none.")
def sweep(
    case: str,
    out: str | None,
    quiet: bool,
    write: str | None,
    vary: tuple[str, ...],
    keep: tuple[str, ...],
    sample: int | None,
    seed: int,
    **options: Any,
) -> int:
    """Run a CASE over many values, ranked by its brief; resumes where it was stopped."""
    from simsoft.cli.sweep import family_command, read_plan, sweep_command

    plan = read_plan(vary, keep, sample, seed)
    if write is not None:
        return print_shown(*family_command(case, write, plan, options["overrides"]), quiet)
    options["plan"] = plan
    return print_answer(sweep_command, case, out, quiet, options)


@click.command()
@common
@sampled(256, "Rounded up to a power of two.")
@click.option("--full", is_flag=True, help="March every sample, where screening would do.")
@click.option("--only", type=click.Choice(["making", "use", "model"]), help="Scatter of a group.")
@click.option("--sobol", metavar="N", default=0, help="Also Sobol indices, N base samples.")
@click.option(
    "--vary",
    metavar="PATH=FROM:TO:STEP",
    multiple=True,
    help="Twice: also a map over two keys.",
    shell_complete=complete.paths,
)
def tolerance(case: str, out: str | None, quiet: bool, **options: Any) -> int:
    """How often a CASE meets its brief when everything scatters, and what costs most."""
    from simsoft.cli.tolerance import tolerance_command

    return print_answer(tolerance_command, case, out, quiet, options)


@click.command()
@common
@click.option(
    "--vary",
    metavar="PATH=FROM:TO",
    multiple=True,
    help="A single change to try.",
    shell_complete=complete.paths,
)
@sampled(64, "Forward runs of each candidate.", most=4096)
@click.option("--full", is_flag=True, help="March every sample, where screening would do.")
@click.option("--same-action", is_flag=True, help="Wanted: what the CASE does without --set.")
@click.option(
    "--chance",
    metavar="SHARE",
    type=click.FloatRange(0.5, 0.99),
    default=0.8,
    show_default=True,
    help="Share of samples that has to meet.",
)
@click.option(
    "--levers",
    metavar="N",
    type=click.IntRange(1, 2),
    default=2,
    show_default=True,
    help="Values changed at once, where one does not do.",
)
@click.option("--confirm", metavar="N", default=3, show_default=True, help="Best N with bands.")
@click.option("--write", is_flag=True, help="Put the pick back into the CASE file.")
def pick(case: str, out: str | None, quiet: bool, **options: Any) -> int:
    """The least change so that a CASE meets its brief: of one value, or of two where one fails."""
    from simsoft.cli.pick import Search, pick_command

    options["search"] = Search(**{name: options.pop(name) for name in Search._fields})
    return print_answer(pick_command, case, out, quiet, options)


@click.command()
@common
@sampled(64, "For the chance that the brief is met.")
@click.option("--shapes", is_flag=True, help="Also the tail's shapes and the changed mesh.")
def cad(case: str, out: str | None, quiet: bool, **options: Any) -> int:
    """Sizes of a CASE for CAD, the cavity, the shot, and one more loop against metal now."""
    from simsoft.cli.cad import cad_command

    return print_answer(cad_command, case, out, quiet, options)


@click.command()
@common
@sampled(64, "For the chance that the brief is met.")
def freeze(case: str, out: str | None, quiet: bool, **options: Any) -> int:
    """Write the sheet of a CASE to sign before metal is cut: READY or NOT READY, and why."""
    from simsoft.cli.freeze import freeze_command

    return print_answer(freeze_command, case, out, quiet, options)


@click.command()
@common
@click.option(
    "--softener",
    metavar="POINTS",
    type=click.FloatRange(0.05, 20.0),
    help="Shore points that 1 % takes off.",
)
def batch(case: str, out: str | None, quiet: bool, **options: Any) -> int:
    """Write the sheet by which a pour of a CASE is kept: Shore by stem, and the mass."""
    from simsoft.cli.batch import batch_command

    return print_answer(batch_command, case, out, quiet, options)


COMMANDS = (sweep, tolerance, pick, cad, freeze, batch)
