"""Bodies that sink, resolved and by the reduced model: ``python validation/resolved/falls.py``.

- ``design``: writes ``falls.csv``, what is dropped.
- ``jobs DIR [RUN ...]``: writes a file a fall for ``on_card.py``, in the order given.
- ``ingest DIR``: reads the histories that came back into ``fallen.csv``.
- ``reduced``: drops the same bodies by the reduced model, into ``fallen_reduced.csv``.
- ``table``: prints both side by side as Markdown.
"""

from __future__ import annotations

import argparse
import csv
import math
import sys
from collections.abc import Iterable
from pathlib import Path

import h5py
import numpy as np

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE))

from jobs import Row  # noqa: E402
from on_card import write_job  # noqa: E402
from reduce import number  # noqa: E402

from simsoft.case.read import load  # noqa: E402
from simsoft.engine.run import run  # noqa: E402
from simsoft.lure.assembly import assemble_whole  # noqa: E402
from simsoft.lure.parts import assemble  # noqa: E402
from simsoft.resolved.fall import FALL, UP, fall_job, falling_of, roomy  # noqa: E402
from simsoft.resolved.free_body import FreeBody  # noqa: E402
from simsoft.resolved.job import Job, Settings  # noqa: E402
from simsoft.resolved.pieces import BODY_LINK, form, no_pieces, with_piece  # noqa: E402
from simsoft.resolved.run import History  # noqa: E402
from simsoft.resolved.solids import ELLIPSOID  # noqa: E402
from simsoft.results.record import select  # noqa: E402

DESIGN = ("run", "sealed", "set", "cells", "longest", "stride")
FALLEN = (
    "run", "sink_mps", "sink_error", "attitude_deg", "wobble_deg", "roll_deg", "rolled_deg",
    "glide_deg", "turn_deg_s", "depth_m", "seconds",
)  # fmt: skip
REDUCED = ("run", "sink_mps", "attitude_deg", "wobble_deg", "glide_deg", "turn_deg_s", "fall")
SEED = 11
SHARE_SEALED = 1.0 / 3.0
# Steps of the flow to one of the body. A flat body carries three times its mass of water, and the
# water answers it late by as many steps as sound takes across it: it needs the longer stride.
STRIDE, FLAT_STRIDE = 4, 8
FALLS_LEVEL = 90  # [size/speed] a body without an off-set weight is at its speed by 30
BALL = 0.01  # [m]
WATER = 998.0  # [kg/m^3]
GRAVITY = 9.80665  # [m/s^2]
# Balls by density ratio and Galileo number, and the Reynolds number at which they fall in books:
# Uhlmann & Dusek 2014, doi:10.1016/j.ijmultiphaseflow.2013.10.010 (Re 185 and 365, abstract), and
# the standard drag 1.087 at Re 100 (Clift, Grace & Weber 1978).
BALLS = {
    "ball-144": (1.5, 144.0, 185.0),
    "ball-250": (1.5, 250.0, 365.0),
    "ball-90-light": (1.02, math.sqrt(0.75 * 1.087) * 100.0, 100.0),
}


def dropped(**values: object) -> str:
    """Return overrides of ``fall.toml`` parted by semicolons."""
    names = {
        "length": ("body.length", "mm"),
        "density": ("body.density", "kg/m^3"),
        "tilt": ("scenarios.drop.tilt", "deg"),
        "mass": ("rig.weights.hook.mass", "g"),
    }
    words = []
    for name, value in values.items():
        if name == "at":
            x, z = value  # type: ignore[misc]
            words.append(f'rig.weights.hook.position=["{x} mm", "0 mm", "{z} mm"]')
        elif name == "across":
            height, width = value  # type: ignore[misc]
            words += [f"body.height={height} mm", f"body.width={width} mm"]
        elif name == "even":
            words += [f'body.{side}=["{value} mm", "{value} mm"]' for side in ("height", "width")]
        else:
            path, unit = names[name]
            words.append(f"{path}={value} {unit}")
    return "; ".join(words)


