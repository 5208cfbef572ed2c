"""A tail on its soft body in the resolved flow, beside the same tail held at its stem.

``python validation/resolved/soft_body.py 0.6`` runs the demo bait ``cases/swim_97.toml`` at 0.6 m/s
on 12 cells a diameter, on the processor unless ``--device gpu`` is given, and puts the row into
``soft_body.csv``; ``--stiff`` holds the tail where its stem begins. A run takes 10 to 30 minutes on
two cores. The tail is let go with eight times the usual push, so that the beat need not grow first.
Columns are in m/s, Hz, mm, degrees, mN and seconds; ``reduced_`` ones are of the reduced model.
"""

from __future__ import annotations

import argparse
import csv
import sys
import time
from pathlib import Path

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE))

from page import rows  # noqa: E402

from simsoft.case.model import Case  # noqa: E402
from simsoft.case.read import load  # noqa: E402
from simsoft.cli.resolve import job_at, scenario_of, strip_of  # noqa: E402
from simsoft.engine.run import run  # noqa: E402
from simsoft.resolved.answer import beat_in  # noqa: E402
from simsoft.resolved.choose import QUICK, maker  # noqa: E402
from simsoft.resolved.measure import word_of  # noqa: E402
from simsoft.resolved.run import march  # noqa: E402
from simsoft.results.record import select  # noqa: E402

TABLE = HERE / "soft_body.csv"
BAIT = HERE.parent.parent / "cases" / "swim_97.toml"
PUSH = 8.0  # times the usual one
LONGEST = 60.0  # [D/U]


def resolved(case: Case, speed: float, device: str) -> dict[str, str]:
    """Return what the tail does in the resolved flow at a speed [m/s]."""
    scenario = scenario_of(case, BAIT.name)
    strip, water = strip_of(case, BAIT.name)
    job = job_at(case, strip, water, scenario, speed)
    job = job._replace(rate=PUSH * job.rate)
    settings = QUICK._replace(longest=LONGEST)
    begun = time.monotonic()
    _, point, _ = march(job, settings, maker(device)[1])
    beat = beat_in(job, point)
    return {
        "cells": f"{settings.cells}",
        "word": word_of(beat, job.size),
        "beats": f"{beat.beats:g}",
        "rate": f"{beat.frequency:.4g}",
        "stroke": f"{1e3 * beat.stroke:.4g}",
        "stroke_error": f"{1e3 * beat.stroke_error:.2g}",
        "edges": f"{1e3 * beat.sweep:.4g}",
        "fold_back": f"{beat.fold_back:.4g}",
        "drag": f"{1e3 * beat.drag:.4g}",
        "seconds": f"{time.monotonic() - begun:.0f}",
    }


def reduced(case: Case, speed: float) -> dict[str, str]:
    """Return what the reduced model says of the same tail, without bands."""
    found = run(case, bands=False).records

    def number(quantity: str, scale: float) -> str:
        values = [r.value for r in select(found, quantity, speed=speed) if "state" not in r.at]
        return f"{scale * values[0]:.4g}" if values and isinstance(values[0], float) else ""

    return {
        "reduced_word": str(select(found, "verdict", speed=speed)[0].value),
        "reduced_rate": number("flap_frequency", 1.0),
        "reduced_stroke": number("stroke", 1e3),
        "reduced_edges": number("edge_to_edge", 1e3),
        "reduced_fold_back": number("fold_back", 1.0),
        "reduced_drag": number("drag", 1e3),
    }


def main() -> None:
    """Run the bait at the speed named on the command line and keep its row."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("speed", type=float, metavar="M/S")
    parser.add_argument("--stiff", action="store_true")
    parser.add_argument("--device", default="cpu", choices=("cpu", "gpu"))
    options = parser.parse_args()
    changed = [f'scenarios.retrieve.speed=["{options.speed:g} m/s"]']
    changed += ["body.flexible=false"] if options.stiff else []
    case = load(BAIT, changed)
    held = "stem" if options.stiff else "hook"
    key = {"run": f"{held}-{options.speed:g}", "held_at": held, "speed": f"{options.speed:g}"}
    row = key | resolved(case, options.speed, options.device) | reduced(case, options.speed)
    kept = (rows(TABLE.name) if TABLE.exists() else {}) | {key["run"]: row}
    with TABLE.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, list(row), lineterminator="\n")
        writer.writeheader()
        writer.writerows(kept[name] for name in sorted(kept))
    print(row)


if __name__ == "__main__":
    main()
