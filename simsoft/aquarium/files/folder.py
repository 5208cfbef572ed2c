"""A folder of repeats: every clip, track, count and result of one design, each run once."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from simsoft.aquarium.files.read import Options, layout, measure_files
from simsoft.aquarium.files.runs import MADE, run_conditions, run_of
from simsoft.aquarium.files.table import column_of_words, read_table
from simsoft.aquarium.measured import Measured
from simsoft.aquarium.video.clip import is_clip
from simsoft.case.wording import given, printable, suggestion
from simsoft.core.errors import InputError

RESULTS = "results.csv"
Progress = Callable[[str, float], None]


@dataclass(frozen=True)
class DesignRuns:
    """The runs of one design.

    Attributes
    ----------
    name : str, of its folder
    runs : tuple of Measured, every run for itself
    notes : tuple of str, what of the folder was not used, and why
    """

    name: str
    runs: tuple[Measured, ...]
    notes: tuple[str, ...]


def read_design(
    directory: str | Path,
    options: Options | None = None,
    *,
    pooled: bool = False,
    progress: Progress | None = None,
) -> DesignRuns:
    """Return the runs of the design in a folder, its ``runs.csv`` joined.

    A run counts once: what a ``results.csv`` of the folder, or of a folder in it, holds of a run
    is not read from its track, nor what a track holds from its clip.

    Parameters
    ----------
    directory : path
    options : Options or None
    pooled : bool, True where runs of several designs are to count as one
    progress : function of a label and the share done

    Raises
    ------
    InputError
        The folder is not there, holds no measurement, or holds several designs that nobody said
        are to be pooled.
    """
    place = Path(directory)
    shown = printable(str(directory))
    if not place.is_dir():
        raise InputError(f"{shown}: there is no such folder{_near(place)}")
    name = printable(place.resolve().name) or shown
    files, notes = _files(place)
    if not files:
        raise InputError(f"{shown}: holds no clip, track, count or results.csv; nothing to compare")
    lists = [path for path in files if _is_list(path)]
    found: list[Measured] = []
    for count, path in enumerate(path for path in files if path not in lists):
        if progress is not None:
            progress(f"measuring {path.name}", count / len(files))
        found += measure_files([*lists, path], options)
    notes += _unmatched(lists, files, found)
    _one_design(shown, found, pooled)
    return DesignRuns(name, tuple(found), tuple(notes))


def _near(place: Path) -> str:
    """Return the folder that a name which is not there comes nearest to; '' for none."""
    try:
        beside = [printable(path.name) for path in place.parent.iterdir() if path.is_dir()]
    except OSError:
        return ""
    return suggestion(place.name, beside)


def _files(place: Path) -> tuple[list[Path], list[str]]:
    """Return the files of a folder that say something of its own, and what was left out."""
    notes: list[str] = []
    tables: list[Path] = []
    for path in sorted([*place.glob("*.csv"), *place.glob(f"*/{RESULTS}")]):
        table = read_table(path)
        try:
            layout(table)
        except InputError:
            notes.append(f"{path.name}: left out, its columns are of no measurement")
            continue
        tables.append(path)
    known: set[str] = set()
    for path in tables:
        if path.name == RESULTS:
            known |= set(column_of_words(read_table(path), "run_id"))
    kept = [path for path in tables if path.name == RESULTS or run_of(str(path)) not in known]
    known |= {run_of(str(path)) for path in kept}
    for path in sorted(place.iterdir()):
        if not is_clip(path) or path.stem.endswith(MADE[1]):
            continue
        if run_of(str(path)) in known:
            notes.append(f"{path.name}: left out, its run is measured already")
        else:
            kept.append(path)
    return kept, notes


def _is_list(path: Path) -> bool:
    return not is_clip(path) and layout(read_table(path)) == "runs"


def _unmatched(
    lists: Sequence[Path], files: Sequence[Path], found: Sequence[Measured]
) -> list[str]:
    """Return a note for each run that ``runs.csv`` names and nothing tells of."""
    told = {m.run for m in found} | {run_of(str(path)) for path in files}
    missing = [r for path in lists for r in run_conditions(read_table(path)) if r not in told]
    return [f"runs.csv names {', '.join(map(given, missing))}: no file of it"] if missing else []


def _one_design(shown: str, found: Sequence[Measured], pooled: bool) -> None:
    """Refuse runs of several designs unless they are said to count as one."""
    names = sorted({str(m.at["case_id"]) for m in found if "case_id" in m.at})
    if len(names) > 1 and not pooled:
        raise InputError(
            f"{shown}: holds runs of {len(names)} designs ({', '.join(map(given, names))} as "
            "case_id); give each a folder of its own, or --pool to count them as one"
        )