def design() -> list[dict[str, object]]:
    """Return the falls: sticks by density, size, tilt and hook, flat bodies, books, finer grids."""
    hook = {"mass": 0.6, "at": (35, 0)}
    falls = {
        "stick-1050": dropped(density=1050),
        "stick-1100": dropped(density=1100),
        "stick-1200": dropped(density=1200),
        "stick-75": dropped(length=75, across=(8, 8)),
        "stick-125": dropped(length=125, across=(10, 10)),
        "stick-tilt": dropped(tilt=35),
        "hook-1050": dropped(density=1050, **hook),
        "hook-1100": dropped(density=1100, **hook),
        "hook-1200": dropped(density=1200, **hook),
        "hook-deep": dropped(length=125, across=(10, 10), mass=0.9, at=(42, -3)),
        "hook-middle": dropped(mass=0.6, at=(48, -3)),
        "nail": dropped(mass=0.5, at=(8, 0)),
        "flat": dropped(length=90, across=(6, 24)),
        "flat-nose": dropped(length=90, across=(6, 24), mass=1.0, at=(35, 0)),
    }
    rows: list[dict[str, object]] = [
        {"run": name, "set": stated, "cells": 12,
         "longest": FALLS_LEVEL if name.startswith("stick") else 120}
        for name, stated in falls.items()
    ]  # fmt: skip
    random = np.random.default_rng(SEED)
    for row in rows:
        row["sealed"] = int(random.random() < SHARE_SEALED)
    sealed = {str(row["run"]): row["sealed"] for row in rows}
    for name in ("stick-1100", "hook-1100", "flat"):
        rows.append({"run": f"fine-{name}", "set": falls[name], "cells": 16, "longest": 60,
                     "sealed": sealed[name]})  # fmt: skip
    for length in (45, 90):
        rows.append({"run": f"bar-{length // 9}", "set": dropped(even=9, length=length),
                     "cells": 16, "longest": 80, "sealed": 0})  # fmt: skip
    rows += [
        {"run": name, "set": "", "cells": 24, "longest": 80 if "250" in name else 45, "sealed": 0}
        for name in BALLS
    ]
    for row in rows:
        row["stride"] = FLAT_STRIDE if "flat" in str(row["run"]) else STRIDE
    return rows


def ball_job(run: str) -> Job:
    """Return the job of a ball of the books, its viscosity set by the Galileo number."""
    ratio, galileo, reynolds = BALLS[run]
    water = WATER * math.pi * BALL**3 / 6.0
    scale = math.sqrt((ratio - 1.0) * GRAVITY * BALL)
    speed = scale * reynolds / galileo
    centre = BALL * np.array([0.013, 0.009, 0.006])
    solid = form(ELLIPSOID, *(3 * [0.5 * BALL]))
    body = FreeBody(
        mass=ratio * water, inertia=0.1 * ratio * water * BALL**2 * np.eye(3),
        virtual=np.diag([0.0, 0.0, 0.0, *(3 * [0.5 * water])]), weight=ratio * water * GRAVITY,
        buoyancy=water * GRAVITY, buoyancy_at=np.zeros(3), up=UP, axes=np.eye(3),
    )  # fmt: skip
    return Job(
        name=run, pieces=with_piece(no_pieces(), solid, BODY_LINK, np.zeros(3), np.eye(3)),
        rod=None, shape=np.zeros((0, 4)), rate=np.zeros((0, 3)), forced=None, speed=speed,
        pace=speed, size=BALL, density=WATER, viscosity=scale * BALL / galileo, centre=centre,
        ramp=np.zeros((0, 2)), body=body,
    )  # fmt: skip


def overrides(row: Row) -> list[str]:
    """Return the overrides of a row."""
    return [word.strip() for word in row["set"].split(";") if word.strip()]


def job_of(row: Row) -> tuple[Job, Settings]:
    """Return job and settings of a fall."""
    settings = FALL._replace(
        cells=int(row["cells"]), longest=float(row["longest"]), stride=int(row["stride"])
    )
    if row["run"] in BALLS:
        # The fast ball diverged without the closure, and then with it.
        closure = FALL.smagorinsky if row["run"] == "ball-250" else 0.0
        return ball_job(row["run"]), settings._replace(
            across=10.0, ahead=4.0, behind=8.0, smagorinsky=closure
        )
    case = load(HERE / "fall.toml", overrides(row))
    tilt = next(s.tilt for s in case.scenarios if s.kind == "sink")
    job = fall_job(row["run"], assemble_whole(case, assemble(case)), tilt=tilt)
    return job, roomy(job, settings)


def rows_of(name: str) -> list[Row]:
    """Return the rows of a table of this folder, none where it is not there."""
    path = HERE / name
    if not path.exists():
        return []
    with path.open(encoding="utf-8") as file:
        return list(csv.DictReader(file))


