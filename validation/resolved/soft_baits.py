"""Soft-bodied swim-baits of the resolved set: the demo, five of the trade, and a drawn sample.

Their rows stand in ``designs.csv`` with the others. ``body`` names the case; what is soft behind
the hook bends with the tail. A third of the sample and of the trade's baits is sealed.
"""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
from scipy.stats import qmc

HERE = Path(__file__).parent
SEED = 23
COUNT = 30
SHARE_SEALED = 1.0 / 3.0
VISCOSITY = 1.0e-6  # [m^2/s], of bait.toml
# Sizes are shares of the body's length, or of what is named; modulus [kPa], angle [deg], speed
# [m/s]. They hold those of the trade (common practice, no source).
RANGES = {
    "length": (55.0, 140.0),  # [mm]
    "height": (0.16, 0.24),
    "width": (0.6, 0.85),  # of the height
    "diameter": (0.14, 0.2),
    "stem": (0.1, 0.16),
    "thickness": (0.025, 0.045),
    "upright": (1.1, 1.8),  # stem's width over its thickness
    "paddle": (0.12, 0.28),  # thickness over diameter
    "offset": (0.0, 0.35),  # of the diameter
    "angle": (75.0, 95.0),
    "shank": (0.35, 0.5),
    "modulus": (30.0, 250.0),
    "speed": (0.2, 1.0),
}
CASES = {
    "swim_97": HERE.parent.parent / "cases" / "swim_97.toml",
    "bait": HERE / "bait.toml",
} | {
    name: HERE.parent / "brackets" / f"{name}.toml" for name in ("S01", "S02", "S08", "S11", "S12")
}
TRADE = {"S01": (0.3, 0.6), "S02": (0.2, 0.4, 0.8), "S08": (0.4, 0.8), "S11": (0.5, 0.9),
         "S12": (0.3, 0.6)}  # fmt: skip
CASES = {
    "swim_97": HERE.parent.parent / "cases" / "swim_97.toml",
    "bait": HERE / "bait.toml",
} | {name: HERE.parent / "brackets" / f"{name}.toml" for name in TRADE}
FINE = {"swim-0.6": 40, "swim-0.9": 40}  # [D/U], of the first runs on the finer grid
SHARES = (0.0, 0.15, 0.35, 0.6, 0.85)
OF_BODY = (0.3, 0.75, 1.0, 0.6, 0.35)


def taper(most: float, least: float) -> str:
    """Return a size along the body [mm] as a case states it; it ends as thick as the stem."""
    sizes = [f'"{max(most * share, least):.3g} mm"' for share in OF_BODY] + [f'"{least:.3g} mm"']
    return f"{{at=[{', '.join(f'{s:g}' for s in (*SHARES, 1.0))}], value=[{', '.join(sizes)}]}}"


def sets(design: dict[str, float]) -> str:
    """Return the overrides of ``bait.toml`` that make a design of the sample."""
    long, wide = design["length"], design["diameter"] * design["length"]
    high, thick = design["height"] * long, design["thickness"] * long
    stem = thick * design["upright"]
    values = {
        "body.length": f"{long:.3g} mm",
        "body.height": taper(high, stem),
        "body.width": taper(design["width"] * high, thick),
        "rig.hook.shank": f"{design['shank'] * long:.3g} mm",
        "parts.tail.length": f"{design['stem'] * long:.3g} mm",
        "parts.tail.width": f"{stem:.3g} mm",
        "parts.tail.thickness": f"{thick:.3g} mm",
        "parts.tail.paddle_diameter": f"{wide:.3g} mm",
        "parts.tail.paddle_thickness": f"{design['paddle'] * wide:.3g} mm",
        "parts.tail.paddle_offset": f"{design['offset'] * wide:.3g} mm",
        "parts.tail.paddle_angle": f"{design['angle']:.3g} deg",
        "material.youngs_modulus": f"{design['modulus']:.3g} kPa",
    }
    return "; ".join(f"{name}={value}" for name, value in values.items())


def bait(run: str, case: str, speed: float, **row: object) -> dict[str, object]:
    """Return the row of a bait in a stream."""
    base: dict[str, object] = {
        "run": run, "family": "bait", "sealed": 0, "set": "", "body": case, "speed_mps": speed,
        "reynolds": "", "cells": 24, "across": 6, "longest": 50, "motion": "", "grid": "",
    }  # fmt: skip
    return base | row


def drawn() -> list[dict[str, object]]:
    """Return the baits of the sample, speeds evenly spread in their logarithm."""
    found: list[dict[str, object]] = []
    for k, point in enumerate(qmc.Sobol(len(RANGES), seed=SEED).random(64)[:COUNT]):
        design = {
            name: low + float(share) * (high - low)
            for share, (name, (low, high)) in zip(point, RANGES.items(), strict=True)
        }
        slow, fast = RANGES["speed"]
        speed = float(f"{slow * math.pow(fast / slow, float(point[-1])):.2g}")
        found.append(bait(f"bait-{k:02d}", "bait", speed, set=sets(design)))
    return found


def rows() -> list[dict[str, object]]:
    """Return every row of a bait: the demo over speeds, held at its stem, the trade's, drawn."""
    stiff = "body.flexible=false"
    found = [bait(f"swim-{v:g}", "swim_97", v) for v in (0.2, 0.3, 0.45, 0.6, 0.75, 0.9)]
    found += [bait(f"swim-stiff-{v:g}", "swim_97", v, set=stiff) for v in (0.6, 0.9)]
    judges = [bait(f"{name}-{v:g}", name, v) for name, speeds in TRADE.items() for v in speeds]
    judges += drawn()
    random = np.random.default_rng(SEED)
    for row in judges:
        row["sealed"] = int(random.random() < SHARE_SEALED)
    fine = [
        row | {"run": f"fine-{row['run']}", "cells": 36, "longest": FINE.get(str(row["run"]), 44)}
        for row in found + judges
    ]
    ramp = "ramp 5 0.2 65 1.2 125 0.2"
    ramps = [bait("ramp-swim", "swim_97", 0.6, longest=130, motion=ramp)]
    return found + judges + fine + ramps
