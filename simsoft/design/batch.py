"""A batch window: which Shore reading and stem thickness of a pour still meet the brief.

Every cell of the window is the case run forward with all that scatters in its middle. A batch that
misses is adjusted where another durometer does it at the same stem, and rejected where none does.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from simsoft.case.overrides import apply
from simsoft.case.read import from_tables
from simsoft.core.errors import InputError
from simsoft.design.cad import shot
from simsoft.design.candidates import around
from simsoft.design.case_tables import quantities, value_at
from simsoft.design.scatter import shifted
from simsoft.design.sweep.run import Progress, Runner, solve_tasks
from simsoft.design.sweep.task import BaseCase
from simsoft.design.tolerance import given_looks, judge_rows, make_trial, tasks_at
from simsoft.lure.parts import THICKNESS_SCATTER
from simsoft.properties.material import DEFAULTS, material_density
from simsoft.properties.mixture import filled_density

Word = Literal["accept", "adjust", "reject"]
POINTS = (-9.0, -6.0, -3.0, 0.0, 3.0, 6.0, 9.0)  # Shore points about the case's own
SEEN_DRAWS = 64  # that say where the middle lies, given what was seen
STEPS = (-2.0, -1.0, 0.0, 1.0, 2.0)  # of the stem, in standard deviations of its scatter
SHORE = (1.0, 99.0)
MORE_SALT = 0.01  # by mass


@dataclass(frozen=True)
class Window:
    """What a batch may be.

    Attributes
    ----------
    path : str, key of the stem's thickness
    scale : str, Shore scale
    own : float, Shore points of the case
    shore : tuple of float, points, softest first
    stems : tuple of str, thicknesses as they stand in a case, thinnest first
    words : rows of words by shore and stem
    aims : rows of Shore points to pour next instead, None where the batch is kept or none does it
    masses : tuple of (low, value, high) [kg] of one lure's soft parts by stem, from the density
    salt_step : float, relative change of the mass by one per cent more salt
    salt : float [-], mass fraction of the compound
    softener : float or None, Shore points that one per cent of softener by mass takes off, from
        two pours of the maker's own
    """

    path: str
    scale: str
    own: float
    shore: tuple[float, ...]
    stems: tuple[str, ...]
    words: tuple[tuple[Word, ...], ...]
    aims: tuple[tuple[float | None, ...], ...]
    masses: tuple[tuple[float, float, float], ...]
    salt_step: float
    salt: float
    softener: float | None = None


def batch_window(
    base: BaseCase,
    directory: Path,
    runner: Runner,
    progress: Progress | None = None,
    softener: float | None = None,
) -> Window:
    """Return the window of a case; its runs are kept in the directory.

    ``softener`` is that of the window.

    Raises
    ------
    InputError
        The case has no brief, no durometer, or no part with a thickness.
    """
    trial = given_looks(make_trial(base), SEEN_DRAWS, 1, directory, None, progress)
    case = trial.case
    own, scale = case.material.hardness, case.material.hardness_scale
    if own is None or scale is None or case.profile is not None:
        raise InputError(
            f"{base.name}: material.durometer: a batch window goes by the Shore reading of a pour; "
            "a durometer is needed, and no profile"
        )
    path = _stem(base)
    step = case.tolerance.thickness or THICKNESS_SCATTER
    shore = tuple(p for p in (own + d for d in POINTS) if SHORE[0] <= p <= SHORE[1])
    thick = [shifted(base.tables, path, n * step) for n in STEPS]
    designs = [(f"material.durometer={p:g} {scale}", change) for p in shore for change in thick]
    moved = [around(trial, design) for design in designs]
    tasks = [
        tasks_at(one, [0.5] * len(one.inputs), design)
        for one, design in zip(moved, designs, strict=True)
    ]
    rows = solve_tasks(base, tasks, directory, runner, progress)
    met = [judge_rows(trial, found, [0.5] * len(trial.inputs)).passes for found in rows]
    table = [met[i : i + len(thick)] for i in range(0, len(met), len(thick))]
    judged = [[_judged(table, shore, i, j) for j in range(len(thick))] for i in range(len(shore))]
    return Window(
        path=path,
        scale=scale,
        own=own,
        shore=shore,
        stems=tuple(change.partition("=")[2].strip('"') for change in thick),
        words=tuple(tuple(word for word, _ in row) for row in judged),
        aims=tuple(tuple(aim for _, aim in row) for row in judged),
        masses=tuple(_masses(base, change) for change in thick),
        salt_step=_salt_step(case.material.salt_fraction),
        salt=case.material.salt_fraction,
        softener=softener,
    )


def softener_correction(window: Window, row: int, column: int) -> float | None:
    """Return how much more softener the next pour needs [% by mass], negative for less.

    The Shore reading falls along a straight line with the softener: exact at the two pours that
    ``softener`` comes from, an estimate between them, a guess beyond. None where the batch is kept,
    none does it, or nobody has poured those two.
    """
    aim = window.aims[row][column]
    if aim is None or window.softener is None:
        return None
    return (window.shore[row] - aim) / window.softener


def into_the_cup(window: Window, share: float) -> tuple[float, float]:
    """Return softener and salt [g] for 100 g of a pour that is melted again.

    Parameters
    ----------
    window : Window
    share : float [% by mass], softener that the mended pour holds more of, above zero

    Returns
    -------
    softener : float [g], of which the mended cup holds ``share`` per cent
    salt : float [g], which keeps the salt's share of the whole as it was
    """
    part = share / 100.0
    softener = 100.0 * part / (1.0 - part / (1.0 - window.salt))
    return softener, softener * window.salt / (1.0 - window.salt)


def _stem(base: BaseCase) -> str:
    """Return the key of the size that a caliper takes: thickness or diameter of the first part."""
    for part in base.tables.get("parts", []):
        for key in ("thickness", "diameter"):
            path = f"parts.{part.get('name')}.{key}"
            if quantities(value_at(base.tables, path)):
                return path
    raise InputError(f"{base.name}: parts: a batch window needs a part with a thickness")


def _judged(
    table: Sequence[Sequence[bool]], shore: Sequence[float], row: int, column: int
) -> tuple[Word, float | None]:
    """Return what to do with a batch, and the durometer to pour next instead."""
    if table[row][column]:
        return "accept", None
    doing = [p for p, met in zip(shore, table, strict=True) if met[column]]
    if not doing:
        return "reject", None
    return "adjust", min(doing, key=lambda p: abs(p - shore[row]))


def _masses(base: BaseCase, change: str) -> tuple[float, float, float]:
    """Return the mass of one lure's soft parts at a stem [kg], with the band of the density."""
    tables, _ = apply(base.tables, [change])
    case = from_tables(tables, base.text, base.name)
    mass, band = shot(case).mass, material_density(case.material, case.tolerance)
    return mass * band.low / band.value, mass, mass * band.high / band.value


def _salt_step(salt: float) -> float:
    plain = filled_density(DEFAULTS.density, salt=salt)
    return filled_density(DEFAULTS.density, salt=salt + MORE_SALT) / plain - 1.0
