"""Hook clearance of the parts of a free lure, over a fall or a tow.

A course keeps the nodes of the parts, not their twist: the width of a part is turned from the
clamp to each node the shortest way, which leaves twist out. Screening.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from simsoft.free import FreeLure, Values, chain_slice
from simsoft.lure import build_rod
from simsoft.solve.clearance import Placed
from simsoft.solve.closest import add_clearance
from simsoft.solve.course import Course, in_lure_axes
from simsoft.solve.outcome import Outcome
from simsoft.whole import Whole

Array = npt.NDArray[np.float64]

POSITIONS = 60  # of a course that are looked at, evenly apart
BASIS = "march of the free lure, twist of the part left out, screening"
SMALLEST = 1.0e-6  # one plus the cosine of a node turned right back


def add_free_clearance(
    outcome: Outcome,
    whole: Whole,
    values: Values,
    lure: FreeLure,
    course: Course,
    name: str,
    window: slice,
    scenario: str,
    **at: float | str,
) -> None:
    """Add how near a part comes to the hook over a stretch of a course; nothing without a hook.

    Parameters
    ----------
    outcome : Outcome, of the part
    whole, values, lure, course : the lure and what it did
    name : str, of a chain; soft lengths of the body are left out
    window : slice, samples looked at
    scenario : str
    at : conditions of the records, ``state`` among them
    """
    strip = {s.name: s for s in whole.strips}.get(name)
    if strip is None or strip.wire is None:
        return
    local = in_lure_axes(course)[window][:, chain_slice(lure, name)] + lure.origin
    every = max(1, len(local) // POSITIONS)
    rod = build_rod(strip, whole.water, values[name], gravity=False)
    place = along_nodes(local[::every], np.asarray(strip.part.direction), rod.frame[:, 1])
    add_clearance(
        outcome, strip, rod, values[name]["thickness"], place, scenario, basis=BASIS, **at
    )


def along_nodes(node: Array, ahead: Array, width_axis: Array) -> Placed:
    """Return the positions of a part from its nodes alone.

    Parameters
    ----------
    node : array (F, N, 3) [m], of equal elements
    ahead, width_axis : array (3,), tangent and width at the clamp as moulded
    """
    root = 2.0 * node[:, :1] - node[:, 1:2]
    centre = np.concatenate([root, node], axis=1)
    tangent = np.gradient(centre, axis=1)
    tangent = tangent / np.linalg.norm(tangent, axis=2, keepdims=True)
    turn = np.cross(ahead, tangent)
    cosine = tangent @ ahead
    once = np.cross(turn, width_axis)
    twice = np.cross(turn, once) / np.maximum(1.0 + cosine, SMALLEST)[..., None]
    axis = width_axis + once + twice
    axis = axis / np.linalg.norm(axis, axis=2, keepdims=True)
    return Placed(centre, axis, tangent[:, -1])
