"""The reduced load led along the paths of baits that beat by themselves: ``resolved/led.py``.

``paths.h5`` holds the open baits: place and turn of the paddle, and force and moment of the water
on it, over speed, diameter and dynamic pressure, in whole multiples of the unit stated beside them.
Sealed baits are not in it. The load of ``simsoft.hydrodynamics`` along the same path should be the
same; where it feeds the paddle less power, the reduced bait beats less wide. No coefficient is set
by it (``fit.py`` does that); it tells where the law itself is off. Printed are the powers, resolved
first, and the root mean square of what the forces are off, over q A.
"""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import h5py
import numpy as np
from scipy.signal import savgol_filter
from scipy.spatial.transform import Rotation

from simsoft.case.model import LoadsInput, PaddleInput
from simsoft.case.read import load
from simsoft.core.arrays import Array
from simsoft.geometry.paddle import paddle_arrays
from simsoft.hydrodynamics.paddle import paddle_load
from simsoft.hydrodynamics.rim import RIM_STATES, SEEN, foretell_rim, step_rim
from simsoft.mechanics.rod import Paddle
from simsoft.properties.coefficients import coefficients

HERE = Path(__file__).parent
FIXED = {"skin_friction": 0.01}
SUBSTEPS = 6  # of the wake between two samples
SMOOTH, ORDER = 7, 3  # samples and order of the polynomials that give rates
LEAD_IN = 0.2  # share of a path over which the wake forgets how it began


def paths() -> dict[str, dict[str, Any]]:
    """Return the open baits by name: motion in plate axes, loads in the world."""
    found = {}
    with h5py.File(HERE / "paths.h5", "r") as file:
        for name, group in file.items():
            kept = {key: group[key][()] * group[key].attrs["unit"]
                    for key in ("centre", "turn", "force", "moment")}  # fmt: skip
            found[name] = _moved(kept, dict(group.attrs))
    return found


def _moved(kept: dict[str, Array], stated: dict[str, Any]) -> dict[str, Any]:
    step = float(stated["step"])

    def rate(values: Array, order: int) -> Array:
        smooth = savgol_filter(values, SMOOTH, ORDER, deriv=order, delta=step, axis=0)
        return np.asarray(smooth)

    axes = Rotation.from_quat(kept["turn"]).as_matrix()
    turning = rate(axes.reshape(-1, 9), 1).reshape(-1, 3, 3) @ axes.transpose(0, 2, 1)
    spin = np.stack([turning[:, 2, 1], turning[:, 0, 2], turning[:, 1, 0]], axis=1)
    velocity = rate(kept["centre"], 1)

    def inside(values: Array) -> Array:
        return np.asarray(np.einsum("tij,ti->tj", axes, values))

    stream = np.array([float(stated["shading"]), 0.0, 0.0])
    return stated | kept | {
        "step": step, "axes": axes, "velocity": velocity, "spin": spin,
        "motion": np.hstack([inside(velocity - stream), inside(spin)]),
        "acceleration": np.hstack([inside(rate(kept["centre"], 2)), inside(rate(spin, 1))]),
    }  # fmt: skip


def disc(thickness: float, values: dict[str, float]) -> tuple[Paddle, Array]:
    """Return a disc of one metre in water of density one, and its carried mass (6,)."""
    shape = PaddleInput("disc", 1.0, 1.0, thickness, 0.5 * math.pi, 0.0)
    paddle, _, carried = paddle_arrays(shape, LoadsInput(), values, 1.0, 1.0, 0.0)
    paddle = paddle._replace(centre=np.zeros(3), axes=np.eye(3))
    return paddle, np.diag(carried)[[3, 4, 5, 0, 1, 2]]


def load_along(
    run: dict[str, Any], paddle: Paddle, mass: Array, substeps: int = SUBSTEPS
) -> tuple[Array, Array]:
    """Return force and moment (T, 3) on a disc in the world, over q A and q A D.

    The wake takes ``substeps`` between two samples of the motion.
    """
    rim, scratch, seen = np.zeros(RIM_STATES), np.zeros(RIM_STATES), np.zeros(SEEN)
    motion, count = run["motion"], len(run["motion"])
    force, moment = np.zeros((count, 3)), np.zeros((count, 3))
    step = run["step"] / substeps
    for i, now in enumerate(motion):
        if i == 0:
            step_rim(paddle, now, rim, 0.0, scratch)
        else:
            for k in range(1, substeps + 1):
                between = motion[i - 1] + (now - motion[i - 1]) * (k / substeps)
                step_rim(paddle, between, rim, step, scratch)
        foretell_rim(paddle, rim, 0.0, scratch, seen)
        wrench = np.zeros(6)
        paddle_load(paddle, now, seen, wrench)
        inertia = mass * run["acceleration"][i]
        force[i] = run["axes"][i] @ (wrench[3:] - inertia[:3])
        moment[i] = run["axes"][i] @ (wrench[:3] - np.array([*inertia[3:5], 0.0]))
    pressure = 0.5 * math.pi / 4.0
    return force / pressure, moment / pressure


def looked_at(run: dict[str, Any]) -> slice:
    """Return the samples of a path that are held against each other."""
    return slice(int(LEAD_IN * len(run["motion"])), -SMOOTH)


def powers(run: dict[str, Any], force: Array, moment: Array) -> tuple[float, float, float]:
    """Return the mean power of sway, heave and turning, over q A U."""
    m = looked_at(run)
    fed = (force[m] * run["velocity"][m]).mean(axis=0)
    return float(fed[1]), float(fed[2]), float((moment[m] * run["spin"][m]).sum(axis=1).mean())


def main() -> None:
    """Print the power fed into every open path, and how far the forces are off."""
    given = coefficients(load(HERE / "tail.toml").parts[0])
    values = {name: band.value for name, band in given.items()}
    for name, run in paths().items():
        force, moment = load_along(run, *disc(float(run["thickness"]), values))
        theirs, mine = powers(run, run["force"], run["moment"]), powers(run, force, moment)
        off = (force - run["force"])[looked_at(run)]
        pairs = (f"{word} {1e3 * a:.1f}, {1e3 * b:.1f}" for word, a, b in
                 zip(("sway", "heave", "turning"), theirs, mine, strict=True))  # fmt: skip
        share = math.sqrt((off**2).sum(axis=1).mean())
        print(f"{name}: fed by {'; by '.join(pairs)} thousandths of q A U; force off {share:.2f}")


if __name__ == "__main__":
    main()
