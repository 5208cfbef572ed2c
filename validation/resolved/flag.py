"""A square flag in a stream: ``python validation/resolved/flag.py [--cells 12] [--device gpu]``.

Huang & Sung 2010 (doi:10.1017/S0022112010000248) and Tian et al. 2014
(doi:10.1016/j.jcp.2013.10.047) computed a square flag whose leading edge is pinned: its place is
held, its slope is free. Reynolds number 200 on the length, mass ratio 1, bending stiffness 0.0001
over density, speed squared and the length's cube. It flaps; ``PUBLISHED`` has stroke of the middle
of the trailing edge over the length, and rate times length over speed (all from memory). There it
has no thickness and hardly stretches. Here it is as thick as two cells and bends as if it had none;
it stretches by a half per cent of its length under its own drag, and is damped a little, so that
waves of the length of an element, which no element can show, die out.
``python validation/resolved/flag.py --jobs DIR 32 48`` writes the runs for ``on_card.py``,
``--read FILE ...`` measures what they left, as rows of ``flag.csv``, which keeps what was found.
"""

from __future__ import annotations

import argparse
import csv
import math
import sys
from pathlib import Path

import h5py
import numpy as np

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE))

from on_card import write_job  # noqa: E402

from simsoft.core.arrays import Array  # noqa: E402
from simsoft.core.signals import cycles  # noqa: E402
from simsoft.geometry.planform import Planform  # noqa: E402
from simsoft.lure.plate_model import PlateModel  # noqa: E402
from simsoft.mechanics.plate import make_plate, mass_matrix, moulded_plate  # noqa: E402
from simsoft.resolved.choose import maker  # noqa: E402
from simsoft.resolved.job import Job, Settings, read_tuple  # noqa: E402
from simsoft.resolved.measure import standard_error  # noqa: E402
from simsoft.resolved.run import first_rows, march_flow  # noqa: E402
from simsoft.resolved.sheet import SoftSheet, tip_path  # noqa: E402
from simsoft.resolved.sheet_job import sheet_of  # noqa: E402
from simsoft.resolved.slabs import sheet_pieces  # noqa: E402

PUBLISHED = {
    "Huang & Sung 2010": {"stroke": 0.780, "strouhal": 0.260},
    "Tian et al. 2014": {"stroke": 0.806, "strouhal": 0.266},
}
LENGTH, SPEED, DENSITY = 0.02, 0.5, 1000.0  # [m], [m/s], [kg/m^3]; only the ratios matter
MASS_RATIO, BENDING, STRETCHING = 1.0, 1.0e-4, 50.0
DAMPING = 0.05  # [length/speed], Kelvin-Voigt time
LEAN = 0.1 * math.pi  # [rad] to the stream, when it is let go
CELLS_OF_ELEMENT = 2.0  # of the grid at the least, along the flag: loads of smaller ones are noise
MOST_ALONG = 16  # elements
THICK = 2.0  # [cells]
STEP = 0.02  # [length/speed] of the flag
LONGEST = 26.0  # [length/speed]
LATE = 12.0  # [length/speed] from which it is measured
# Of the kept rows: thickness in cells, step in lengths over speed, errors twice the standard ones.
COLUMNS = ("run", "cells", "thick", "step", "stroke", "stroke_error", "strouhal", "strouhal_error",
           "drag", "twist", "beats", "seconds", "million_cells")  # fmt: skip


def elements_on(cells: int) -> tuple[int, int]:
    """Return how many elements go along and across the flag, an even number across."""
    along = min(MOST_ALONG, int(cells / CELLS_OF_ELEMENT))
    return along, 2 * max(2, round(along / 4))


