"""Section loads led along the paths of whole baits: ``along_body.py HISTORIES``.

``on_card.py`` leaves in a folder, for each bait, its job and the place, turn and load of every
solid. The drag, the reactive force and the added mass that ``simsoft.hydrodynamics.section`` gives
along the same paths stand beside them in ``body_loads.csv``. Each number is the part of the force
that goes with the beat, in diameters of the paddle's centre and over q A: summed over soft body
and stem by how far each length moves. Real parts go with the place, imaginary ones with the rate.
"""

from __future__ import annotations

import argparse
import csv
import sys
from pathlib import Path
from typing import Any

import h5py
import numpy as np
from scipy.signal import savgol_filter
from scipy.spatial.transform import Rotation

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE))

from simsoft.core.arrays import Array  # noqa: E402
from simsoft.hydrodynamics.section import motion  # noqa: E402
from simsoft.hydrodynamics.section.reactive import section_reaction  # noqa: E402
from simsoft.hydrodynamics.section.resistive import section_drag  # noqa: E402
from simsoft.mechanics.rod import Rod  # noqa: E402
from simsoft.resolved.job import Job, read_tuple  # noqa: E402

SMOOTH, ORDER = 9, 3  # samples and order of the polynomials that give rates
SAMPLES = 1200  # of a history, about; more say nothing new
LEAD_IN = 0.4  # share of a path that is left out
TAIL = 3  # lengths of rod before the paddle that are told apart
COLUMNS = ("run", "axis", "body", "body_reduced", "end", "end_reduced", "paddle")


def rate(values: Array, step: float) -> Array:
    """Return the rate of change of a history along its first axis."""
    flat = savgol_filter(
        values.reshape(len(values), -1), SMOOTH, ORDER, deriv=1, delta=step, axis=0
    )
    return np.asarray(flat).reshape(values.shape)


def ridden(job: Job) -> tuple[Rod, list[int], int]:
    """Return the rod of a job, the solid on each of its links, and the paddle's."""
    assert job.rod is not None
    links = range(len(job.rod.length))
    return job.rod, [int(np.flatnonzero(job.pieces.link == k)[0]) for k in links], int(
        np.flatnonzero(job.pieces.link >= 0)[-1]
    )  # fmt: skip


def curvatures(rod: Rod, frame: Array) -> tuple[Array, Array]:
    """Return curvature [rad/m] and its slope [rad/m^2] at the nodes (T, N, 3)."""
    before = np.concatenate([np.broadcast_to(rod.frame, (len(frame), 1, 3, 3)), frame[:, :-1]], 1)
    turned = Rotation.from_matrix((before.swapaxes(2, 3) @ frame).reshape(-1, 3, 3)).as_rotvec()
    length = rod.length
    reach = np.concatenate([[0.5 * length[0]], 0.5 * (length[1:] + length[:-1])])
    hinge = turned.reshape(frame.shape[:3]) / reach[:, None]
    after = np.concatenate([hinge[:, 1:], np.zeros_like(hinge[:, :1])], axis=1)
    return 0.5 * (hinge + after), (after - hinge) / length[:, None]


def section_forces(rod: Rod, speed: float, step: float, frame: Array, node: Array) -> Array:
    """Return the reduced force (T, N, 3) [N] on the nodes of a path in the world."""
    stream = np.array([speed, 0.0, 0.0])
    spin = rate(frame, step) @ frame.swapaxes(2, 3)
    turning = np.stack([spin[..., 2, 1], spin[..., 0, 2], spin[..., 1, 0]], axis=-1)
    states = np.zeros((*node.shape[:2], motion.ROWS, 3))

    def inside(values: Array) -> Array:
        return np.asarray(np.einsum("tnij,tni->tnj", frame, values))

    curvature, slope = curvatures(rod, frame)
    states[:, :, motion.VELOCITY] = inside(rate(node, step) - stream)
    states[:, :, motion.SPIN] = inside(turning)
    states[:, :, motion.CURVATURE] = curvature
    states[:, :, motion.CURVATURE_RATE] = rate(curvature, step)
    states[:, :, motion.SLOPE] = slope
    states[:, :, motion.STREAM] = inside(np.broadcast_to(stream, node.shape))
    force = np.zeros_like(node)
    for t in range(len(node)):
        for k in range(node.shape[1]):
            wrench = np.zeros(6)
            section_drag(rod, k, states[t, k], wrench)
            section_reaction(rod, k, states[t, k], wrench)
            force[t, k] = wrench[3:]
    carried = rod.span[:, None] * rod.added[:, :2]
    force[..., :2] -= carried * rate(states[:, :, motion.VELOCITY, :2], step)
    return np.asarray(np.einsum("tnij,tnj->tni", frame, force))


def loads_of(name: str, job: Job, history: dict[str, Array]) -> list[dict[str, Any]]:
    """Return the rows of one bait, sideways and upward."""
    rod, solids, paddle = ridden(job)
    time, step = history["time"], float(np.median(np.diff(history["time"])))
    frame = history["axes"][:, solids]
    node = history["centre"][:, solids] - np.einsum(
        "tnij,nj->tni", frame, job.pieces.offset[solids]
    )
    reduced = section_forces(rod, job.speed, step, frame, node)
    kept_part = slice(int(LEAD_IN * len(time)), -SMOOTH)
    centre = history["centre"][kept_part, paddle]
    weight = np.hanning(len(centre))
    weight /= weight.sum()
    ticks = step * np.arange(len(centre))
    scale = 0.5 * job.density * job.speed**2 * np.pi * job.size**2 / 4.0 / job.size
    found = []
    for axis, word in ((1, "sway"), (2, "heave")):
        swing = (centre[:, axis] - centre[:, axis].mean()) * weight * len(centre)
        power = np.abs(np.fft.rfft(swing, 8 * len(swing)))
        beat = np.fft.rfftfreq(8 * len(swing), step)[power.argmax()]
        wave = 2.0 * weight * np.exp(-2j * np.pi * beat * ticks)

        def part(values: Array, wave: Array = wave) -> Array:
            return np.asarray(wave @ (values - values.mean(axis=0)))

        swung = part(centre[:, axis])
        moved = np.conj(part(node[kept_part][:, :, axis]) / swung)
        there = part(history["load"][kept_part][:, solids, axis]) / swung / scale
        here = part(reduced[kept_part][:, :, axis]) / swung / scale
        pushed = part(history["load"][kept_part, paddle, axis]) / swung / scale
        numbers = {
            "body": (there * moved)[:-TAIL].sum(), "body_reduced": (here * moved)[:-TAIL].sum(),
            "end": (there * moved)[-TAIL:].sum(), "end_reduced": (here * moved)[-TAIL:].sum(),
            "paddle": pushed,
        }  # fmt: skip
        words = {key: f"{complex(number):.2f}".strip("()") for key, number in numbers.items()}
        found.append({"run": name, "axis": word} | words)
    return found


def main() -> None:
    """Write ``body_loads.csv`` from the histories of a folder."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("histories", type=Path)
    found: list[dict[str, Any]] = []
    for path in sorted(parser.parse_args().histories.glob("*.h5")):
        with h5py.File(path, "r") as file:
            job = read_tuple(file["job"])
            every = max(1, len(file["history/time"]) // SAMPLES)
            history = {name: np.asarray(file[f"history/{name}"][::every], dtype=float)
                       for name in ("time", "load", "centre", "axes")}  # fmt: skip
        found += loads_of(path.stem, job, history)
    with (HERE / "body_loads.csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, COLUMNS, lineterminator="\n")
        writer.writeheader()
        writer.writerows(found)


if __name__ == "__main__":
    main()
