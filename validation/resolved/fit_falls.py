"""What the water does to falling bodies: ``python validation/resolved/fit_falls.py HISTORIES``.

Force and moment of the resolved falls, in windows that follow one another, are set against what
the reduced model's own laws give for the same motion: friction and nose drag along the axis, the
drag across it, the potential-flow turning moment and that of turning. Their coefficients follow by
least squares from the open falls; the sealed ones tell how well they hold.
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import NamedTuple

import h5py
import numpy as np

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE))

from falls import BALLS, overrides, rows_of, run_of, write  # noqa: E402
from jobs import Row  # noqa: E402

from simsoft.case.read import load  # noqa: E402
from simsoft.core.arrays import Array  # noqa: E402
from simsoft.hydrodynamics.rigid_base import base_drag  # noqa: E402
from simsoft.lure.assembly import assemble_whole  # noqa: E402
from simsoft.lure.free_lure import BASE, build_free, free_values  # noqa: E402
from simsoft.lure.parts import assemble  # noqa: E402
from simsoft.lure.rigid_base import AXIAL_DRAG  # noqa: E402
from simsoft.mechanics.multibody import Base  # noqa: E402
from simsoft.properties.coefficients import SKIN_FRICTION  # noqa: E402

FIRST, WINDOW = 20.0, 4.0  # [size/speed] what is left out at the start, and a window
LOADS = ("run", "slip", "across", "friction", "turning")
COEFFICIENTS = ("cross_drag", "body_friction", "axial_drag")  # of the model, in this order
SLIPS = 0.3  # of the speed across the axis, from which one along it tells friction and turning


class Windows(NamedTuple):
    """Means over windows, in the body's axes about its middle.

    Attributes
    ----------
    twist : array (W, 6) [rad/s, m/s], against still water; change : array (W, 6), its rate
    load : array (W, 6) [N m, N], of the water less buoyancy
    """

    twist: Array
    change: Array
    load: Array


def windows_of(path: Path) -> Windows:
    """Return the windows of a history."""
    with h5py.File(path, "r") as file:
        time, size, speed = (file[n][()] for n in ("history/time", "job/size", "job/speed"))
        centre = file["history/centre"][:, 0].astype(float)
        axes = file["history/axes"][:, 0].astype(float)
        load = file["history/load"][:, 0].astype(float)
    step = time[1] - time[0]
    velocity = np.gradient(centre, step, axis=0) - np.array([speed, 0.0, 0.0])
    turning = np.einsum("tij,tkj->tik", np.gradient(axes, step, axis=0), axes)
    spin = np.stack([turning[:, 2, 1], turning[:, 0, 2], turning[:, 1, 0]], axis=1)

    def own(vectors: Array) -> Array:
        return np.einsum("tij,ti->tj", axes, vectors)

    twist = np.hstack([own(spin), own(velocity)])
    loads = np.hstack([own(load[:, 3:]), own(load[:, :3])])
    rows = round(WINDOW * size / speed / step)
    first = round(FIRST * size / speed / step)
    cuts = range(first, len(time) - rows, rows)
    means = [[x[k : k + rows].mean(axis=0) for k in cuts] for x in (twist, loads)]
    change = [(twist[k + rows - 1] - twist[k]) / ((rows - 1) * step) for k in cuts]
    return Windows(np.array(means[0]), np.array(change), np.array(means[1]))


def about(wrench: Array, place: Array) -> Array:
    """Return a wrench (6,), moment first, about another place (3,) than the origin."""
    return np.concatenate([wrench[:3] - np.cross(place, wrench[3:]), wrench[3:]])


def drag_of(base: Base, twist: Array, middle: Array) -> Array:
    """Return the model's drag (6,) about the middle of a body that moves by ``twist`` there."""
    at_origin = twist.copy()
    at_origin[3:] -= np.cross(twist[:3], middle)
    wrench, slope = np.zeros(6), np.zeros((6, 6))
    base_drag(base, at_origin, wrench, slope)
    return about(wrench, middle)


def added_about(fluid: Array, middle: Array) -> Array:
    """Return the added mass (6, 6) about the middle."""
    x, y, z = middle
    move = np.eye(6)
    move[3:, :3] = -np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
    result: Array = move.T @ fluid @ move
    return result


