"""A blade that leans with a stream: ``python validation/resolved/blade.py [--device gpu]``.

Luhar & Nepf 2011 (doi:10.4319/lo.2011.56.6.2003) held foam strips across a stream. Five widths
long and a fifth thick, at Re 1600 on the width, one bent as in ``MEASURED``: the drag coefficient
on length and width, how far its end went downstream and how far it sank, in widths (as tabled by
Tian et al. 2014, doi:10.1016/j.jcp.2013.10.047; from memory). ``blade.csv`` keeps what the
resolved flow finds. It is the elastic check of the coupling: a rod that is far lighter than the
water it moves, and bends by half a right angle.
"""

from __future__ import annotations

import argparse
import csv
import sys
from pathlib import Path

import numpy as np

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE))

from simsoft.case.read import load  # noqa: E402
from simsoft.lure.parts import assemble, values_of  # noqa: E402
from simsoft.resolved.choose import maker, settings_for, suited  # noqa: E402
from simsoft.resolved.job import Job, Settings  # noqa: E402
from simsoft.resolved.run import History, first_rows, march_flow  # noqa: E402
from simsoft.resolved.tail import tail_job  # noqa: E402

MEASURED = {"drag": 1.15, "reach": 2.14, "sink": 0.59}
STIFFNESS = 19054.9  # modulus over water's density and speed squared; from memory, as above
MODULUS, DAMPING = 500.0e3, 5.0e-3  # [Pa], [s]; damping only settles the blade sooner
ELEMENTS = 16
LONGEST = 32.0  # [width/speed]
LATE = 20.0  # [width/speed] from which the blade is measured
COLUMNS = ("run", "reynolds", "buoyant", "cells", "drag", "reach", "sink")


def blade_job(reynolds: float, *, buoyant: bool = True) -> Job:
    """Return the job of the blade, held at its foot."""
    lure = assemble(load(HERE / "blade.toml"))
    strip = lure.strips[0]
    speed = float(np.sqrt(MODULUS / (STIFFNESS * lure.water.density)))
    job = tail_job(
        strip, lure.water, values_of(strip), speed=speed, modulus=MODULUS, damping_time=DAMPING,
        gravity=buoyant, elements=ELEMENTS, kick=0.0,
    )  # fmt: skip
    return job._replace(viscosity=speed * job.size / reynolds)


def settings_of(job: Job, cells: int) -> Settings:
    """Return grid and length of a run, its steps those of a light part."""
    return suited(settings_for("standard", cells)._replace(across=12.0, longest=LONGEST), job)


def measured(job: Job, history: History) -> dict[str, float]:
    """Return drag coefficient, reach and sink [width] of the late part of a history."""
    assert job.rod is not None
    width, length = job.size, float(job.rod.length.sum())
    late = history.time * job.speed / width >= LATE
    # the last solid's middle lies half its span before the blade's end
    tangent = history.axes[late, -1, :, 2]
    end = (history.centre[late, -1] + 0.5 * job.rod.span[-1] * tangent).mean(axis=0) - job.rod.root
    push = history.load[late, :, 0].sum(axis=1).mean()
    return {
        "drag": float(push / (0.5 * job.density * job.speed**2 * width * length)),
        "reach": float(end[0] / width),
        "sink": float((length - end[2]) / width),
    }


def kept() -> list[dict[str, str]]:
    """Return the rows of ``blade.csv``."""
    with (HERE / "blade.csv").open(encoding="utf-8") as file:
        return list(csv.DictReader(file))


def main() -> None:
    """Run the blade and print it beside the kept rows."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--reynolds", type=float, default=1600.0)
    parser.add_argument("--sunk", action="store_true", help="Without weight and buoyancy.")
    parser.add_argument("--cells", type=int, default=16)
    parser.add_argument("--device", choices=("auto", "cpu", "gpu"), default="auto")
    stated = parser.parse_args()
    job = blade_job(stated.reynolds, buoyant=not stated.sunk)
    _, point, _ = march_flow(job, settings_of(job, stated.cells), maker(stated.device)[1])
    print("now:", measured(job, first_rows(point.history, point.row)))
    print("measured in water at Re 1600:", MEASURED)
    for row in kept():
        print("kept:", row)


if __name__ == "__main__":
    main()
