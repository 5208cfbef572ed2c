"""The triangles of a STEP file, cut by a compiled library in a process of its own, within bounds.

A curved face of any size can be cut into any number of triangles, so time and memory are bounded
from outside: what runs away ends as one line, and so does what crashes.
"""

from __future__ import annotations

import io
import subprocess
import sys
from typing import Any

import numpy as np

from simsoft.case.shapes.mesh_3mf import Refused
from simsoft.core.arrays import Array

CHORD = 0.01  # mm, largest gap between a curved face and its triangles
TURN = 0.1  # rad between neighbours
COARSE = (0.1, 0.7)  # share of an edge and rad, to learn the size first
LONGEST, SHORTEST = 1000.0, 1.0  # mm, beyond which it is not cut finely
SECONDS = 40  # of processor time
PATIENCE = 240.0  # s of the clock, where the machine is busy
MEMORY = 6_000_000_000  # bytes of addresses
TOO_MUCH = (
    f"cannot be cut into triangles within {SECONDS} s and {MEMORY // 10**9} GB; export it as STL "
    "or 3MF"
)
# Both passes read the file from stdin; what the library prints goes nowhere, the answer to stdout.
CHILD = """
import os, sys
answer = os.dup(1)
nothing = os.open(os.devnull, os.O_WRONLY)
os.dup2(nothing, 1)
os.dup2(nothing, 2)
try:
    import resource
    for what, most in ((resource.RLIMIT_CPU, {seconds}), (resource.RLIMIT_AS, {memory})):
        resource.setrlimit(what, (most, most))
except ImportError:
    pass
import cascadio
data = cascadio.load(
    sys.stdin.buffer.read(), file_type="step", tol_linear={chord}, tol_angular={turn},
    tol_relative={relative}, use_parallel=False,
)
with os.fdopen(answer, "wb") as out:
    out.write(data)
"""


def read_step(data: bytes) -> tuple[Array, Any, str]:
    """Return points [mm], faces and the unit of a STEP file's triangles.

    Raises
    ------
    Refused
        It is no STEP file, is damaged, is no size of a bait, or takes too long to cut.
    """
    if not data.lstrip().startswith(b"ISO-10303-21"):
        raise Refused("is no STEP file; it must begin with `ISO-10303-21`")
    points, _ = _cut(data, *COARSE, relative=True)
    size = float(np.ptp(points, axis=0).max()) if len(points) else 0.0
    if not SHORTEST <= size <= LONGEST:
        raise Refused(
            f"is {size:.4g} mm long; {SHORTEST:g} to {LONGEST:g} mm is allowed, check the unit "
            "of the export"
        )
    return *_cut(data, CHORD, TURN, relative=False), "mm"


def _cut(data: bytes, chord: float, turn: float, *, relative: bool) -> tuple[Array, Any]:
    """Return points [mm] and faces; the library gives metres."""
    program = CHILD.format(
        chord=chord, turn=turn, relative=relative, seconds=SECONDS, memory=MEMORY
    )
    command = [sys.executable, "-I", "-c", program]
    try:
        done = subprocess.run(
            command, input=data, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL,
            timeout=PATIENCE, check=False,
        )  # fmt: skip
    except subprocess.TimeoutExpired:
        raise Refused(TOO_MUCH) from None
    if done.returncode < 0:  # ended by a limit, or by a fault of the library
        raise Refused(TOO_MUCH)
    if done.returncode or not done.stdout:
        raise Refused("cannot be read as STEP: its data section is damaged, or it holds too much")
    import trimesh

    found: Any = trimesh.load(io.BytesIO(done.stdout), file_type="glb", force="mesh", process=False)
    return 1e3 * np.asarray(found.vertices, np.float64), np.asarray(found.faces)