def flag_planform(along: int, across: int) -> Planform:
    """Return the flag's elements, and its places and directors as it leans to the stream."""
    ways = np.linspace(0.0, LENGTH, along + 1)
    sides = np.linspace(-0.5 * LENGTH, 0.5 * LENGTH, across + 1)
    plan = np.array([(x, y) for x in ways for y in sides])
    row = np.arange(along)[:, None] * (across + 1) + np.arange(across)
    nodes = np.arange(len(plan)).reshape(along + 1, across + 1)
    axis = np.array([math.cos(LEAN), math.sin(LEAN), 0.0])
    state = np.zeros((len(plan), 6))
    state[:, :3] = plan[:, :1] * axis
    state[:, 2] = plan[:, 1]
    state[:, 3:] = np.cross(axis, [0.0, 0.0, 1.0])
    return Planform(
        plan=plan,
        quads=np.stack([row, row + across + 1, row + across + 2, row + 1], axis=2).reshape(-1, 4),
        thickness=np.full(len(plan), math.sqrt(12.0 * BENDING / STRETCHING) * LENGTH),
        state=state,
        clamped=np.repeat(np.arange(along + 1) == 0, across + 1),
        centre=nodes[:, across // 2],
        edges=nodes[:, [0, -1]],
        tip=nodes[-1],
        outline=nodes[:, 0],
    )


def flag_sheet(along: int, across: int) -> SoftSheet:
    """Return the flag: plane, leaning, pinned at its leading edge, at rest."""
    planform = flag_planform(along, across)
    thickness = float(planform.thickness[0])
    flat = make_plate(planform.plan, planform.quads, planform.thickness, 0.0)
    moves = np.ones((len(planform.plan), 6), dtype=bool)
    moves[planform.clamped, :3] = False
    model = PlateModel(
        planform=planform,
        plate=moulded_plate(flat, planform.state),
        mass=mass_matrix(flat, len(moves), MASS_RATIO * DENSITY * LENGTH / thickness),
        flow=None,
        wake=None,
        dead=np.zeros_like(planform.state),
        state=planform.state,
        free=np.flatnonzero(moves),
        root=np.zeros(3),
    )
    modulus = STRETCHING * DENSITY * SPEED**2 * LENGTH / thickness
    return sheet_of(model, DENSITY, modulus, DAMPING * LENGTH / SPEED)


def flag_job(cells: int, *, thick: float = THICK, reynolds: float = 200.0) -> Job:
    """Return the job of the flag, ``thick`` cells thick on a grid of ``cells`` a side."""
    sheet = flag_sheet(*elements_on(cells))
    thickness = np.full(len(sheet.plate.quads), thick * LENGTH / cells)
    return Job(
        name=f"flag-{cells}-{thick:g}",
        pieces=sheet_pieces(sheet.plate.quads, sheet.state, thickness),
        rod=None,
        shape=np.zeros((0, 4)),
        rate=np.zeros((0, 3)),
        forced=None,
        speed=SPEED,
        pace=SPEED,
        size=LENGTH,
        density=DENSITY,
        viscosity=SPEED * LENGTH / reynolds,
        centre=np.zeros(3),
        ramp=np.zeros((0, 2)),
        sheet=sheet,
    )


def settings_of(cells: int, step: float = STEP) -> Settings:
    """Return grid and length of a run with steps of the flag [length/speed].

    There is no closure at so small a Reynolds number.
    """
    pace = Settings().pace
    return Settings(
        cells=cells, stride=max(2, round(step * cells / pace)), smagorinsky=0.0, hold=1.0,
        longest=LONGEST,
    )  # fmt: skip


def step_of(settings: Settings) -> float:
    """Return the step of the flag [length/speed], a whole number of steps of the flow."""
    return settings.stride * settings.pace / settings.cells


def measured(job: Job, time: Array, centre: Array, axes: Array, load: Array) -> dict[str, float]:
    """Return what the late part of a run shows.

    ``time`` (R,) [s]; ``centre`` (R, P, 3) [m] and ``axes`` (R, P, 3, 3) of the slabs; ``load``
    (R, P, 6) [N], [N m] on them. Stroke is over the length, drag a coefficient, an error twice
    the standard error of the mean beat. Twist is how far apart across the stream the outermost
    slabs of the trailing edge come, over the length; none of a flag that flaps evenly.
    """
    late = time * SPEED / LENGTH >= LATE
    assert job.sheet is not None
    edge = tip_path(job.sheet, job.pieces, centre, axes)
    across = len(job.sheet.plate.quads) // (len(job.sheet.marks) - 1)
    apart = np.ptp(centre[late][:, [-across, -1], 1], axis=1)
    seen = cycles(time[late], edge[late, 1])
    drag = load[late, :, 0].sum(axis=1).mean() / (0.5 * DENSITY * SPEED**2 * LENGTH**2)
    beats = len(seen.period)
    strouhal = LENGTH / (SPEED * seen.period.mean()) if beats else 0.0
    return {
        "stroke": float(seen.stroke.mean() / LENGTH) if beats else 0.0,
        "stroke_error": 2.0 * standard_error(seen.stroke) / LENGTH,
        "strouhal": float(strouhal),
        "strouhal_error": 2.0 * standard_error(seen.period) * strouhal**2 * SPEED / LENGTH,
        "drag": float(drag),
        "twist": float(apart.max() / LENGTH),
        "beats": float(beats),
    }


def read_run(path: Path) -> dict[str, str]:
    """Return the row of ``flag.csv`` of a run that ``on_card.py`` left."""
    with h5py.File(path, "r") as file:
        job, settings = read_tuple(file["job"]), read_tuple(file["settings"])
        history = (file[f"history/{name}"][()] for name in ("time", "centre", "axes", "load"))
        found = measured(job, *history)
        spent, count = float(file.attrs["seconds"]), float(file.attrs["cells"])
    return {
        "run": path.stem,
        "cells": str(settings.cells),
        "thick": f"{2.0 * job.pieces.forms[0, 3] * settings.cells / job.size:.3g}",
        "step": f"{step_of(settings):.4f}",
        **{name: f"{value:.4f}" for name, value in found.items()},
        "beats": f"{found['beats']:.0f}",
        "seconds": f"{spent:.0f}",
        "million_cells": f"{1e-6 * count:.1f}",
    }


def kept() -> list[dict[str, str]]:
    """Return the rows of ``flag.csv``."""
    with (HERE / "flag.csv").open(encoding="utf-8") as file:
        return list(csv.DictReader(file))


def main() -> None:
    """Run the flag, write jobs or read what they left."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--cells", type=int, default=12)
    parser.add_argument("--thick", type=float, default=THICK, help="Cells.")
    parser.add_argument("--step", type=float, default=STEP, help="Of the flag, length/speed.")
    parser.add_argument("--device", choices=("auto", "cpu", "gpu"), default="auto")
    parser.add_argument("--jobs", nargs="+", metavar=("DIR", "CELLS"))
    parser.add_argument("--read", nargs="+", type=Path)
    stated = parser.parse_args()
    if stated.jobs:
        for cells in map(int, stated.jobs[1:]):
            job = flag_job(cells, thick=stated.thick)
            settings = settings_of(cells, stated.step)
            job = job._replace(name=f"{job.name}-{stated.step:g}")
            write_job(Path(stated.jobs[0]) / f"{job.name}.h5", job, settings)
        return
    if stated.read:
        table = csv.DictWriter(sys.stdout, COLUMNS, lineterminator="\n")
        table.writeheader()
        table.writerows(map(read_run, stated.read))
        return
    print("published:", PUBLISHED)
    job = flag_job(stated.cells, thick=stated.thick)
    _, point, _ = march_flow(job, settings_of(stated.cells, stated.step), maker(stated.device)[1])
    run = first_rows(point.history, point.row)
    print("now:", measured(job, run.time, run.centre, run.axes, run.load))


if __name__ == "__main__":
    main()
