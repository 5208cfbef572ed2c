"""The designed set of resolved runs: what is run, at what grid, and which runs are sealed.

``python validation/resolved/design.py`` writes ``designs.csv`` again; the same seed gives the same
rows. A third of the tails, drawn at random, is sealed: no coefficient may be set by them.
"""

from __future__ import annotations

import csv
import math
from pathlib import Path

import numpy as np
import soft_baits
from scipy.stats import qmc

HERE = Path(__file__).parent
COLUMNS = (
    "run", "family", "sealed", "set", "body", "speed_mps", "reynolds", "cells", "across",
    "longest", "motion", "grid",
)  # fmt: skip
SEED = 7
DIAMETER = 15.0  # [mm]
STREAM = 0.5  # [m/s]
SHARE_SEALED = 1.0 / 3.0
# Sizes [mm], modulus [kPa], density [kg/m^3], angle [deg] and speed [m/s] that the sample covers.
RANGES = {
    "offset": (0.0, 0.6 * DIAMETER),
    "paddle_thickness": (0.07 * DIAMETER, 0.3 * DIAMETER),
    "length": (DIAMETER / 2.0, DIAMETER / 0.6),
    "thickness": (1.8, 4.5),
    "width": (3.0, 8.0),
    "modulus": (30.0, 400.0),
    "density": (950.0, 1200.0),
    "angle": (60.0, 100.0),
    "speed": (0.15, 1.2),
}
LIVELY = (0.3, 2.5)  # natural over beat frequency of the designs taken from the sample
HIGHEST_REYNOLDS = 8000.0


def sets(**values: float) -> str:
    """Return overrides of the base case, as on the command line, parted by semicolons."""
    names = {
        "offset": ("parts.tail.paddle_offset", "mm"),
        "paddle_thickness": ("parts.tail.paddle_thickness", "mm"),
        "length": ("parts.tail.length", "mm"),
        "thickness": ("parts.tail.thickness", "mm"),
        "width": ("parts.tail.width", "mm"),
        "angle": ("parts.tail.paddle_angle", "deg"),
        "modulus": ("material.youngs_modulus", "kPa"),
        "density": ("material.density", "kg/m^3"),
    }
    return "; ".join(f"{names[k][0]}={v:g} {names[k][1]}" for k, v in values.items())


def liveliness(d: dict[str, float]) -> float:
    """Return the natural frequency of the tail, roughly, over a beat of 0.2 U/D."""
    inertia = d["width"] * d["thickness"] ** 3 / 12.0 * 1e-12
    length, radius = d["length"] * 1e-3, 0.5 * DIAMETER * 1e-3
    mass = 8.0 / 3.0 * 998.0 * radius**3
    mass += d["density"] * math.pi * radius**2 * d["paddle_thickness"] * 1e-3
    natural = math.sqrt(3.0 * d["modulus"] * 1e3 * inertia / (mass * length**3)) / (2.0 * math.pi)
    return natural / (0.2 * d["speed"] / (2.0 * radius))


def sample(count: int) -> list[dict[str, float]]:
    """Return designs of a scrambled Sobol sample that are neither rigid nor limp."""
    found: list[dict[str, float]] = []
    points = qmc.Sobol(len(RANGES), seed=SEED).random(2048)
    for point in points:
        design = {
            name: float(f"{low + share * (high - low):.3g}")
            for share, (name, (low, high)) in zip(point, RANGES.items(), strict=True)
        }
        if LIVELY[0] < liveliness(design) < LIVELY[1]:
            found.append(design)
        if len(found) == count:
            return found
    raise RuntimeError("the sample is too small")


def reynolds(speed: float) -> float:
    """Return the Reynolds number of the paddle in water, as far as it is run."""
    return min(HIGHEST_REYNOLDS, round(speed * DIAMETER * 1e-3 * 998.0 / 1e-3, -1))


def tail(run: str, speed: float = STREAM, **row: object) -> dict[str, object]:
    """Return the row of a tail in a stream."""
    base: dict[str, object] = {
        "run": run, "family": "tail", "set": "", "body": "", "speed_mps": speed,
        "reynolds": reynolds(speed), "cells": 24, "across": 6, "longest": 60,
        "motion": "", "grid": "",
    }  # fmt: skip
    return base | row


def drawn() -> list[dict[str, object]]:
    """Return the tails of the sample."""
    designs = sample(60)
    speeds = [design.pop("speed") for design in designs]
    return [
        tail(f"sample-{k:02d}", speed=speed, set=sets(**design))
        for k, (speed, design) in enumerate(zip(speeds, designs, strict=True))
    ]


