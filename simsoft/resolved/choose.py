"""How finely and how long to run, on what device, and how long that will take."""

from __future__ import annotations

import importlib
import time
from typing import Any, NamedTuple

import numpy as np

from simsoft.core.errors import InputError
from simsoft.mechanics.rod import Rod
from simsoft.resolved.coupling import between, single
from simsoft.resolved.domain import Domain, memory
from simsoft.resolved.job import Job, Settings
from simsoft.resolved.pieces import in_cells
from simsoft.resolved.run import FlowSolver, Grid, MakeFlow, lay_out
from simsoft.resolved.sheet import lightness_of_sheet, ride_sheet, start_sheet
from simsoft.resolved.solids import Single

QUICK = Settings(
    cells=12, across=4.0, ahead=2.0, behind=4.0, stride=3, hold=3.0, longest=36.0, memory=16
)
STANDARD = Settings()
FINE = Settings(cells=36, stride=8)
LEAST_CELLS, MOST_CELLS = 8, 64
COARSER = 2.0 / 3.0  # of the cells, of the second grid of a careful run
# A part much lighter than the water it moves hears sound in the box, and rattles, unless its steps
# are long and it remembers many of its loads (validation/resolved/blade.py).
LIGHT = 0.35  # mass over added mass
LONG_MEMORY = 28
STEPS_A_CELL = 6.0 / 16.0  # steps of the flow in one of the rod, over the cells across the part
TRIAL_STEPS = 6  # of the flow, timed before a run
SHARE_OF_CARD = 0.9  # of its free memory that a run may take


class RunEstimate(NamedTuple):
    """What a run will take.

    Attributes
    ----------
    cells : int; steps : int, of the flow
    memory : float [bytes]
    seconds : float, from a trial on this machine
    """

    cells: int
    steps: int
    memory: float
    seconds: float


def settings_for(detail: str, cells: int | None) -> Settings:
    """Return the settings of ``quick``, ``standard`` or ``fine``, with another grid if stated.

    Raises
    ------
    InputError : the grid is too coarse or too fine to be meant
    """
    settings = {"quick": QUICK, "standard": STANDARD, "fine": FINE}[detail]
    if cells is None:
        return settings
    if not LEAST_CELLS <= cells <= MOST_CELLS:
        raise InputError(
            [f"--cells {cells}: allowed are {LEAST_CELLS} to {MOST_CELLS} cells a diameter"]
        )
    return settings_for_cells(settings, cells)


def lightness(rod: Rod) -> float:
    """Return the least mass over added mass of the links of a rod, along their own axes."""
    own, carried = (np.diagonal(m, axis1=1, axis2=2)[:, 3:] for m in (rod.structure, rod.fluid))
    moved = carried > 0.0
    return float((own[moved] / carried[moved]).min()) if moved.any() else np.inf


def suited(settings: Settings, job: Job) -> Settings:
    """Return the settings with longer steps and memory where a part of the job is light."""
    light = np.inf if job.rod is None else lightness(job.rod)
    if job.sheet is not None:
        light = lightness_of_sheet(job.sheet)
    if light >= LIGHT:
        return settings
    longer = round(STEPS_A_CELL * settings.cells)
    return settings._replace(
        stride=max(settings.stride, longer), memory=max(settings.memory, LONG_MEMORY)
    )


def coarser(settings: Settings) -> Settings:
    """Return the settings of the second grid of a careful run: two thirds of the cells.

    Raises
    ------
    InputError : the grid is as coarse as a grid may be
    """
    cells = round(COARSER * settings.cells)
    if cells < LEAST_CELLS:
        raise InputError(
            [f"--careful: {settings.cells} cells leave no coarser grid to compare with; allowed "
             f"are {round(LEAST_CELLS / COARSER)} or more"]
        )  # fmt: skip
    return settings_for_cells(settings, cells)


def settings_for_cells(settings: Settings, cells: int) -> Settings:
    """Return settings on another grid, the steps of the rod as long as before in time."""
    return settings._replace(cells=cells, stride=max(2, round(5 * cells / 24)))


def card_there() -> str | None:
    """Return why no graphics card can be used, ``None`` where one can."""
    try:
        if not _card().is_available():
            return "no graphics card with a driver was found"
    except Exception as error:
        return f"the driver of the graphics card does not answer: {error}"
    return None


def _card() -> Any:
    """Return the compiler's module for graphics cards; it is loaded here, not at start-up."""
    return importlib.import_module("numba.cuda")


def maker(device: str) -> tuple[str, MakeFlow]:
    """Return the device in use and what makes a flow on it.

    ``device`` is 'cpu', 'gpu' or 'auto', which takes a card where there is one.

    Raises
    ------
    InputError : a card is asked for and there is none
    """
    missing = None if device == "cpu" else card_there()
    if device == "gpu" and missing:
        raise InputError([f"--device gpu: {missing}; --device cpu runs on the processor"])
    if device == "cpu" or missing:
        from simsoft.resolved.processor import ProcessorFlow

        return "cpu", ProcessorFlow
    from simsoft.resolved.card import CardFlow

    return "gpu", CardFlow


def check_card(domain: Domain) -> None:
    """Refuse a run that does not fit on the card.

    Raises
    ------
    InputError
    """
    free = _card().current_context().get_memory_info()[0]
    needed = memory(domain)
    if needed > SHARE_OF_CARD * free:
        raise InputError(
            [
                f"--device gpu: the run needs {needed / 1e9:.1f} GB, the card has "
                f"{free / 1e9:.1f} GB free; a smaller --cells or --device cpu will do"
            ]
        )


def estimate_run(job: Job, settings: Settings, make: MakeFlow) -> RunEstimate:
    """Return what a run will take, timed by a few steps of its own flow."""
    grid: Grid = lay_out(job, settings)
    steps = int(settings.longest * job.size / job.pace / grid.tick)
    forms, table, poses = _trial_solids(job, grid)
    flow: FlowSolver = make(grid.domain, forms, table)
    flow.advance(poses)
    begun = time.perf_counter()
    flow.advance(np.repeat(poses, TRIAL_STEPS, axis=0))
    each = (time.perf_counter() - begun) / TRIAL_STEPS
    return RunEstimate(grid.domain.cells, steps, memory(grid.domain), each * steps)


def _trial_solids(job: Job, grid: Grid) -> tuple[Single, Single, Single]:
    """Return forms, section table and one pose (1, P, 18) of the solids of a trial.

    The slabs of a sheet are many, and cost time where they are; else a ball stands for all.
    """
    if job.sheet is not None:
        places = ride_sheet(job.sheet, start_sheet(job.sheet, 1), job.pieces)
        poses = single(between(places, places, grid.tick, 1), grid.origin, grid.cell, grid.tick)
        return *in_cells(job.pieces, grid.cell), poses
    poses = np.zeros((1, 1, 18), np.float32)
    x0, _, y0, _, z0, _ = grid.domain.window
    poses[0, 0, :3] = (x0 + 6.0, y0 + 6.0, z0 + 6.0)
    poses[0, 0, 3:12] = np.eye(3, dtype=np.float32).ravel()
    ball: Single = np.array([[0, 2.0, 2.0, 2.0, 0, 0, 0, 2.0]], np.float32)
    return ball, np.zeros((1, 3), np.float32), poses
