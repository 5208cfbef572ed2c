"""Set the coefficients of a paddle's wake: ``python validation/resolved/fit.py [--tails]``.

The loads of ``simsoft.hydrodynamics`` are led along the forced motions of discs (sway, yaw, rock,
roll and heave) and along the paths of the open baits that beat by themselves (``led.py``). Force,
moment, mean drag and the power that is fed in are held against what the resolved flow found. Least
squares sets the coefficients on both together, and on discs and on baits apart, which gives the
ends of the bands; ``coefficients.csv`` keeps them. ``--tails`` marches the open tails with several
rim forces. Sealed rows are left out.
"""

from __future__ import annotations

import argparse
import csv
import math
import sys
from pathlib import Path
from typing import Any

import numpy as np
from scipy.optimize import least_squares
from scipy.spatial.transform import Rotation

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE))

from compare import plain_tails, reduced  # noqa: E402
from jobs import HUNG, designs  # noqa: E402
from led import disc, load_along, misfit_along, paths, powers, spin_share  # noqa: E402
from tables import MOVES, Table, best, rows, value  # noqa: E402

SAMPLES, PERIODS, KEPT = 96, 8, 4  # a period; all; those that are looked at
SQUARE = np.array([[0.0, 0.0, 1.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0]])
# Coefficient: start, what it is known to beside these runs (one standard deviation).
FREE = {
    "rim_force": (4.0, 1.2),
    "rim_rate": (0.165, 0.02),
    "rim_damping": (0.36, 0.15),
    "rim_inertia": (0.8, 0.3),
    "force_growth": (0.8, 0.5),
    "rotary_damping": (0.75, 0.3),
    "munk": (0.1, 0.1),
    "paddle_normal_force": (1.08, 0.06),
    "centre_of_pressure": (1.2, 0.15),
}
KNOWN = 0.5  # weight of what is known beside these runs
OF_DISC = 0.15  # weight of a forced disc beside a path
FIXED = {"skin_friction": 0.01}
TRIALS = (3.4, 4.3, 5.0)


def forced(word: str, rate: float, size: float, lean: float) -> dict[str, Any]:
    """Return the motion of a disc of one metre in water that comes at one metre a second."""
    step = 1.0 / rate / SAMPLES
    time = step * np.arange(SAMPLES * PERIODS)
    wave = size * np.sin(2.0 * math.pi * rate * time)
    place, turn, pivot = np.zeros((len(time), 3)), np.zeros((len(time), 3)), np.zeros(3)
    if word in ("sway", "heave"):
        place[:, 1 if word == "sway" else 2] = wave
    else:
        turn[:, 0 if word == "roll" else 2] = wave
        pivot[0] = -0.55 if word == "rock" else 0.0
        pivot[2] = HUNG if word == "roll" else 0.0
    turned = Rotation.from_rotvec(turn).as_matrix()
    place += pivot - turned @ pivot
    axes = turned @ Rotation.from_euler("y", -lean, degrees=True).as_matrix() @ SQUARE

    def change(values: np.ndarray) -> np.ndarray:
        return np.asarray(np.gradient(values, step, axis=0, edge_order=2))

    def inside(values: np.ndarray) -> np.ndarray:
        return np.asarray(np.einsum("tij,ti->tj", axes, values))

    velocity, spin = change(place), change(turn)
    return {
        "step": step, "time": time, "axes": axes, "rate": rate, "size": size,
        "motion": np.hstack([inside(velocity - np.array([1.0, 0.0, 0.0])), inside(spin)]),
        "acceleration": np.hstack([inside(change(velocity)), inside(change(spin))]),
    }  # fmt: skip


def answered(run: dict[str, Any], thickness: float, values: dict[str, float]) -> dict[str, Any]:
    """Return force and moment phasors (3,) per size of the motion and the mean drag."""
    force, moment = load_along(run, *disc(thickness, values), substeps=1)
    late = slice(-KEPT * SAMPLES, None)
    angle = 2.0 * math.pi * run["rate"] * run["time"][late]
    wave = 2.0 * (np.sin(angle) + 1j * np.cos(angle)) / len(angle) / run["size"]
    return {
        "force": wave @ force[late], "moment": wave @ moment[late],
        "drag": force[late, 0].mean(),
    }  # fmt: skip


