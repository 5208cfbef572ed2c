"""The cast's tumble: a soft part blown by the air from every side, and how near the hook it comes.

A tumbling lure meets the air from all sides in turn. From each of 26 sides the part is let go in
air of the launch speed, damped, and followed from its moulded shape for a quarter of a second or
until it lies against the body. The swing of the tumble itself, which throws parts outward, is
left out. Screening.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable

import numpy as np
import numpy.typing as npt

from simsoft.air import air
from simsoft.case.model import BodyInput, Scenario
from simsoft.coefficients import throw_inputs
from simsoft.lure import Strip
from simsoft.shape.obstacle import covered
from simsoft.solve.clearance import Placed, clearance, in_motion
from simsoft.solve.closest import add_clearance, lack_clearance
from simsoft.solve.march_kernel import ENERGY_TERMS, HISTORY_COLUMNS, advance
from simsoft.solve.outcome import Outcome
from simsoft.solve.rest import make_stream
from simsoft.solve.setup import prepare
from simsoft.solve.stand_in import BLOWN, stand_in
from simsoft.structure.rod import Rod
from simsoft.structure.rotation import quaternion_from_vector

Array = npt.NDArray[np.float64]

ELEMENTS = 16  # of a part blown about; a coarser rod serves, the shapes are smooth
DAMPING = 0.05  # [s] Kelvin-Voigt time that calms its flapping
STEP = 2.5e-3  # [s]
STEPS, STRIDE = 100, 2
FINER = (2, 4, 8, 16)  # times as many steps, until a part can be followed
COARSE = (1, 2, 4, 8)  # the same for the runs behind the bands
BASIS = "blown from its moulded shape by air of the launch speed from 26 sides, damped, screening"
NEAR = "share of the sides from which the part meets the hook, screening"


def sides() -> Array:
    """Return 26 unit vectors (26, 3): faces, edges and corners of a cube."""
    corners = [s for s in itertools.product((-1.0, 0.0, 1.0), repeat=3) if any(s)]
    vectors = np.array(corners)
    return np.asarray(vectors / np.linalg.norm(vectors, axis=1)[:, None])


def tumble(
    strip: Strip, values: dict[str, float], scenario: Scenario, *, coarse: bool = False
) -> Outcome:
    """Return how near a strip comes to the hook while the lure tumbles through the air.

    Parameters
    ----------
    strip : Strip
    values : dict of input values
    scenario : Scenario, of kind 'cast'
    coarse : bool, half the elements and steps, for the runs behind the bands
    """
    outcome = Outcome()
    fluid = air(scenario.cast.air_temperature, scenario.cast.air_pressure)
    speed = throw_inputs(scenario.cast)["launch_speed"].value
    ready = prepare(
        strip, fluid, values, gravity=False, elements=ELEMENTS // 2 if coarse else ELEMENTS
    )
    rod = ready.resting_rod()._replace(kelvin_voigt=DAMPING)
    rod = rod._replace(paddle=rod.paddle._replace(wake_moment=0.0))
    wire = strip.wire
    if wire is None or len(wire.spot) == 0:
        return outcome
    standing_in = stand_in([strip], scenario.name, BLOWN)
    if standing_in:
        outcome.warnings.append(standing_in)
    near = max(strip.part.width.values)  # farther off it neither touches nor wraps
    worst, closest, met, lost = None, math.inf, 0, 0
    for side in sides():
        place = blown(rod, speed, side, COARSE if coarse else FINER)
        if place is None:
            lost += 1
            continue
        place = before_the_body(place, wire.body, strip.part.width.values[0])
        found = clearance(strip, rod, place, wire, values["thickness"], max(closest, near))
        if found is None:
            continue
        met += found.contact != "clear"
        if found.margin < closest:
            worst, closest = place, found.margin
    missed = f"its shape in air could not be followed from {lost} of {len(sides())} sides"
    if lost:
        outcome.warnings.append(
            f"{strip.name}: {missed}; how near it comes to the hook there is not known"
        )
    if lost and closest > 0.0:
        # where it was followed it stays clear, which says nothing of the other sides
        lack_clearance(outcome, strip, BASIS, missed, speed=speed, state="tumble")
    elif worst is not None:
        add_clearance(
            outcome, strip, ready.rod, values["thickness"], worst, scenario.name,
            basis=BASIS, speed=speed, state="tumble",
        )  # fmt: skip
        outcome.add(
            "fouling_sides", met / (len(sides()) - lost), "", NEAR, speed=speed, state="tumble"
        )
    return outcome


def before_the_body(place: Placed, body: BodyInput | None, root: float) -> Placed:
    """Return the positions before the centreline of a part runs into the body; at least one.

    Parameters
    ----------
    place : Placed, in the order of time
    body : BodyInput or None
    root : float [m], length at the root that is left out
    """
    if body is None:
        return place
    step = float(np.linalg.norm(place.centre[0, 1] - place.centre[0, 0]))
    free = place.centre[:, 1 + int(root / step) :]
    inside = covered(body, free.reshape(-1, 3)).reshape(free.shape[:2]).any(axis=1)
    end = max(1, int(np.argmax(inside))) if np.any(inside) else len(free)
    return Placed(place.centre[:end], place.width_axis[:end], place.tangent[:end])


def blown(rod: Rod, speed: float, side: Array, finer: Iterable[int]) -> Placed | None:
    """Return the positions of a part let go in air in its moulded shape.

    Parameters
    ----------
    rod : Rod in air, heavily damped
    speed : float [m/s]
    side : array (3,), unit vector the air blows along
    finer : iterable of int, times as many steps, tried in turn until the march does not diverge

    Returns
    -------
    place : Placed, or None where the march diverged with the finest step too
    """
    for times in finer:
        place = _followed(rod, speed, side, times)
        if place is not None:
            return place
    return None


def _followed(rod: Rod, speed: float, side: Array, finer: int) -> Placed | None:
    n = len(rod.length)
    quaternion = np.zeros((n, 4))
    for k in range(n):
        quaternion_from_vector(rod.natural[k], quaternion[k])
    history = np.zeros((STEPS // STRIDE, HISTORY_COLUMNS))
    shapes = np.zeros((STEPS // STRIDE, n, 6))
    done = advance(
        rod, make_stream(speed, side), STEP / finer, finer * STEPS, finer * STRIDE, False,
        quaternion, np.zeros((4, n, 6)), np.zeros(2), np.zeros((2, ENERGY_TERMS)), history, shapes,
    )  # fmt: skip
    if done < finer * STEPS or not np.all(np.isfinite(shapes)):
        return None
    return in_motion(rod, shapes[:, :, :3], shapes[:, :, 3:], history[:, 3:6])