def tails() -> list[dict[str, object]]:
    """Return the tails: sweeps about the base case, the sample, bodies ahead, ramps."""
    rows = [tail(f"offset-{x:g}", set=sets(offset=x)) for x in (0, 1, 2, 3, 4, 5, 6, 7.5, 9)]
    rows += [
        tail(f"thick-{x:g}", set=sets(paddle_thickness=x)) for x in (1.05, 1.5, 2.0, 2.5, 3.75, 4.5)
    ]
    rows += [tail(f"speed-{x:g}", speed=x) for x in (0.2, 0.3, 0.4, 0.7, 0.9)]
    rows += drawn()
    for body in ("slim", "deep", "blunt"):
        for offset in (2.0, 6.0):
            for speed in (0.5, 0.8):
                name = f"body-{body}-{offset:g}-{speed:g}"
                rows.append(tail(name, speed=speed, set=sets(offset=offset), body=body))
    ramp = "ramp 5 0.3 75 1.4 145 0.3"
    for offset, thickness in ((0, 3), (2, 3), (4, 3), (6, 3), (8, 3), (6, 1.5), (6, 2), (6, 4)):
        rows.append(
            tail(
                f"ramp-{offset}-{thickness:g}", speed=0.6, longest=150, motion=ramp,
                set=sets(offset=offset, paddle_thickness=thickness),
            )
        )  # fmt: skip
    return rows


def numerics() -> list[dict[str, object]]:
    """Return runs that show what grid, box and Reynolds number do."""
    rows = []
    for cells in (16, 36):
        for name, change in (("deep", {}), ("centred", {"offset": 0.0}),
                             ("thin", {"paddle_thickness": 1.5})):  # fmt: skip
            long = 60 if cells < 24 else 40
            rows.append(tail(f"grid-{name}-{cells}", set=sets(**change), cells=cells, longest=long))
    fine = {
        "offset-2": {"offset": 2.0},
        "offset-4": {"offset": 4.0},
        "thick-2": {"paddle_thickness": 2.0},
        "thick-4.5": {"paddle_thickness": 4.5},
    }
    rows += [tail(f"fine-{n}", set=sets(**c), cells=36, longest=45) for n, c in fine.items()]
    rows += [tail(f"fine-speed-{x:g}", speed=x, cells=36, longest=45) for x in (0.4, 0.7)]
    rows += [
        tail(f"fine-body-{x:g}", set=sets(offset=x), body="deep", cells=32, longest=45)
        for x in (2.0, 6.0)
    ]
    rows += [row | {"run": f"fine-{row['run']}", "cells": 36, "longest": 50} for row in drawn()]
    rows.append(tail("box-deep-9", across=9))
    rows.append(tail("box-centred-9", across=9, set=sets(offset=0.0)))
    rows += [tail(f"reynolds-{re}", reynolds=re) for re in (500, 1000, 2000, 4000, 16000)]
    return rows


def discs() -> list[dict[str, object]]:
    """Return discs that are held at a yaw or forced to move; thickness is in diameters."""
    base = {"family": "solid", "body": "", "speed_mps": STREAM, "reynolds": 4000, "cells": 24,
            "across": 6, "grid": ""}  # fmt: skip
    rows: list[dict[str, object]] = []
    for yaw in (0, 10, 20, 30, 45, 60, 75):
        rows.append(base | {"run": f"held-{yaw}", "set": "disc 0.2", "longest": 30,
                            "motion": f"held {yaw}"})  # fmt: skip
    for thick in (0.07, 0.1, 0.3):
        rows.append(base | {"run": f"held-0-{thick:g}", "set": f"disc {thick:g}", "longest": 30,
                            "motion": "held 0"})  # fmt: skip
    for thick in (0.07, 0.1, 0.2, 0.3):
        for rate in (0.1, 0.15, 0.2, 0.25, 0.35) if thick in (0.1, 0.2) else (0.15, 0.2):
            rows.append(base | {"run": f"sway-{thick:g}-{rate:g}", "set": f"disc {thick:g}",
                                "longest": 45, "motion": f"sway {rate:g} 0.15"})  # fmt: skip
    rows.append(base | {"run": "sway-0.2-0.2-big", "set": "disc 0.2", "longest": 45,
                        "motion": "sway 0.2 0.4"})  # fmt: skip
    rows += swaying(base)
    for rate in (0.1, 0.2, 0.35):
        rows.append(base | {"run": f"yaw-{rate:g}", "set": "disc 0.2", "longest": 45,
                            "motion": f"yaw {rate:g} 0.25"})  # fmt: skip
        rows.append(base | {"run": f"surge-{rate:g}", "set": "disc 0.2", "longest": 45,
                            "motion": f"surge {rate:g} 0.1"})  # fmt: skip
        rows.append(base | {"run": f"rock-{rate:g}", "set": "disc 0.2", "longest": 45,
                            "motion": f"rock {rate:g} 0.25"})  # fmt: skip
    return rows