def water_of(added: Array, twist: Array, change: Array) -> tuple[Array, Array]:
    """Return the load of potential flow (6,): of speeding up, and that which steady motion has."""
    momentum = added @ twist
    steady = np.concatenate([
        -np.cross(twist[:3], momentum[:3]) - np.cross(twist[3:], momentum[3:]),
        -np.cross(twist[:3], momentum[3:]),
    ])  # fmt: skip
    return -added @ change, steady


class Seen(NamedTuple):
    """What the windows of a fall show beside the laws; a row a window.

    Attributes
    ----------
    drag : array (W, 3, 6), of each coefficient at one; load : array (W, 6), less speeding up
    steady : array (W, 6), potential-flow load of steady motion; twist : array (W, 6)
    """

    drag: Array
    load: Array
    steady: Array
    twist: Array


def seen(row: Row, found: Windows) -> Seen:
    """Return what the windows of a fall show."""
    case = load(HERE / "fall.toml", overrides(row))
    whole = assemble_whole(case, assemble(case))
    middle = np.array([0.5 * whole.body.length, 0.0, 0.0])
    bases = []
    for name in COEFFICIENTS:
        values = free_values(whole)
        values[BASE] |= dict.fromkeys(COEFFICIENTS, 0.0) | {name: 1.0, "body_added": 1.0}
        bases.append(build_free(whole, values).tree.base)
    added = added_about(bases[0].fluid, middle)
    rows = []
    for twist, change, wrench in zip(*found, strict=True):
        slow, steady = water_of(added, twist, change)
        rows.append(
            ([drag_of(base, twist, middle) for base in bases], wrench - slow, steady, twist)
        )
    return Seen(*(np.array(column) for column in zip(*rows, strict=True)))


def shares(fall: Seen) -> dict[str, Array]:
    """Return each coefficient by window, NaN where the motion does not tell it.

    Across: the force across the axis over that of the bars' coefficients, friction taken off.
    Friction: what is left of the force along the axis without the nose's. Turning: the moment in
    the plane of the motion over that of potential flow.
    """
    velocity = fall.twist[:, 3:]
    normal = np.hypot(velocity[:, 1], velocity[:, 2])
    against = -velocity[:, 1:] / normal[:, None]
    plane = np.column_stack([0.0 * normal, -against[:, 1], against[:, 0]])
    slip = np.abs(velocity[:, 0]) / normal
    along = fall.load[:, 3] - fall.steady[:, 3]
    nose = AXIAL_DRAG.value * fall.drag[:, 2, 3]
    friction = (along - nose) / fall.drag[:, 1, 3]
    told = slip > SLIPS
    rub = np.where(told, friction, SKIN_FRICTION.value)
    force = fall.load[:, 4:] - fall.steady[:, 4:] - rub[:, None] * fall.drag[:, 1, 4:]
    across = (force * against).sum(axis=1) / (fall.drag[:, 0, 4:] * against).sum(axis=1)
    moment = ((fall.load[:, :3] - across[:, None] * fall.drag[:, 0, :3]) * plane).sum(axis=1)
    turning = moment / (fall.steady[:, :3] * plane).sum(axis=1)
    return {
        "slip": slip, "across": across, "friction": np.where(told, friction, np.nan),
        "turning": np.where(told, turning, np.nan),
    }  # fmt: skip


def main() -> None:
    """Write ``loads.csv`` from the histories of a folder; print quantiles, open and sealed."""
    known = {row["run"]: row for row in rows_of("falls.csv")}
    found = {run_of(path): path for path in sorted(Path(sys.argv[1]).glob("*.h5"))}
    kept = {row["run"]: row for row in rows_of("loads.csv")}
    sets: dict[str, list[dict[str, Array]]] = {"open": [], "sealed": []}
    for name, row in known.items():
        if name in found and name not in BALLS:
            told = shares(seen(row, windows_of(found[name])))
            sets["sealed" if row["sealed"] == "1" else "open"].append(told)
            kept[name] = {"run": name} | {
                column: f"{np.nanmedian(x):.3g}" if np.isfinite(x).any() else ""
                for column, x in told.items()
            }
    write("loads.csv", LOADS, [kept[name] for name in known if name in kept])
    for name, falls in sets.items():
        for column in LOADS[2:]:
            whole = np.concatenate([told[column] for told in falls])
            low, middle, high = np.nanquantile(whole, (0.1, 0.5, 0.9))
            print(f"{name}, {column}: {middle:.3g} ({low:.3g} to {high:.3g})")


if __name__ == "__main__":
    main()
