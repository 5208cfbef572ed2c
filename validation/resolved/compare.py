"""The reduced model beside the resolved runs: ``python validation/resolved/compare.py``.

Every tail of the designs that is run at the usual grid, alone in a stream of one speed, is marched
by the reduced model at the same modulus, loss factor and speed; the rows go to ``reduced.csv``.
Sealed rows are marked: they judge, and set nothing.
"""

from __future__ import annotations

import csv
import sys
from collections.abc import Iterator
from pathlib import Path

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE))

from jobs import DIAMETER, Row, designs  # noqa: E402

from simsoft.case.read import load  # noqa: E402
from simsoft.core.errors import SimsoftError  # noqa: E402
from simsoft.engine.run import run  # noqa: E402
from simsoft.results.record import select  # noqa: E402

COLUMNS = ("run", "sealed", "strouhal", "stroke_d", "fold_back_deg", "drag", "start_mps", "note")
DENSITY = 998.0  # [kg/m^3], of tail.toml


def plain_tails() -> Iterator[Row]:
    """Yield the rows that the reduced model can be held against at one speed."""
    for row in designs():
        alone = row["family"] == "tail" and not row["body"] and not row["motion"]
        if alone and row["cells"] == "24" and row["run"].split("-")[0] not in ("box", "reynolds"):
            yield row


def reduced(row: Row) -> dict[str, str]:
    """Return the reduced model's numbers for a row."""
    speed = float(row["speed_mps"])
    overrides = [word.strip() for word in row["set"].split(";") if word.strip()]
    overrides.append(f"scenarios.stream.speed={speed:g} m/s")
    found = {"run": row["run"], "sealed": row["sealed"]}
    try:
        result = run(load(HERE / "tail.toml", overrides), bands=False)
    except SimsoftError as error:
        return found | {"note": str(error).splitlines()[0]}
    pressure = 0.5 * DENSITY * speed**2 * 3.14159265 * DIAMETER**2 / 4.0
    scales = {
        "flap_frequency": ("strouhal", DIAMETER / speed),
        "stroke": ("stroke_d", 1.0 / DIAMETER),
        "fold_back": ("fold_back_deg", 1.0),
        "drag": ("drag", 1.0 / pressure),
        "start_speed": ("start_mps", 1.0),
    }
    for quantity, (column, scale) in scales.items():
        for record in select(result.records, quantity)[:1]:
            if isinstance(record.value, float):
                found[column] = f"{record.value * scale:.4g}"
    return found


def main() -> None:
    """Write ``reduced.csv``."""
    rows = [reduced(row) for row in plain_tails()]
    with (HERE / "reduced.csv").open("w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, COLUMNS, lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)


if __name__ == "__main__":
    main()
