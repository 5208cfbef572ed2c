"""The command ``resolve``: a resolved flow around the tail of a case."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import click

from simsoft.cli import complete
from simsoft.cli.console import Progress, progress_bar
from simsoft.core.errors import InputError, SolveError

if TYPE_CHECKING:
    from simsoft.case.model import Case, Scenario
    from simsoft.lure.parts import Strip
    from simsoft.properties.water import Water
    from simsoft.resolved.choose import RunEstimate
    from simsoft.resolved.job import Job, Settings
    from simsoft.resolved.run import Point
    from simsoft.resolved.slices import Slice
    from simsoft.results.record import Record

KEEP_EVERY = 600.0  # [s] between two times at which a long run is kept
PHASES = 4  # slices of the last beat
LOOKS = 1.25  # [size/speed] between two looks at a run: a quarter of a beat, roughly


@dataclass(frozen=True)
class Wish:
    """What was asked on the command line."""

    detail: str
    cells: int | None
    device: str
    speeds: tuple[str, ...]
    out: Path | None
    only_cost: bool
    careful: bool = False


def scenario_of(case: Case, source: str) -> Scenario:
    """Return the first scenario in a stream.

    Raises
    ------
    InputError : the case has none
    """
    for scenario in case.scenarios:
        if scenario.kind == "retrieve":
            return scenario
    raise InputError([f"{source}: has no scenario of kind retrieve; resolve needs a stream"])


def strip_of(case: Case, source: str) -> tuple[Strip, Water]:
    """Return the part to resolve, and the water: the first that is a rod, else the first plate.

    Raises
    ------
    InputError : the case has neither
    """
    from simsoft.lure.parts import assemble

    lure = assemble(case)
    for word in ("rod", "plate"):
        for strip in lure.strips:
            if strip.solved_as == word:
                return strip, lure.water
    raise InputError(
        [
            f"{source}: its paddle bends, and such paddles are not resolved yet; "
            'model = "rod" on the part keeps it stiff'
        ]
    )


def speeds_of(case: Case, scenario: Scenario, stated: Sequence[str]) -> list[float]:
    """Return the speeds [m/s] to run: those stated, else those of the scenario.

    Raises
    ------
    InputError : a stated speed is not one, or is zero
    """
    from simsoft.case.units import parse

    if not stated:
        return [speed for speed in scenario.speeds if speed > 0.0]
    found = []
    for text in stated:
        try:
            speed = parse(text, "m/s")
        except ValueError as error:
            raise InputError([f"--speed {text!r}: {error}"]) from error
        if not 0.0 < speed <= 10.0:
            raise InputError([f"--speed {text!r}: allowed are speeds above 0 and up to 10 m/s"])
        found.append(speed)
    return found


def job_at(case: Case, strip: Strip, here: Water, scenario: Scenario, speed: float) -> Job:
    """Return the job of a part at a speed [m/s], its material as at a beat of a fifth of U/D."""
    from simsoft.geometry.soft_lengths import stiff_front
    from simsoft.lure.parts import damping_time, strip_modulus, values_of
    from simsoft.resolved.sheet_job import plate_job
    from simsoft.resolved.tail import beat_guess, tail_job

    values = values_of(strip)
    rate = beat_guess(strip, speed)
    part, ahead = strip.part, case.body
    if ahead is not None and part.soft_ahead > 0.0:
        ahead = stiff_front(ahead, part.position[0])
    make = plate_job if strip.solved_as == "plate" else tail_job
    return make(
        strip,
        here,
        values,
        speed=speed,
        modulus=strip_modulus(strip, values, rate),
        damping_time=damping_time(strip, values, rate),
        gravity=scenario.gravity,
        body=ahead,
        elements=12 if strip.part.paddle is not None else None,
    )


def _run_job(
    job: Job, settings: Settings, wish: Wish, label: str, progress: Progress | None,
    say: Callable[[str], None],
) -> tuple[list[Slice], Point]:  # fmt: skip
    """Run a job, kept now and then in ``--out``; return slices and point."""
    import time

    from simsoft.resolved.choose import check_card, estimate_run, maker
    from simsoft.resolved.keep import keep_point, kept_point
    from simsoft.resolved.run import FlowSolver, lay_out, march_flow
    from simsoft.resolved.slices import slice_of

    device, make = maker(wish.device)
    grid = lay_out(job, settings)
    if device == "gpu":
        check_card(grid.domain)
    price = estimate_run(job, settings, make)
    say(f"{label}, on the {device}: {words_of_cost(price)}")
    kept = None if wish.out is None else wish.out / f"{slug(label)}.stopped.h5"
    start = None
    if kept is not None and kept.exists():
        start = kept_point(kept, job, settings)
        say(f"{label}: goes on from {kept}")
    looks = max(1, round(LOOKS * job.size / job.pace / (settings.stride * grid.tick)))
    slices: list[Slice] = []
    last = [time.monotonic()]

    def tell(point: Point, rows: int, flow: FlowSolver) -> bool:
        if progress is not None:
            progress(label, point.row / rows)
        if point.row > rows - (PHASES + 1) * looks and len(slices) < PHASES:
            slices.append(slice_of(grid, point, flow.populations(), job.sheet))
        if kept is not None and time.monotonic() - last[0] > KEEP_EVERY:
            keep_point(kept, job, settings, point, flow.populations())
            last[0] = time.monotonic()
        return True

    holder: list[tuple[Point, FlowSolver]] = []

    def watch(point: Point, rows: int, flow: FlowSolver) -> bool:
        holder[:] = [(point, flow)]
        return tell(point, rows, flow)

    try:
        _, point, _ = march_flow(job, settings, make, watch, looks, start)
    except KeyboardInterrupt:
        if kept is not None and holder:
            keep_point(kept, job, settings, holder[0][0], holder[0][1].populations())
            say(f"{label}: stopped; the same command goes on from {kept}")
        raise
    except SolveError:
        if kept is not None and holder:
            keep_point(kept.with_suffix(".last_good.h5"), job, settings, holder[0][0],
                       holder[0][1].populations())  # fmt: skip
        raise
    if kept is not None:
        kept.unlink(missing_ok=True)
    return slices, point


def words_of_cost(price: RunEstimate) -> str:
    """Return what a run takes as a line."""
    return (
        f"{price.cells / 1e6:.1f} million cells, {price.steps} steps, "
        f"{price.memory / 1e9:.2f} GB, about {words_of(price.seconds)}"
    )


def words_of(seconds: float) -> str:
    """Return a time in seconds, minutes or hours."""
    if seconds < 90.0:
        return f"{seconds:.0f} s"
    if seconds < 5400.0:
        return f"{seconds / 60.0:.0f} min"
    return f"{seconds / 3600.0:.1f} h"


def slug(label: str) -> str:
    """Return a file name made of a label."""
    return "".join(c if c.isalnum() else "_" for c in label).strip("_")


class Resolved(NamedTuple):
    """What a resolved run found; `does` has a word a speed, `reduced` what the model says."""

    case: Case
    lines: list[str]
    does: list[str]
    records: list[Record]
    reduced: list[Record]
    pictures: list[Path]


def resolve_command(
    source: str, overrides: tuple[str, ...], wish: Wish, against: bool,
    progress: Progress | None, say: Callable[[str], None],
) -> Resolved:  # fmt: skip
    """Run the resolved flow for a case."""
    from simsoft.case.read import load
    from simsoft.resolved.answer import beat_in, records_of, sentence_of, with_coarser
    from simsoft.resolved.choose import coarser, settings_for, suited
    from simsoft.resolved.keep import write_history
    from simsoft.resolved.measure import word_of

    case = load(source, overrides)
    scenario = scenario_of(case, source)
    strip, here = strip_of(case, source)
    stated = settings_for(wish.detail, wish.cells)
    grids = [stated, coarser(stated)] if wish.careful else [stated]
    lines: list[str] = []
    does: list[str] = []
    records: list[Record] = []
    pictures: list[Path] = []
    for speed in speeds_of(case, scenario, wish.speeds):
        job = job_at(case, strip, here, scenario, speed)
        label = f"{strip.name} at {speed:g} m per s"
        settings, *others = (suited(grid, job) for grid in grids)
        if wish.only_cost:
            from simsoft.resolved.choose import estimate_run, maker

            for grid in (settings, *others):
                price = estimate_run(job, grid, maker(wish.device)[1])
                lines.append(f"{label}: {words_of_cost(price)}")
            continue
        slices, point = _run_job(job, settings, wish, label, progress, say)
        beat = beat_in(job, point)
        lines.append(sentence_of(job, settings, beat, speed))
        does.append(word_of(beat, job.size))
        here_found = records_of(scenario.name, job, settings, beat, {"speed": speed})
        for grid in others:
            also = f"{label} on {grid.cells} cells"
            _, there = _run_job(job, grid, wish, also, progress, say)
            again = beat_in(job, there)
            lines.append(f"{sentence_of(job, grid, again, speed)} ({grid.cells} cells)")
            coarse = records_of(scenario.name, job, grid, again, {"speed": speed})
            here_found = with_coarser(here_found, coarse, grid.cells)
        records += here_found
        if wish.out is not None:
            name = slug(label)
            write_history(wish.out / f"{name}.h5", job, settings, point)
            if slices:
                from simsoft.report.resolved_figure import save_slices

                title = f"{case.title}: {label}, resolved flow"
                half = 0.0 if job.sheet is not None else float(job.pieces.forms[-1, 1])
                pictures.append(save_slices(wish.out / f"{name}.png", slices, title, half))
    other: list[Record] = []
    if against and records:
        from simsoft.engine.run import run

        other = list(run(case, None).records)
    return Resolved(case, lines, does, records, other, pictures)


@click.command()
@click.argument("case", shell_complete=complete.files)
@click.option("--set", "overrides", metavar="PATH=VALUE", multiple=True, help="Change one value.")
@click.option("--speed", "speeds", metavar="SPEED", multiple=True, help="In place of the case's.")
@click.option("--quick", "detail", flag_value="quick", help="A coarse look: minutes.")
@click.option("--standard", "detail", flag_value="standard", default=True, help="The usual grid.")
@click.option("--fine", "detail", flag_value="fine", help="Five times the work of the usual grid.")
@click.option("--cells", metavar="N", type=int, help="Cells across the paddle.")
@click.option("--careful", is_flag=True, help="A coarser grid too, and bands that hold both.")
@click.option("--device", type=click.Choice(["auto", "cpu", "gpu"]), default="auto", help="Where.")
@click.option("--against", is_flag=True, help="Set the reduced model's answer beside it.")
@click.option("--cost", "only_cost", is_flag=True, help="Say how long it takes, run nothing.")
@click.option("--out", metavar="DIR", help="Keep history and pictures; a stopped run goes on.")
@click.option("--json", "as_json", is_flag=True, help="One JSON object on stdout, SI units.")
@click.option("--quiet", is_flag=True, help="No progress and no notes on stderr.")
def resolve(
    case: str, overrides: tuple[str, ...], speeds: tuple[str, ...], detail: str, cells: int | None,
    careful: bool, device: str, against: bool, only_cost: bool, out: str | None, as_json: bool,
    quiet: bool,
) -> int:  # fmt: skip
    """Run a resolved flow around a tail or claw of a CASE: slow, and nearer to water."""
    import json

    from simsoft import __version__
    from simsoft.case.read import load
    from simsoft.core.files import made_directory
    from simsoft.report.resolved_text import resolved_table

    load(case, overrides)  # before anything heavy is loaded and a folder is made
    directory = None if out is None else made_directory(out)
    wish = Wish(detail, cells, device, speeds, directory, only_cost, careful)

    def say(text: str) -> None:
        if not quiet:
            click.echo(text, err=True)

    with progress_bar(quiet) as progress:
        found = resolve_command(case, overrides, wish, against, progress, say)
    records = found.records
    text = "\n".join(found.lines) + "\n" + resolved_table(records, found.reduced)
    body = {
        "simsoft": __version__,
        "case": found.case.title,
        "records": [record.as_json() for record in records],
        "warnings": [],
    }
    if directory is not None and records:
        from simsoft.cli.keep import keep_answer
        from simsoft.report.html.flow import resolved_sheet

        sheet = resolved_sheet(
            found.case.title, found.lines, found.does, records, found.reduced, found.pictures,
            found.case.length_unit,
        )  # fmt: skip
        say(keep_answer(directory, "resolved", sheet, text, json.dumps(body, indent=1),
                        found.case.text))  # fmt: skip
    click.echo(json.dumps(body) if as_json else text, nl=as_json)
    return 0
