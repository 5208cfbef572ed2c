"""Hook clearance of a solved strip put into its outcome: margins, class, drawing."""

from __future__ import annotations

import numpy as np

from simsoft.bodies.clearance.gap import Clearance, Placed, clearance, in_motion
from simsoft.bodies.rod.shapes import paddle_outline
from simsoft.geometry.stations import along
from simsoft.lure.parts import Strip
from simsoft.mechanics.rod import Rod
from simsoft.results.outcome import Outcome
from simsoft.results.result import Closest
from simsoft.solvers.time_march import SAMPLES_PER_BEAT, March

CYCLES = 2.0  # beats whose positions are looked at
SURFACES = "gap between surfaces; body and hook stiff, contact not modelled, screening"


def last_cycle(rod: Rod | None, found: March, frequency: float) -> Placed:
    """Return the positions of a part over its last two beats, the last one where it rests.

    ``rod`` is None for a plate, whose march stores the clamp as the first node.
    """
    first, last = found.window
    last = max(last, first + 1)
    begin = last - 1
    if frequency > 0.0:
        beats = found.time[last - 1] - CYCLES / frequency
        begin = max(first, int(np.searchsorted(found.time, beats)), last - 4 * SAMPLES_PER_BEAT)
    rows = slice(begin, last)
    if rod is None:
        return Placed(found.shapes[rows], found.width_axes[rows], found.tangent[rows])
    return in_motion(rod, found.shapes[rows], found.width_axes[rows], found.tangent[rows])


def add_clearance(
    outcome: Outcome,
    strip: Strip,
    rod: Rod | None,
    shift: float,
    place: Placed,
    scenario: str,
    *,
    basis: str,
    **at: float | str,
) -> None:
    """Add the smallest gap to the hook, and to each spot of it, to an outcome.

    Nothing is added where the lure has no hook or no wire stands bare. The first record is the
    smallest gap anywhere; those with a ``spot`` say where.

    Parameters
    ----------
    outcome : Outcome
    strip : Strip
    rod : Rod or None, of that strip; None for a plate
    shift : float [m], added to its thickness
    place : Placed, positions of the strip
    scenario, basis : str
    at : conditions of the records, ``state`` among them, ``speed`` [m/s] where there is one
    """
    if strip.wire is None:
        return
    found = clearance(strip, rod, place, strip.wire, shift)
    if found is None:
        return
    basis = f"{basis}; {SURFACES}"
    outcome.add("hook_clearance", found.margin, "m", basis, **at)
    for spot, margin in found.by_spot.items():
        outcome.add("hook_clearance", margin, "m", basis, **at, spot=spot)
    outcome.add("hook_contact", found.contact, "", f"{basis}; at {found.spot}", **at)
    outcome.closest.append(
        _drawing(strip, rod, place, found, scenario, float(at.get("speed", 0.0)), str(at["state"]))
    )


def lack_clearance(
    outcome: Outcome, strip: Strip, basis: str, reason: str, **at: float | str
) -> None:
    """Say that a gap to the hook is not known, or the gaps elsewhere would speak for it.

    Nothing is added where no wire stands bare. Arguments are those of `add_clearance`.
    """
    if strip.wire is not None and len(strip.wire.spot):
        outcome.lack("hook_clearance", "m", f"{basis}; {SURFACES}", reason, **at)


def _drawing(
    strip: Strip,
    rod: Rod | None,
    place: Placed,
    found: Clearance,
    scenario: str,
    speed: float,
    state: str,
) -> Closest:
    part = strip.part
    centre, axis = place.centre[found.frame], place.width_axis[found.frame]
    half = 0.5 * along(part.width, np.linspace(0.0, 1.0, len(centre)))
    side = axis * half[:, None]
    outline = np.zeros((0, 3))
    if part.paddle is not None and rod is not None:
        tangent = place.tangent[found.frame]
        frame = np.column_stack([np.cross(axis[-1], tangent), axis[-1], tangent])
        outline = paddle_outline(part.paddle, rod, centre[-1], frame)
    return Closest(
        scenario, strip.name, state, speed, found.margin, found.spot, found.contact,
        centre, np.stack([centre - side, centre + side], axis=1), outline,
        found.on_part, found.on_wire,
    )  # fmt: skip
