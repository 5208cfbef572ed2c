"""Commands of the aquarium: measure, compare, calibrate, plan. Parse, call, print; nothing else."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from simsoft import __version__
from simsoft.case.files import are_folders
from simsoft.cli import complete
from simsoft.cli.console import Progress, progress_bar
from simsoft.cli.folders import compare_folders
from simsoft.cli.said import Said, measuring
from simsoft.core.errors import InputError, SolveError
from simsoft.core.files import write_text

if TYPE_CHECKING:
    from simsoft.aquarium.measured import At, Measured


def _filming(function: Callable[..., Any]) -> Callable[..., Any]:
    """Add the options about clips."""
    for name, words, text in (
        ("--motion", "HOW", "The lure is held (default), towed or sinking."),
        ("--sweep", "HOW", "The tail beats sideways (default) or vertical."),
        ("--downstream", "WHERE", "The tail points right, left, up or down; else found."),
        ("--region", "X,Y,W,H", "Part of the picture to analyse, pixels."),
        (
            "--points",
            '"X,Y X,Y=LENGTH"',
            "Two points a known length apart; a second pair after ;, across the first, tells "
            "whether the camera is square.",
        ),
        ("--coin", '"X,Y=DIAMETER"', "A coin around X,Y, of that diameter, in the sweep's plane."),
        (
            "--point",
            "X,Y or COLOUR",
            "A dot on the tail to follow: its place in the first frame, or its colour.",
        ),
        (
            "--section",
            "THICKNESS x WIDTH",
            "Of the tail where it bends; a broad side in view tells a sweep out of the picture.",
        ),
        ("--marker", '"X,Y,W,H=LENGTH"', "Region that holds a bar of known length."),
        ("--recorded", "RATE", 'Rate it was filmed at, for slow motion, such as "240 Hz".'),
        ("--speed", "SPEED", 'Stream or tow speed, such as "0.4 m/s".'),
        ("--temperature", "WARMTH", 'Of the water, such as "18 degC".'),
        ("--marker-offset", "LENGTH", "Marker in front of the lure's plane by this."),
        ("--camera-distance", "LENGTH", "Camera to glass."),
        ("--water-depth", "LENGTH", "Glass to lure."),
    ):
        function = click.option(name, metavar=words, default="", help=text)(function)
    return function


@click.command()
@click.argument("files", nargs=-1, required=True, shell_complete=complete.files)
@_filming
@measuring
def measure(
    files: tuple[str, ...],
    said: Said,
    **words: str,
) -> int:
    """Turn clips, tracks, counts and bench tests (FILES) into numbers with uncertainty.

    \b
    simsoft measure clip.mp4 --view below --points "100,40 420,44=50 mm" --out seen
    simsoft measure track.csv --view below
    simsoft measure weigh.csv ringdown.csv --json
    """
    from simsoft.aquarium.files.read import measure_files, results_text, told_runs
    from simsoft.aquarium.video.clip import check_clip, is_clip
    from simsoft.report.text.tank import measured_json, measured_page

    found: list[Measured] = []
    written = ["results.csv"]
    tables = [path for path in files if not is_clip(path)]
    clips = [path for path in files if is_clip(path)]
    for path in clips:
        check_clip(path)  # before anything is measured or written
    if tables:
        found += measure_files(tables, said.options)
    with progress_bar(said.quiet) as progress:
        for path in clips:
            seen, names = _filmed(path, said, words, progress, told_runs(tables))
            found += seen
            written += names
    title = ", ".join(files)
    _some(found)
    body = measured_json(__version__, title, found)
    from simsoft.report.html.tank import measured_sheet

    seen_on = [] if said.directory is None else [said.directory / name for name in written]
    pictures = [path for path in seen_on if path.suffix == ".png"]
    sheet = measured_sheet(found, title, pictures, said.unit)
    if said.directory is not None:
        write_text(said.directory / "results.csv", results_text(found))
        if not said.quiet:
            click.echo(f"wrote {', '.join(written)} to {said.directory}", err=True)
    said.show(measured_page(found, said.unit), body, "measured", sheet)
    return 0


def _filmed(
    path: str,
    said: Said,
    words: dict[str, str],
    progress: Progress | None,
    runs: dict[str, At],
) -> tuple[list[Measured], list[str]]:
    """Return the measurements of a clip and the files written about it; runs tell conditions."""
    from simsoft.aquarium.files.read import of_run
    from simsoft.aquarium.files.runs import said_of, with_run_conditions
    from simsoft.cli.film import ClipOptions, measure_clip, with_run, write_pictures

    chosen = ClipOptions(
        motion=words["motion"] or "held",
        sweep=words["sweep"] or "sideways",
        downstream=words["downstream"],
        region=words["region"],
        points=words["points"],
        marker=words["marker"],
        recorded=words["recorded"],
        speed=words["speed"],
        temperature=words["temperature"],
        offset=words["marker_offset"],
        camera=words["camera_distance"],
        depth=words["water_depth"],
        section=words["section"],
        point=words["point"],
        coin=words["coin"],
    )
    told = said_of(runs, path)
    options = of_run(said.options, told, {})
    seen = measure_clip(path, options, with_run(chosen, told), progress)
    names = []
    if said.directory is not None:
        names = write_pictures(seen, said.directory, Path(path).stem, said.unit)
    return [with_run_conditions(m, runs, path) for m in seen.measured], names


def _some(found: list[Measured]) -> None:
    if not found:
        raise InputError("the files hold conditions of runs only; a measurement is needed")


@click.command()
@click.argument("case", shell_complete=complete.files)
@click.argument("measurements", nargs=-1, shell_complete=complete.files)
@click.option("--set", "overrides", metavar="PATH=VALUE", multiple=True, help="Change one value.")
@click.option("--lock", metavar="FILE", help="Write the prediction down before the test.")
@click.option("--locked", metavar="FILE", help="Compare with a prediction locked before.")
@click.option("--pool", is_flag=True, help="Count runs of several designs in a folder as one.")
@measuring
def compare(
    case: str,
    measurements: tuple[str, ...],
    overrides: tuple[str, ...],
    lock: str | None,
    locked: str | None,
    pool: bool,
    said: Said,
) -> int:
    """Run a CASE as its MEASUREMENTS were made and judge the difference; or compare two folders.

    \b
    simsoft compare tail.toml --lock tail.lock.json      before the test
    simsoft compare tail.toml track.csv --locked tail.lock.json
    simsoft compare designs.csv                          rows of case,measurement
    simsoft compare A/ B/                                repeated runs of two designs
    """
    if are_folders((case, *measurements)):
        if overrides or lock is not None or locked is not None:
            raise InputError("--set, --lock and --locked are of a case; two folders have none")
        return compare_folders((case, *measurements), pool, said)
    if pool:
        raise InputError("--pool is of two folders, one a design")
    if lock is not None:
        if measurements or locked is not None:
            raise InputError("--lock writes a prediction before the test; give no measurements")
        return _lock(case, overrides, lock, said.quiet)
    if case.lower().endswith(".csv") and not measurements:
        return _compare_designs(case, overrides, said)
    if not measurements:
        raise InputError("compare needs at least one measurement file after the case")
    return _compare_one(case, measurements, overrides, locked, said)


def _lock(case: str, overrides: tuple[str, ...], lock: str, quiet: bool) -> int:
    from datetime import UTC, datetime

    from simsoft.aquarium.files.lock import lock_text, read_lock
    from simsoft.aquarium.predict import material_records
    from simsoft.case.read import load
    from simsoft.engine.run import run

    if Path(lock).exists():
        raise InputError(f"{lock}: exists already; a locked prediction is never overwritten")
    checked = load(case, overrides)
    with progress_bar(quiet) as progress:
        records = (*material_records(checked), *run(checked, progress).records)
    now = datetime.now(UTC)
    write_text(lock, lock_text(checked.title, checked.text, __version__, records, now))
    found = read_lock(lock)
    click.echo(f"locked {len(records)} numbers of {checked.title} at {found.made.isoformat()}")
    click.echo(f"sha256 {found.own_hash}")
    click.echo("The hash shows a later change only if it is kept apart: mail or print it now.")
    return 0


def _compare_one(
    case: str,
    measurements: tuple[str, ...],
    overrides: tuple[str, ...],
    locked: str | None,
    said: Said,
) -> int:
    from simsoft.aquarium.files.lock import read_lock, text_hash
    from simsoft.case.read import load

    checked = load(case, overrides)
    lock = None if locked is None else read_lock(locked)
    from simsoft.aquarium.files.read import measure_files

    found = measure_files(measurements, said.options)
    _some(found)
    from simsoft.aquarium.compare import compare_all as pair_up
    from simsoft.report.html.tank import compared_sheet
    from simsoft.report.text.tank import compared_json, compared_page

    with progress_bar(said.quiet) as progress:
        pairs = pair_up(checked, found, lock=lock, progress=progress)
    known = ""
    if lock is not None:
        known = f"locked {lock.made.isoformat()}, sha256 {lock.own_hash}, simsoft {lock.version}"
    body = compared_json(__version__, checked.title, pairs, known, text_hash(checked.text))
    page = compared_page(pairs, checked.title, checked.length_unit, known)
    sheet = compared_sheet(pairs, checked.title, checked.length_unit, known)
    said.show(page, body, "comparison", sheet, checked.text)
    return 0


def _compare_designs(
    listing: str,
    overrides: tuple[str, ...],
    said: Said,
) -> int:
    from simsoft.aquarium.files.designs import read_designs

    designs = read_designs(listing, overrides, said.options)
    from simsoft.aquarium.compare import compare_all as pair_up
    from simsoft.report.html.tank import compared_sheet
    from simsoft.report.text.tank import compared_json, compared_page, designs_page

    found = []
    with progress_bar(said.quiet) as progress:
        for count, (case, measured) in enumerate(designs):

            def report(label: str, share: float, n: int = count) -> None:
                if progress is not None:
                    progress(label, (n + share) / len(designs))

            found.append((case.title, pair_up(case, measured, progress=report)))
    pages = [compared_page(pairs, title) for title, pairs in found]
    page = "\n".join([*pages, designs_page(found)])
    every = [pair for _, pairs in found for pair in pairs]
    body = compared_json(__version__, Path(listing).name, every, "")
    said.show(page, body, "comparison", compared_sheet(every, Path(listing).name))
    return 0


@click.command()
@click.argument("files", nargs=-1, required=True, shell_complete=complete.files)
@click.option("--profile", metavar="FILE", help="Write the shop's profile (TOML) to a new file.")
@click.option("--title", default="shop profile", help="Title of the profile.")
@click.option("--set", "overrides", metavar="PATH=VALUE", multiple=True, help="Change one value.")
@measuring
def calibrate(
    files: tuple[str, ...],
    profile: str | None,
    title: str,
    overrides: tuple[str, ...],
    said: Said,
) -> int:
    """Turn bench tests and runs into a shop profile that a case names.

    \b
    simsoft calibrate weigh.csv ringdown.csv --profile shop.toml
    simsoft calibrate tail.toml run1.csv run2.csv --profile shop.toml
    simsoft calibrate designs.csv --profile shop.toml     rows of case,measurement
    """
    from simsoft.cli.calibration import calibrate_command

    if profile is not None and Path(profile).exists():
        raise InputError(f"{profile}: exists already; choose another name")
    with progress_bar(said.quiet) as progress:
        page, body, text, sheet = calibrate_command(
            files, overrides, said.options, title, Path(profile or "shop.toml").name, progress
        )
    said.show(page, body, "calibration", sheet)
    if profile is not None:
        if not text:
            raise SolveError(f"{profile}: not written; the fit of the runs is not to be used")
        write_text(profile, text)
        if not said.quiet:
            click.echo(f'wrote {profile}; a case names it: profile = "{profile}"', err=True)
    return 0


@click.command()
@click.argument("case", shell_complete=complete.files)
@click.argument("measurements", nargs=-1, shell_complete=complete.files)
@click.option("--set", "overrides", metavar="PATH=VALUE", multiple=True, help="Change one value.")
@click.option("--scatter", default=0.08, help="Relative scatter from run to run (default 0.08).")
@measuring
def plan(
    case: str,
    measurements: tuple[str, ...],
    overrides: tuple[str, ...],
    scatter: float,
    said: Said,
) -> int:
    """Say which one or two runs would narrow the verdict on a CASE most.

    MEASUREMENTS made already are taken into account.
    """
    from simsoft.cli.calibration import plan_command

    if not 0.001 <= scatter <= 1.0:
        raise InputError(f"--scatter is {scatter:g}; 0.001 to 1 is allowed")
    with progress_bar(said.quiet) as progress:
        found = plan_command(case, measurements, overrides, said.options, scatter, progress)
    page, body, sheet, text = found
    said.show(page, body, "plan", sheet, text)
    return 0
