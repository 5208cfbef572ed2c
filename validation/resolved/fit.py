"""Set the coefficients of a paddle's load and wake: ``python validation/resolved/fit.py``.

Three kinds of resolved runs set ten coefficients together: open tails and soft-bodied baits, each
marched by the reduced model (``marched.py``); discs that are forced to sway, yaw, rock, roll and
heave; and discs that are held at an angle. Least squares starts at the defaults of
``simsoft/properties/coefficients.py`` and ``simsoft/lure/shading.py``. Each kind alone gives
the ends of the bands. Both stand in ``coefficients.csv``. Sealed rows are left out.

The constants of the law itself (``LEAN``, ``RIM_LIMIT``, ``SIDE_DAMPING``, ``RIM_SPIN_DRAG`` and
``RIM_SPIN`` in ``simsoft/hydrodynamics``) were set once, together with the coefficients and by the
same runs. This script does not move them.
"""

from __future__ import annotations

import csv
import math
import sys
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
from scipy.optimize import least_squares
from scipy.spatial.transform import Rotation

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE))

from jobs import HUNG, designs  # noqa: E402
from led import FIXED, disc, load_along  # noqa: E402
from marched import KINDS, Marched, misfit_of_rows, open_rows  # noqa: E402
from tables import rows, value  # noqa: E402

from simsoft.case.read import load  # noqa: E402
from simsoft.hydrodynamics.paddle import paddle_load  # noqa: E402
from simsoft.hydrodynamics.rim import no_rim  # noqa: E402
from simsoft.lure.shading import SOFT_SHARE  # noqa: E402
from simsoft.properties.coefficients import coefficients  # noqa: E402

SAMPLES, PERIODS, KEPT = 96, 8, 4  # a period; all; those that are looked at
SQUARE = np.array([[0.0, 0.0, 1.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0]])
# Coefficient: what it is known to be beside these runs, and to what (one standard deviation).
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
    "soft_share": (0.6, 0.4),
}
STEP = 0.1  # standard deviations, for slopes: marches answer in small jumps
ROUNDS = 3  # of least squares at most: the defaults are near
OF_FORCED = 1.5  # weight of the force on a forced disc over q A, beside the rows' residuals
OF_HELD = 12.0  # the same of a held one
MOTIONS = ("sway", "yaw", "rock", "roll", "heave")


class Runs(NamedTuple):
    """The runs that set coefficients.

    Attributes
    ----------
    marched : list of Marched, open tails and baits
    forced : list of (result row, motion, thickness, word)
    held : list of (result row, angle [rad], thickness)
    """

    marched: list[Marched]
    forced: list[tuple[dict[str, str], dict[str, Any], float, str]]
    held: list[tuple[dict[str, str], float, float]]

    def those(self, kind: str) -> Runs:
        """Return the runs of one kind: 'tails', 'baits' or 'discs'."""
        if kind == "discs":
            return self._replace(marched=[])
        wanted = KINDS[kind.removesuffix("s")]
        return Runs([row for row in self.marched if row.kind is wanted], [], [])


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


def all_runs() -> Runs:
    """Return every open run that sets coefficients."""
    kept, forced_runs, held_runs = rows("results.csv"), [], []
    for row in designs():
        stated, _, lean = row["motion"].partition(" lean ")
        word, *numbers = stated.split() or [""]
        if not row["set"].startswith("disc") or row["run"] not in kept:
            continue
        result, thickness = kept[row["run"]], float(row["set"].split()[1])
        if word in MOTIONS:
            motion = forced(word, float(numbers[0]), float(numbers[1]), float(lean or 0.0))
            forced_runs.append((result, motion, thickness, word))
        elif word == "held":
            held_runs.append((result, math.radians(float(numbers[0])), thickness))
    return Runs(open_rows(kept), forced_runs, held_runs)