def swaying(base: dict[str, object]) -> list[dict[str, object]]:
    """Return discs that sway otherwise: thicker, wider, leant back, rolling, on a finer grid."""
    motions: list[tuple[float, str, int]] = []
    motions += [(0.07, f"sway {f:g} 0.15", 24) for f in (0.1, 0.25, 0.35)]
    motions += [(0.14, f"sway {f:g} 0.15", 24) for f in (0.1, 0.15, 0.2, 0.25, 0.35)]
    motions += [(0.3, f"sway {f:g} 0.15", 24) for f in (0.1, 0.25, 0.35)]
    motions += [(0.2, f"sway {f:g} 0.15", 24) for f in (0.05, 0.175)]
    motions += [(0.2, f"sway {f:g} {a:g}", 24) for f in (0.15, 0.2) for a in (0.05, 0.3, 0.5)]
    for lean in (20, 40):
        motions += [(0.2, f"sway {f:g} 0.15 lean {lean}", 24) for f in (0.15, 0.2, 0.25)]
        motions.append((0.2, f"roll 0.2 0.3 lean {lean}", 24))
    motions += [(0.2, f"roll {f:g} 0.3 lean 0", 24) for f in (0.15, 0.2)]
    motions += [(0.2, f"heave {f:g} 0.15 lean 20", 24) for f in (0.15, 0.2)]
    motions += [(h, f"sway {f:g} 0.15", 36) for h, f in
                ((0.07, 0.2), (0.1, 0.2), (0.2, 0.15), (0.2, 0.2), (0.2, 0.25))]  # fmt: skip
    return [
        base | {"run": f"{'-'.join(motion.split())}-of-{thick:g}-at-{cells}", "cells": cells,
                "set": f"disc {thick:g}", "longest": 45, "motion": motion}
        for thick, motion, cells in motions
    ]  # fmt: skip


def textbook() -> list[dict[str, object]]:
    """Return solids whose loads are in books: see ``expected.toml``."""

    def solid(run: str, shape: str, re: float, **row: object) -> dict[str, object]:
        base: dict[str, object] = {
            "run": run, "family": "solid", "set": shape, "body": "", "speed_mps": STREAM,
            "reynolds": re, "cells": 24, "across": 6, "longest": 30, "motion": "held 0", "grid": "",
        }  # fmt: skip
        return base | row

    roomy = "ahead=8 behind=14 hold=0 smagorinsky=0"
    rows = [
        solid(f"ball-100-{n}", "ball", 100, cells=n, across=14, longest=14, grid=roomy)
        for n in (12, 16, 24)
    ]
    rows.append(
        solid("ball-300", "ball", 300, cells=20, across=9, longest=110,
              grid="ahead=5 behind=12 hold=0 smagorinsky=0")
    )  # fmt: skip
    rows.append(
        solid("cylinder-100", "cylinder", 100, cells=20, across=24, longest=150,
              grid="ahead=10 behind=20 hold=0 smagorinsky=0 span=0.3")
    )  # fmt: skip
    rows.append(solid("plate-thin", "plate 0.08", 4000, across=9, longest=40))
    rows.append(solid("disc-thin", "disc 0.08", 4000, across=9, longest=40))
    quiet = "pace=0.03 hold=0 ahead=3 behind=3"
    for name, shape in (("ball", "ball"), ("thin", "disc 0.07"), ("thick", "disc 0.2")):
        rows.append(
            solid(
                f"added-{name}", shape, 8000, longest=8, motion="still-surge 0.5 0.05", grid=quiet
            )
        )
    for name, shape in (("thin", "disc 0.07"), ("thick", "disc 0.2")):
        rows.append(
            solid(f"rotary-{name}", shape, 8000, longest=8, motion="still-yaw 0.5 0.1", grid=quiet)
        )
    for offset in (0, 6):
        rows.append(tail(f"ringdown-{offset}", speed=0.3, set=sets(offset=offset), longest=25,
                         motion="ring-down", grid="pace=0.03 hold=0 ahead=3 behind=4"))  # fmt: skip
    return rows


def rows() -> list[dict[str, object]]:
    """Return every row, sealed ones marked."""
    random = np.random.default_rng(SEED)
    found = tails()
    for row in found:
        row["sealed"] = int(random.random() < SHARE_SEALED)
    others = numerics() + discs() + textbook()
    sealed = {row["run"]: row["sealed"] for row in found}
    for row in others:
        row["sealed"] = sealed.get(str(row["run"]).removeprefix("fine-"), 0)
    return found + others + soft_baits.rows()


def main() -> None:
    """Write ``designs.csv``."""
    with (HERE / "designs.csv").open("w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, COLUMNS, lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows())


if __name__ == "__main__":
    main()