def trials() -> list[tuple[dict[str, str], dict[str, Any], float, str]]:
    """Return design row, motion, thickness and word of every forced run that is kept."""
    found, kept = [], rows("results.csv")
    for row in designs():
        stated, _, lean = row["motion"].partition(" lean ")
        word, *numbers = stated.split() or [""]
        if row["family"] != "solid" or row["run"] not in kept:
            continue
        if word in ("sway", "yaw", "rock", "roll", "heave"):
            motion = forced(word, float(numbers[0]), float(numbers[1]), float(lean or 0.0))
            found.append((row, motion, float(row["set"].split()[1]), word))
    return found


def misfit_of_discs(values: dict[str, float], known: list[Any], kept: Table) -> np.ndarray:
    """Return the residuals of all forced runs."""
    found: list[float] = []
    for row, motion, thickness, word in known:
        result, answer = kept[row["run"]], answered(motion, thickness, values)
        axis, turn = (2 if word == "heave" else 1), (0 if word == "roll" else 2)
        force = answer["force"][axis] - complex(
            value(result["in_phase"]), value(result["out_of_phase"])
        )
        moment = answer["moment"][turn] - complex(
            value(result["moment_in_phase"]), value(result["moment_out_of_phase"])
        )
        weight = min(2.0, motion["size"] / 0.15)
        found += [weight * force.real, 1.5 * weight * force.imag]
        found += [2.0 * weight * moment.real, 2.0 * weight * moment.imag]
        found.append(0.7 * (answer["drag"] - value(result["drag"])))
    return OF_DISC * np.array(found)


def set_on(discs: list[Any], along: dict[str, Any], kept: Table) -> dict[str, float]:
    """Return the coefficients that fit forced discs and paths best."""
    start, doubt = (np.array(column) for column in zip(*FREE.values(), strict=True))

    def misfit(numbers: np.ndarray) -> np.ndarray:
        values = dict(zip(FREE, numbers, strict=True)) | FIXED
        parts = [misfit_along(run, values) for run in along.values()]
        parts.append(misfit_of_discs(values, discs, kept))
        return np.concatenate([*parts, KNOWN * (numbers - start) / doubt])

    found = least_squares(misfit, start, x_scale=doubt, max_nfev=12)
    return dict(zip(FREE, map(float, found.x), strict=True))


def keep(found: dict[str, dict[str, float]]) -> None:
    """Write the coefficients that each set of runs asks for to ``coefficients.csv``."""
    with (HERE / "coefficients.csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(["run", *FREE])
        for name, values in found.items():
            writer.writerow([name, *(f"{number:.3g}" for number in values.values())])


def on_tails() -> None:
    """Print how the open tails come out with several rim forces."""
    results = best(rows("results.csv"))
    for force in TRIALS:
        right, strokes, rates, count = 0, [], [], 0
        for row in plain_tails():
            if row["sealed"] == "1":
                continue
            stated = f"{row['set']}; parts.tail.loads.rim_force={force}"
            mine, other = reduced(row | {"set": stated.removeprefix("; ")}), results[row["run"]]
            here, there = value(mine.get("stroke_d")), value(other["stroke_d"])
            count += 1
            right += (here > MOVES) == (there > MOVES)
            if here > MOVES and there > MOVES:
                strokes.append(here / there)
                rates.append(value(mine.get("strouhal")) / value(other["strouhal"]))
        print(
            f"rim_force {force}: {right} of {count} right; stroke over resolved, 10, 50, 90 %: "
            f"{np.quantile(strokes, (0.1, 0.5, 0.9)).round(2)}; rate: "
            f"{np.quantile(rates, (0.1, 0.5, 0.9)).round(2)}"
        )


def main() -> None:
    """Fit, and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--tails", action="store_true")
    stated = parser.parse_args()
    known, along, kept = trials(), paths(), rows("results.csv")
    values = set_on(known, along, kept)
    keep(
        {
            "both": values,
            "discs": set_on(known, {}, kept),
            "baits": set_on([], along, kept),
        }
    )
    print(f"rim drag against spin: {spin_share(along, values | FIXED):.2f}")
    for name, run in along.items():
        mine = powers(run, *load_along(run, *disc(float(run["thickness"]), values | FIXED)))
        theirs = powers(run, run["force"], run["moment"])
        print(f"{name}: fed {1e3 * sum(theirs):.1f}, reduced {1e3 * sum(mine):.1f}")
    if stated.tails:
        on_tails()


if __name__ == "__main__":
    main()