def misfit_of_forced(known: list[Any], values: dict[str, float]) -> np.ndarray:
    """Return the residuals of forced discs: force, moment and mean drag."""
    found: list[float] = []
    for result, motion, thickness, word in known:
        answer = answered(motion, thickness, values)
        axis, turn = (2 if word == "heave" else 1), (0 if word == "roll" else 2)
        force = answer["force"][axis] - _phasor(result, "")
        moment = answer["moment"][turn] - _phasor(result, "moment_")
        weight = min(2.0, motion["size"] / 0.15)
        found += [weight * force.real, 1.5 * weight * force.imag]
        found += [2.0 * weight * moment.real, 2.0 * weight * moment.imag]
        found.append(0.7 * (answer["drag"] - value(result["drag"])))
    return OF_FORCED * np.array(found)


def _phasor(result: dict[str, str], of: str) -> complex:
    return complex(value(result[f"{of}in_phase"]), value(result[f"{of}out_of_phase"]))


def misfit_of_held(known: list[Any], values: dict[str, float]) -> np.ndarray:
    """Return the residuals of held discs: the force along the normal."""
    found = []
    for result, angle, thickness in known:
        paddle, _ = disc(thickness, values)
        across, along = math.cos(angle), math.sin(angle)
        wrench = np.zeros(6)
        paddle_load(paddle, np.array([along, 0.0, -across, 0.0, 0.0, 0.0]), no_rim(), wrench)
        normal = value(result["drag"]) * across + value(result["mean_force_y"]) * along
        found.append(abs(wrench[5]) / (0.5 * math.pi / 4.0) - normal)
    return OF_HELD * np.array(found)


def misfit(runs: Runs, tried: dict[str, float]) -> np.ndarray:
    """Return the residuals of runs with coefficients as they are tried."""
    values = tried | FIXED
    return np.concatenate([
        misfit_of_rows(runs.marched, tried),
        misfit_of_forced(runs.forced, values),
        misfit_of_held(runs.held, values),
    ])  # fmt: skip


def defaults() -> dict[str, float]:
    """Return the coefficients as the package has them."""
    given = coefficients(load(HERE / "tail.toml").parts[0])
    return {name: given[name].value for name in FREE if name in given} | {
        "soft_share": SOFT_SHARE.value
    }


def set_on(runs: Runs) -> dict[str, float]:
    """Return the coefficients that fit a set of runs best, by least squares from the defaults on.

    Numbers are in standard deviations of ``FREE``.
    """
    known, doubt = (np.array(column) for column in zip(*FREE.values(), strict=True))

    def named(numbers: np.ndarray) -> dict[str, float]:
        return dict(zip(FREE, map(float, numbers * doubt), strict=True))

    def residuals(numbers: np.ndarray) -> np.ndarray:
        return np.concatenate([misfit(runs, named(numbers)), numbers - known / doubt])

    def slopes(numbers: np.ndarray) -> np.ndarray:
        steps = STEP * np.eye(len(numbers))
        sides = [[residuals(numbers + sign * step) for sign in (1.0, -1.0)] for step in steps]
        return np.column_stack([(up - down) / (2.0 * STEP) for up, down in sides])

    start = np.array(list(defaults().values())) / doubt
    return named(least_squares(residuals, start, jac=slopes, max_nfev=ROUNDS).x)


def keep(found: dict[str, dict[str, float]]) -> None:
    """Write the coefficients that each set of runs asks for to ``coefficients.csv``."""
    with (HERE / "coefficients.csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(["run", *FREE])
        for name, values in found.items():
            writer.writerow([name, *(f"{number:.3g}" for number in values.values())])


def main() -> None:
    """Fit, keep and print."""
    runs, found = all_runs(), {}
    for name in ("together", "discs", "tails", "baits"):
        chosen = runs if name == "together" else runs.those(name)
        found[name] = set_on(chosen)
        costs = [float((misfit(chosen, tried) ** 2).sum()) for tried in (defaults(), found[name])]
        numbers = ", ".join(f"{key} {number:.3g}" for key, number in found[name].items())
        print(f"{name}: misfit {costs[0]:.1f} by the defaults, {costs[1]:.1f} by {numbers}",
              flush=True)  # fmt: skip
    keep(found)


if __name__ == "__main__":
    main()
