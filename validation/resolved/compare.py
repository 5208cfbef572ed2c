"""The reduced model beside the resolved runs: ``python validation/resolved/compare.py``.

Every tail of the designs that is run at the usual grid, alone in a stream of one speed, is marched
by the reduced model at the same modulus, loss factor and speed; the rows go to ``reduced.csv``,
those of tails behind stiff bodies to ``reduced_bodies.csv``, those of baits on their soft bodies to
``reduced_baits.csv``. Baits take the modulus of the resolved
run too, at rest and in motion: that of a durometer changes with the rate, and would let the bait
lean as if it were softer. Sealed rows are marked: they judge, and set nothing.
"""

from __future__ import annotations

import csv
import math
import sys
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE))

from jobs import BODIES, DIAMETER, Row, bait_case, designs, overrides_of  # noqa: E402

from simsoft.case.model import Case  # noqa: E402
from simsoft.case.read import load  # noqa: E402
from simsoft.cli.resolve import strip_of  # noqa: E402
from simsoft.core.errors import SimsoftError  # noqa: E402
from simsoft.engine.run import run  # noqa: E402
from simsoft.lure.parts import strip_modulus, values_of  # noqa: E402
from simsoft.properties.water import resolve_water  # noqa: E402
from simsoft.resolved.tail import beat_guess  # noqa: E402
from simsoft.results.record import select  # noqa: E402

COLUMNS = (
    *("run", "sealed", "strouhal", "stroke_d", "sweep_d", "fold_back_deg", "drag", "start_mps"),
    "note",
)
DENSITY = 998.0  # [kg/m^3], of tail.toml


def plain_tails() -> Iterator[Row]:
    """Yield the rows that the reduced model can be held against at one speed."""
    for row in designs():
        alone = row["family"] == "tail" and not row["body"] and not row["motion"]
        if alone and row["cells"] == "24" and row["run"].split("-")[0] not in ("box", "reynolds"):
            yield row


def behind_bodies() -> Iterator[Row]:
    """Yield the rows of tails behind stiff bodies on the usual grid."""
    return (row for row in designs() if row["run"].startswith("body-"))


def baits() -> Iterator[Row]:
    """Yield the rows of baits at one speed on the usual grid."""
    for row in designs():
        if row["family"] == "bait" and row["cells"] == "24" and not row["motion"]:
            yield row


def reduced(row: Row) -> dict[str, str]:
    """Return the reduced model's numbers for a row of a tail."""
    stated = f"scenarios.stream.speed={float(row['speed_mps']):g} m/s"
    return numbers(row, load(HERE / "tail.toml", [*overrides_of(row), stated]), DIAMETER, DENSITY)


def reduced_behind(row: Row) -> dict[str, str]:
    """Return the reduced model's numbers for a row of a tail behind a body."""
    width, height, left = BODIES[row["body"]]
    ahead = {"body_width": width * left, "body_height": height * left}
    stated = [f"parts.tail.{key}={1e3 * size:g} mm" for key, size in ahead.items()]
    return reduced(row | {"set": "; ".join([row["set"], *stated])})


def of_one_modulus(case: Case, row: Row) -> Case:
    """Return the case of a bait with the modulus stated that its resolved run has."""
    strip, _ = strip_of(case, row["run"])
    rate = beat_guess(strip, float(row["speed_mps"]))
    modulus = strip_modulus(strip, values_of(strip), rate)
    stated = replace(case.material, hardness_scale=None, hardness=None, youngs_modulus=modulus)
    return replace(case, material=stated)


def reduced_bait(row: Row) -> dict[str, str]:
    """Return the reduced model's numbers for a row of a bait, its modulus the resolved run's."""
    case = of_one_modulus(bait_case(row), row)
    paddle = case.parts[0].paddle
    assert paddle is not None
    size = math.sqrt(paddle.width * paddle.height)
    return numbers(row, case, size, resolve_water(case.water).density)


def numbers(row: Row, case: Case, size: float, density: float) -> dict[str, str]:
    """Return what the reduced model says of a case at a row's speed, over ``size`` [m]."""
    speed = float(row["speed_mps"])
    found = {"run": row["run"], "sealed": row["sealed"]}
    try:
        result = run(case, bands=False)
    except SimsoftError as error:
        return found | {"note": str(error).splitlines()[0]}
    pressure = 0.5 * density * speed**2 * math.pi * size**2 / 4.0
    scales = {
        "flap_frequency": ("strouhal", size / speed),
        "stroke": ("stroke_d", 1.0 / size),
        "edge_to_edge": ("sweep_d", 1.0 / size),
        "fold_back": ("fold_back_deg", 1.0),
        "drag": ("drag", 1.0 / pressure),
        "start_speed": ("start_mps", 1.0),
    }
    at = next(s.name for s in case.scenarios if s.kind == "retrieve")
    for quantity, (column, scale) in scales.items():
        for record in select(result.records, quantity):
            if record.scenario == at and "state" not in record.at:
                if isinstance(record.value, float):
                    found[column] = f"{record.value * scale:.4g}"
                break
    return found


def write(name: str, found: list[dict[str, str]]) -> None:
    """Write a table of this folder."""
    with (HERE / name).open("w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, COLUMNS, lineterminator="\n")
        writer.writeheader()
        writer.writerows(found)


def main() -> None:
    """Write the tables."""
    write("reduced.csv", [reduced(row) for row in plain_tails()])
    write("reduced_bodies.csv", [reduced_behind(row) for row in behind_bodies()])
    write("reduced_baits.csv", [reduced_bait(row) for row in baits()])


if __name__ == "__main__":
    main()