def write(name: str, columns: tuple[str, ...], rows: Iterable[dict[str, object]]) -> None:
    """Write a table of this folder."""
    with (HERE / name).open("w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, columns, lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)


def run_of(path: Path) -> str:
    """Return the run of a file, whose name may begin with its place in the order of the jobs."""
    return path.stem.split(".", 1)[-1]


def fallen(path: Path) -> dict[str, str]:
    """Return the row of a history that came back."""
    with h5py.File(path, "r") as file:
        history = History(*(file[f"history/{name}"][()].astype(float) for name in History._fields))
        found = falling_of(history, float(file["job/speed"][()]))
        seconds = float(file.attrs["seconds"])
    values = (
        found.sink_rate, found.sink_error, found.attitude, found.wobble, found.roll, found.rolled,
        found.glide_angle, found.turn_rate, found.depth, seconds,
    )  # fmt: skip
    return {"run": run_of(path)} | dict(zip(FALLEN[1:], map(number, values), strict=True))


def ingest(folder: Path) -> None:
    """Put the histories of a folder into ``fallen.csv``; those of earlier runs stay."""
    kept = {row["run"]: row for row in rows_of("fallen.csv")}
    known = [row["run"] for row in rows_of("falls.csv")]
    for path in sorted(folder.glob("*.h5")):
        if run_of(path) in known:
            kept[run_of(path)] = fallen(path)
    write("fallen.csv", FALLEN, [kept[run] for run in known if run in kept])


def reduced(row: Row) -> dict[str, str]:
    """Return the fall of the reduced model."""
    records = run(load(HERE / "fall.toml", overrides(row)), bands=False).records
    found = {"run": row["run"]}
    columns = {
        "sink_rate": "sink_mps", "attitude": "attitude_deg", "wobble": "wobble_deg",
        "glide_angle": "glide_deg", "turn_rate": "turn_deg_s", "fall": "fall",
    }  # fmt: skip
    for quantity, column in columns.items():
        value = select(records, quantity)[0].value
        found[column] = number(value) if isinstance(value, float) else str(value)
    return found


def table() -> str:
    """Return both models side by side as Markdown; of balls the book in place of the reduced."""
    ours = {row["run"]: row for row in rows_of("fallen.csv")}
    theirs = {row["run"]: row for row in rows_of("fallen_reduced.csv")}
    lines = [
        "| fall | sealed | sinks [m/s] | reduced | attitude [deg] | reduced | wobble [deg] "
        "| reduced | rolled [deg] | glides [deg] | reduced | reduced: it |",
        "|---" * 12 + "|",
    ]
    for row in rows_of("falls.csv"):
        name = row["run"]
        if name not in ours or name in BALLS:
            continue
        a, b = ours[name], theirs.get(name.removeprefix("fine-"), {})
        cells = [
            name, "yes" if row["sealed"] == "1" else "", a["sink_mps"], b.get("sink_mps", ""),
            a["attitude_deg"], b.get("attitude_deg", ""), a["wobble_deg"], b.get("wobble_deg", ""),
            a["rolled_deg"], a["glide_deg"], b.get("glide_deg", ""), b.get("fall", ""),
        ]  # fmt: skip
        lines.append("| " + " | ".join(cells) + " |")
    lines += ["", "| ball | Re | book | off |", "|---|---|---|---|"]
    for name, (_, _, book) in BALLS.items():
        if name in ours:
            job = ball_job(name)
            speed = float(ours[name]["sink_mps"]) * BALL / job.viscosity
            lines.append(
                f"| {name} | {speed:.1f} | {book:.0f} | {100 * (speed / book - 1):+.1f} % |"
            )
    return "\n".join(lines)


def main() -> None:
    """Do what is asked on the command line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("what", choices=("design", "jobs", "ingest", "reduced", "table"))
    parser.add_argument("folder", type=Path, nargs="?")
    parser.add_argument("runs", nargs="*", help="of the jobs; all of them if none is named")
    stated = parser.parse_args()
    if stated.what in ("jobs", "ingest") and stated.folder is None:
        parser.error(f"{stated.what} needs a folder")
    if stated.what == "design":
        write("falls.csv", DESIGN, design())
    elif stated.what == "jobs":
        known = {row["run"]: row for row in rows_of("falls.csv")}
        for place, name in enumerate(stated.runs or known):
            write_job(stated.folder / f"{place:02d}.{name}.h5", *job_of(known[name]))
    elif stated.what == "ingest":
        ingest(stated.folder)
    elif stated.what == "reduced":
        bodies = [row for row in rows_of("falls.csv")
                  if row["run"] not in BALLS and not row["run"].startswith("fine-")]  # fmt: skip
        write("fallen_reduced.csv", REDUCED, map(reduced, bodies))
    else:
        print(table())


if __name__ == "__main__":
    main()
