"""Hook clearance of the parts of a free lure, over a fall, a hop or a tow."""

from __future__ import annotations

import numpy as np

from simsoft.bodies.answers.clearance import add_clearance
from simsoft.bodies.answers.in_body import add_body_depth
from simsoft.bodies.clearance.gap import Placed, moulded_rod, unit_vectors
from simsoft.bodies.free.course import Trajectory
from simsoft.core.arrays import Array, Integers
from simsoft.lure.assembly import Whole
from simsoft.lure.free_lure import FreeLure, Values, is_plate, rows_of
from simsoft.lure.parts import Specimen
from simsoft.lure.rod_model import build_rod
from simsoft.results.outcome import Outcome

POSITIONS = 250  # of a course that are looked at, evenly apart; a tow of 2.5 s has twice as many
BASIS = "march of the free lure, screening"


def add_free_clearance(
    outcome: Outcome,
    whole: Whole,
    values: Values,
    lure: FreeLure,
    course: Trajectory,
    name: str,
    rows: Integers,
    scenario: str,
    **at: float | str,
) -> None:
    """Add how near a part comes to the hook over samples of a course; nothing without a hook.

    Parameters
    ----------
    outcome : Outcome, of the part
    whole, values, lure, course : the lure and what it did
    name : str, of a chain; soft lengths of the body are left out
    rows : array of int, samples looked at
    scenario : str
    at : conditions of the records, ``state`` among them
    """
    strip = {s.name: s for s in whole.strips}.get(name)
    if strip is None or strip.wire is None or len(rows) == 0:
        return
    every = -(-len(rows) // POSITIONS)
    place = placed_part(lure, course, name, rows[::every])
    rod = None
    if not is_plate(lure, name):
        rod = build_rod(Specimen(strip, whole.water, values[name], gravity=False))
    shift = values[name]["thickness"]
    add_clearance(outcome, strip, rod, shift, place, scenario, basis=BASIS, **at)
    if rod is not None and whole.body is not None and not whole.body.flexible:
        moulded = moulded_rod(rod)
        add_body_depth(outcome, strip, shift, place, lambda: moulded, basis=BASIS, **at)


def placed_part(lure: FreeLure, course: Trajectory, name: str, rows: Integers) -> Placed:
    """Return the positions of a plate or chain of equal elements in the lure's axes from the nose.

    Parameters
    ----------
    lure : FreeLure
    course : Trajectory
    name : str, of a chain or plate
    rows : array of int, samples of the course
    """
    own = rows_of(lure, name)
    frame = course.frames[rows]
    away = course.nodes[rows, own] - course.position[rows, None, :]
    node, axis = away @ frame + lure.origin, course.width_axes[rows, own] @ frame
    if is_plate(lure, name):
        return Placed(node, axis, unit_vectors(node[:, -1] - node[:, -2]))
    return with_root(node, axis)


def with_root(node: Array, axis: Array) -> Placed:
    """Return positions (F, N, 3) [m] and width axes (F, N, 3) with the clamp put before them.

    The clamp, and the tangent at the tip, are drawn on from their neighbours.
    """
    centre = np.concatenate([2.0 * node[:, :1] - node[:, 1:2], node], axis=1)
    axes = np.concatenate([unit_vectors(2.0 * axis[:, :1] - axis[:, 1:2]), axis], axis=1)
    tangent = 1.5 * (centre[:, -1] - centre[:, -2]) - 0.5 * (centre[:, -2] - centre[:, -3])
    across = np.sum(tangent * axis[:, -1], axis=1)[:, None]
    return Placed(centre, axes, unit_vectors(tangent - across * axis[:, -1]))
