"""Run a folder of jobs on graphics cards: ``python validation/resolved/on_card.py JOBS OUT``.

Jobs are files that ``falls.py jobs`` and others write; each is claimed by
renaming it, so that several processes, and several calls, share a folder. A finished run leaves
its history in OUT under the job's name; what fails leaves its reason there. Needs numpy, scipy,
numba, numba-cuda and h5py alone. ``--device cpu`` runs on the processor.
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import time
from pathlib import Path

import h5py
import numpy as np

if not hasattr(np, "row_stack"):  # numba-cuda still asks for it
    setattr(np, "row_stack", np.vstack)  # noqa: B010

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from simsoft.core.errors import SimsoftError  # noqa: E402
from simsoft.core.files import whole_hdf5  # noqa: E402
from simsoft.resolved.job import Job, Settings, read_tuple, write_tuple  # noqa: E402
from simsoft.resolved.run import first_rows, march_flow  # noqa: E402


def write_job(path: Path, job: Job, settings: Settings) -> None:
    """Write a job with its settings; the folder is made if need be."""
    path.parent.mkdir(parents=True, exist_ok=True)
    with whole_hdf5(path) as file:
        write_tuple(file.create_group("job"), job)
        write_tuple(file.create_group("settings"), settings)


def claim(folder: Path) -> Path | None:
    """Return a job that no other process has, by name; ``None`` when all are taken."""
    for path in sorted(folder.glob("*.h5")):
        taken = path.with_suffix(f".taken{os.getpid()}")
        try:
            path.rename(taken)
        except FileNotFoundError:
            continue
        return taken
    return None


def run_one(taken: Path, out: Path, device: str) -> None:
    """Run a claimed job and write its history in single precision."""
    with h5py.File(taken, "r") as file:
        job, settings = read_tuple(file["job"]), read_tuple(file["settings"])
    if device == "gpu":
        from simsoft.resolved.card import CardFlow as Made
    else:
        from simsoft.resolved.processor import ProcessorFlow as Made  # type: ignore[assignment]
    begun = time.perf_counter()
    grid, point, _ = march_flow(job, settings, Made)
    seconds = time.perf_counter() - begun
    with whole_hdf5(out / f"{taken.stem}.h5") as file:
        write_tuple(file.create_group("job"), job)
        write_tuple(file.create_group("settings"), settings)
        file.attrs["seconds"], file.attrs["cells"] = seconds, grid.domain.cells
        for name, value in first_rows(point.history, point.row)._asdict().items():
            data = value.astype(np.float64 if name == "time" else np.float32)
            file.create_dataset(f"history/{name}", data=data, compression="gzip")
    print(f"{taken.stem}: {seconds:.0f} s, {grid.domain.cells / 1e6:.1f} million cells", flush=True)


def work(jobs: Path, out: Path, device: str, until: float) -> None:
    """Run jobs until none is left or the time [s, of the clock] has come."""
    while time.time() < until and (taken := claim(jobs)) is not None:
        try:
            run_one(taken, out, device)
        except (SimsoftError, OSError) as error:
            (out / f"{taken.stem}.txt").write_text(f"{error}\n", encoding="utf-8")
            print(f"{taken.stem}: {error}", flush=True)


def main() -> None:
    """Start the processes, or be one."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("jobs", type=Path)
    parser.add_argument("out", type=Path)
    parser.add_argument("--device", choices=("gpu", "cpu"), default="gpu")
    parser.add_argument("--cards", type=int, default=1)
    parser.add_argument("--each", type=int, default=2, help="Processes on a card.")
    parser.add_argument("--seconds", type=float, default=540.0, help="No job begins after these.")
    parser.add_argument("--until", type=float, help=argparse.SUPPRESS)
    stated = parser.parse_args()
    stated.out.mkdir(parents=True, exist_ok=True)
    if stated.until is not None:
        work(stated.jobs, stated.out, stated.device, stated.until)
        return
    until = time.time() + stated.seconds
    command = [sys.executable, __file__, str(stated.jobs), str(stated.out), "--device",
               stated.device, "--until", str(until)]  # fmt: skip
    started = [
        subprocess.Popen(command, env=os.environ | {"CUDA_VISIBLE_DEVICES": str(k % stated.cards)})
        for k in range(stated.cards * stated.each)
    ]
    sys.exit(max(process.wait() for process in started))


if __name__ == "__main__":
    main()
