"""Quadrilaterals on any outline with holes, by a well-kept mesher in a process of its own."""

from __future__ import annotations

import pickle
import subprocess
import sys
from functools import lru_cache
from pathlib import Path

import numpy as np

from simsoft.core.arrays import Array, Integers

Ring = tuple[tuple[float, float], ...]

CACHED_MESHES = 16
MOST_ELEMENTS = 40_000
LEAST_SECONDS = 1.0  # of a processor
ELEMENTS_A_SECOND = 4000  # that any processor manages
LONGEST_WAIT = 60.0  # times the seconds of a processor, on a machine with much else to do
MESHER = Path(__file__).with_name("mesher.py")


@lru_cache(maxsize=CACHED_MESHES)
def quads_on(rings: tuple[Ring, ...], size: float, keep: Ring = ()) -> tuple[Array, Integers]:
    """Return nodes (n, 2) [m] and quadrilaterals (E, 4), counter-clockwise, on an outline.

    Parameters
    ----------
    rings : tuple of closed polygons [m], the outline first, then the holes
    size : float [m], side of an element aimed at
    keep : points of the outline that become nodes

    Raises
    ------
    ValueError
        If the mesher is not installed, gives up, comes to no end, or leaves no sound sheet.
    """
    elements = _area(rings[0]) / size**2
    sides = max(_around(ring) for ring in rings) / size
    if max(elements, sides) > MOST_ELEMENTS:
        raise ValueError(
            f"about {max(elements, sides):.3g} elements of {1e3 * size:.3g} mm would be needed; "
            f"{MOST_ELEMENTS} are allowed: give fewer numerics.elements, or a narrower outline"
        )
    seconds = LEAST_SECONDS + elements / ELEMENTS_A_SECOND
    asked = pickle.dumps((rings, size, keep, seconds))
    try:
        answer = subprocess.run(
            [sys.executable, "-P", str(MESHER)],
            input=asked,
            capture_output=True,
            timeout=LONGEST_WAIT * seconds,
            check=False,
        )
    except subprocess.TimeoutExpired:
        found: object = None
    else:
        found = pickle.loads(answer.stdout) if answer.returncode == 0 else None
    if isinstance(found, tuple):
        return found
    said = found if isinstance(found, str) else "the mesher comes to no end"
    if "install" in said:
        raise ValueError(said)
    raise ValueError(
        f"{said}: a hole, neck or notch may be narrower than an element of {1e3 * size:.3g} mm; "
        "widen it, leave it out, or give more numerics.elements"
    )


def _area(ring: Ring) -> float:
    """Return the area [m^2] of the box around a ring."""
    wide, high = np.ptp(np.asarray(ring), axis=0)
    return float(wide * high)


def _around(ring: Ring) -> float:
    """Return the length [m] of a ring."""
    points = np.asarray(ring)
    return float(np.linalg.norm(points - np.roll(points, 1, axis=0), axis=1).sum())
