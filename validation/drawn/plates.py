"""Plates on the package's own quadrilaterals: how first wet frequencies settle, and how fast.

``python validation/drawn/plates.py --out FILE.csv`` does every outline at every count of elements
and writes each row as it is done. ``--other FILE.py`` does the same with another mesher: a Python
file with a function ``quads_on(rings, size, keep)``, as ``simsoft.geometry.meshing`` has it. Sizes
are sought until both have the same count of elements, to 4 %.
"""

from __future__ import annotations

import argparse
import csv
import runpy
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2]))  # this checkout, whatever is installed

from simsoft.bodies.plate.modes import plate_modes
from simsoft.case.read import loads
from simsoft.core.errors import InputError
from simsoft.geometry import meshing, planform
from simsoft.lure.parts import Specimen, assemble, values_of
from simsoft.lure.plate_model import build_plate

COLUMNS = ("mesher", "outline", "asked", "elements", "seconds", "worst", "f1", "f2", "f3")
COUNTS = (100, 200, 400, 800, 1600, 3200)
NEAR = 0.04  # share of the count asked for
MODES = 3
FEWEST = 5  # stations
TURN = np.linspace(0.0, 2.0 * np.pi, 96, endpoint=False)
Mesher = Callable[[Any, float, Any], tuple[Any, Any]]


def ring(x: Any, y: Any) -> list[tuple[float, float]]:
    """Return points of a closed line [mm]."""
    return [(round(float(a), 4), round(float(b), 4)) for a, b in zip(x, y, strict=True)]


BOX = [(0, -6), (30, -6), (30, 6), (0, 6)]
OUTLINES = {
    "box": [BOX],
    "claw": [[(0, -2.5), (7, -2.5), (10.5, -8), (30, -8), (36, -4), (36, 4), (30, 8), (10.5, 8),
              (7, 2.5), (0, 2.5)]],
    "egg": [[(0, -4), *ring(16.6 + 13.4 * np.cos(t := np.linspace(-2.6, 2.6, 60)),
                            9 * np.sin(t)), (0, 4)]],
    "hole": [BOX, ring(17 + 3 * np.cos(-TURN), 3 * np.sin(-TURN))],
    "scallop": [[(0, -5), *ring(6 + 24 * np.sin(s := np.linspace(0.0, np.pi, 60)) ** 0.6,
                                -8 * np.cos(s) * (1 + 0.12 * np.cos(10 * s))), (0, 5)]],
}  # fmt: skip


def case_of(rings: list[list[tuple[float, float]]]) -> Any:
    """Return a case with one drawn plate, 1.5 mm thick."""
    points = [", ".join(f'["{x} mm", "{y} mm"]' for x, y in one) for one in rings]
    holes = f"holes = [{', '.join(f'[{one}]' for one in points[1:])}]\n" if points[1:] else ""
    return loads(
        'title = "plate"\n[water]\ntemperature = "20 degC"\n[material]\ndurometer = "20 A"\n'
        '[[parts]]\nname = "pad"\nkind = "strip"\nmodel = "plate"\nthickness = "1.5 mm"\n'
        f'length = "{max(x for x, _ in rings[0])} mm"\n'
        f"outline = [{points[0]}]\n{holes}"
        '[[scenarios]]\nname = "still"\nkind = "hold"\n'
    )


def meshed(mesher: Mesher, rings: Any, keep: Any, wanted: int) -> tuple[Any, Any, float]:
    """Return nodes, quadrilaterals and seconds of the mesh nearest to a count of elements."""
    area = abs(_area(rings[0])) - sum(abs(_area(hole)) for hole in rings[1:])
    size, best, low, high = float(np.sqrt(area / wanted)), None, 0.0, np.inf
    for _ in range(14):
        begun = time.process_time()
        plan, quads = mesher(rings, size, keep)
        seconds = time.process_time() - begun
        if best is None or abs(len(quads) - wanted) < abs(len(best[1]) - wanted):
            best = plan, quads, seconds
        if abs(len(quads) - wanted) < NEAR * wanted:
            break
        low, high = (max(low, size), high) if len(quads) > wanted else (low, min(high, size))
        scaled = size * float(np.sqrt(len(quads) / wanted))
        size = scaled if low < scaled < high else 0.5 * (low + min(high, 2.0 * low or high))
    return best


def _area(points: Any) -> float:
    x, y = np.asarray(points).T
    return 0.5 * float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))


def worst_corner(plan: Any, quads: Any) -> float:
    """Return the smallest sine of any corner: 1 is square, 0 flat."""
    found = []
    for k in range(4):
        before, here, after = (plan[quads[:, (k + s) % 4]] for s in (-1, 0, 1))
        a, b = after - here, before - here
        cross = a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]
        found.append(cross / np.linalg.norm(a, axis=1) / np.linalg.norm(b, axis=1))
    return float(np.min(found))


def frequencies(case: Any, mesh: tuple[Any, Any], elements: int) -> list[float]:
    """Return the first wet frequencies [Hz] of a drawn plate on a given mesh."""
    kept = planform.quads_on
    planform.quads_on = lambda rings, size, keep: mesh
    try:
        strip, water = assemble(case).strips[0], assemble(case).water
        values = values_of(strip)
        model = build_plate(Specimen(strip, water, values, gravity=False, elements=elements))
        modulus = values["modulus"]
        return list(plate_modes(model, model.plate, modulus, model.state, MODES).frequency)
    finally:
        planform.quads_on = kept


def on_stations(case: Any, mesh: tuple[Any, Any], elements: int) -> list[float]:
    """Return the frequencies [Hz], with fewer stations where a mesh has no node near one.

    Stations are for drawing a plate; its frequencies do not depend on them.
    """
    while elements >= FEWEST:
        try:
            return frequencies(case, mesh, elements)
        except InputError:
            elements = int(0.9 * elements)
    return []


def rows(name: str, mesher: Mesher, least: int, most: int) -> Iterator[tuple[object, ...]]:
    """Yield a row for every outline and count between two."""
    for outline, rings in OUTLINES.items():
        case = case_of(rings)
        part = case.parts[0]
        for wanted in (count for count in COUNTS if least <= count <= most):
            plan, quads, seconds = meshed(mesher, part.outline, (), wanted)
            side = float(np.sqrt(abs(_area(part.outline[0])) / len(quads)))
            found = on_stations(case, (plan, quads), max(int(part.length / side), 6))
            if not found:
                continue
            yield (
                name, outline, wanted, len(quads), f"{seconds:.4f}",
                f"{worst_corner(plan, quads):.3f}", *(f"{f:.6g}" for f in found),
            )  # fmt: skip


def main() -> None:
    """Write the rows asked for."""
    words = argparse.ArgumentParser(description=__doc__)
    words.add_argument("--out", type=Path, required=True)
    words.add_argument("--other", type=Path)
    words.add_argument("--least", type=int, default=COUNTS[0], help="smallest count of elements")
    words.add_argument("--most", type=int, default=COUNTS[-1], help="largest count of elements")
    asked = words.parse_args()
    meshers = {"own": meshing.quads_on.__wrapped__}
    if asked.other is not None:
        meshers["other"] = runpy.run_path(str(asked.other))["quads_on"]
    with asked.out.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(COLUMNS)
        for name, mesher in meshers.items():
            for row in rows(name, mesher, asked.least, asked.most):
                writer.writerow(row)
                file.flush()


if __name__ == "__main__":
    main()
