"""What every command with measurements is told, and where its answer goes."""

from __future__ import annotations

import functools
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from simsoft.case.files import are_folders, check_paths
from simsoft.core.errors import InputError
from simsoft.core.files import kept_directory
from simsoft.report.units import LengthUnit

if TYPE_CHECKING:
    from simsoft.aquarium.files.read import Options
    from simsoft.report.html.sheet import Sheet

LENGTHS = ("points", "coin", "marker", "section", "marker_offset", "camera_distance", "water_depth")
_FEET = re.compile(r"\d\s*(in|inch|inches|ft|foot|feet)\b")
SCALE_HELP = 'Scale, such as "0.25 mm/px"; of clips also two points, "X,Y X,Y=LENGTH".'
VIEW_HELP = "How the camera looked: below, above, mirror, rear or side."


@dataclass(frozen=True)
class Said:
    """What every command with measurements is told.

    Attributes
    ----------
    options : Options, checked
    directory : Path or None, made, for the results
    as_json, quiet : bool
    unit : 'mm' or 'inch', as the lengths on the command line are written
    """

    options: Options
    directory: Path | None
    as_json: bool
    quiet: bool
    unit: LengthUnit = "mm"

    def show(self, page: str, body: str, stem: str, sheet: Sheet, case: str = "") -> None:
        """Print the text or the JSON object, and keep all of it in the directory asked for."""
        click.echo(body if self.as_json else page.rstrip("\n"))
        if self.directory is not None:
            from simsoft.cli.keep import keep_answer

            note = keep_answer(self.directory, stem, sheet, page, body, case)
            if not self.quiet:
                click.echo(note, err=True)


def written_in(texts: Sequence[str | None]) -> LengthUnit:
    """Return the unit that lengths on the command line are written in; inch if one of them is."""
    return "inch" if any(text and _FEET.search(text) for text in texts) else "mm"


def measuring(function: Callable[..., Any]) -> Callable[..., Any]:
    """Add the options of every command with measurements; its files are looked at first."""

    @functools.wraps(function)
    def checked(
        *,
        view: str,
        scale: str | None,
        fastest: str | None,
        as_json: bool,
        out: str | None,
        quiet: bool,
        **others: Any,
    ) -> Any:
        lists = [*others.get("files", ()), *others.get("measurements", ())]
        named = [*lists, *(others[k] for k in ("case", "locked") if others.get(k))]
        if not ("pool" in others and are_folders(named)):
            check_paths(named)
        if scale is not None and "=" in scale and "points" in others:
            if others["points"]:
                raise InputError("--scale and --points both name points; one of them is needed")
            others["points"], scale = scale, None
        options = _options(view, scale, fastest)
        lengths = [scale, *(others.get(key) for key in LENGTHS)]
        with kept_directory(out) as directory:
            said = Said(options, directory, as_json, quiet, written_in(lengths))
            return function(said=said, **others)

    for option in (
        click.option("--view", metavar="VIEW", default="", help=VIEW_HELP),
        click.option("--scale", metavar="LENGTH/px", help=SCALE_HELP),
        click.option("--fastest", metavar="RATE", help='Fastest beat possible, such as "15 Hz".'),
        click.option("--json", "as_json", is_flag=True, help="One JSON object on stdout, SI."),
        click.option("--out", metavar="DIR", help="Also write the results into a directory."),
        click.option("--quiet", is_flag=True, help="No progress and no notes on stderr."),
    ):
        checked = option(checked)
    return checked


def _options(view: str, scale: str | None, fastest: str | None) -> Options:
    """Return checked options; InputError with one line for each that is wrong."""
    from simsoft.aquarium.files.read import Options
    from simsoft.aquarium.files.track import VIEWS
    from simsoft.aquarium.signal.alias import FASTEST
    from simsoft.case import units
    from simsoft.case.wording import given

    problems = []
    if view and view not in VIEWS:
        problems.append(f"--view is {given(view)}; allowed are {', '.join(VIEWS)}")
    metres = None
    rate = FASTEST
    try:
        if scale is not None:
            metres = units.parse(scale.removesuffix("/px").strip(), "m")
            if not 0.0 < metres < 1.0:
                problems.append(f"--scale is {given(scale)}; above 0 and below 1 m/px is allowed")
    except units.QuantityError as problem:
        problems.append(f"--scale is {given(scale)}; it {problem}, such as 0.25 mm/px")
    try:
        if fastest is not None:
            rate = units.parse(fastest, "Hz")
            if not 0.1 <= rate <= 200.0:
                problems.append(f"--fastest is {given(fastest)}; 0.1 to 200 Hz is allowed")
    except units.QuantityError as problem:
        problems.append(f"--fastest is {given(fastest)}; it {problem}, such as 15 Hz")
    if problems:
        raise InputError(problems)
    return Options(view=view, scale=metres, fastest=rate)
