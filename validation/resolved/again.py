"""Make a row of the resolved runs again: ``python validation/resolved/again.py RUN [RUN ...]``.

``--device cpu|gpu`` chooses where, ``--cells N`` another grid. The new row is printed below the
one that is kept. On two cores a usual tail takes hours; add ``--cells 10`` for a look.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

import numpy as np

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE))

from jobs import Row, designs, job_of  # noqa: E402
from reduce import OF_BAIT, ramp_row, solid_row, tail_row  # noqa: E402
from tables import rows  # noqa: E402

from simsoft.resolved.choose import maker  # noqa: E402
from simsoft.resolved.measure import WINDOW  # noqa: E402
from simsoft.resolved.pieces import CLAMP  # noqa: E402
from simsoft.resolved.run import first_rows, march_flow  # noqa: E402


def again(row: Row, device: str, cells: int | None) -> dict[str, str]:
    """Run a row and return its numbers."""
    job, settings = job_of(row)
    if cells is not None:
        settings = settings._replace(cells=cells, stride=max(2, round(5 * cells / 24)))
    _, point, _ = march_flow(job, settings, maker(device)[1])
    history = first_rows(point.history, point.row)
    pressure = 0.5 * job.density * job.pace**2 * np.pi * job.size**2 / 4.0
    if row["family"] == "solid":
        word, *numbers = row["motion"].partition(" lean ")[0].split()
        held = word == "held"
        if row["set"].startswith("cylinder"):
            pressure = 0.5 * job.density * job.pace**2 * job.size**2 * settings.span
        if row["set"].startswith("plate"):
            pressure *= 4.0 / np.pi
        return solid_row(
            history.time, history.load[:, 0], size=job.size, pressure=pressure,
            frequency=0.0 if held else float(numbers[0]) * job.pace / job.size,
            axis=0 if "surge" in word else 2 if word == "heave" else 1,
            hold=settings.hold * job.size / job.pace,
            amplitude=1.0 if held else float(numbers[1]), turn=3 if word == "roll" else 5,
        )  # fmt: skip
    ridden = np.flatnonzero(job.pieces.link != CLAMP)
    paddle = int(ridden[-1])
    if row["motion"].startswith("ramp"):
        return ramp_row(history.time, history.centre[:, paddle], history.ratio, size=job.size)
    return tail_row(
        history.time, history.centre[:, paddle], history.axes[:, paddle], history.tangent,
        history.load[:, ridden, :3].sum(axis=1), history.load[:, paddle],
        size=job.size, speed=job.pace, pressure=pressure,
        window=OF_BAIT if row["family"] == "bait" else WINDOW,
    )  # fmt: skip


def main() -> None:
    """Run the rows named on the command line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("runs", nargs="+")
    parser.add_argument("--device", choices=("auto", "cpu", "gpu"), default="auto")
    parser.add_argument("--cells", type=int)
    stated = parser.parse_args()
    known, kept = {row["run"]: row for row in designs()}, rows("results.csv")
    for run in stated.runs:
        if run not in known:
            parser.error(f"{run}: no such run; see designs.csv")
        found = again(known[run], stated.device, stated.cells)
        before = kept.get(run, {})
        print(run, "kept:", {k: before.get(k, "") for k in found})
        print(run, "now: ", found)


if __name__ == "__main__":
    main()
