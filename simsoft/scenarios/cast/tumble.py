"""The cast's tumble: a soft part blown by the air from every side, and how near the hook it comes.

A tumbling lure meets the air from all sides in turn. From each of 26 sides the part is let go in
air of the launch speed, damped, and followed from its moulded shape for a quarter of a second or
until it lies against the body. The swing of the tumble itself, which throws parts outward, is
left out. Screening.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

import numpy as np

from simsoft.bodies.answers.clearance import add_clearance, lack_clearance
from simsoft.bodies.clearance.gap import Clearance, clearance
from simsoft.case.model import Part, Scenario
from simsoft.core.arrays import Array
from simsoft.geometry.planform import axes_of
from simsoft.lure.parts import Strip
from simsoft.properties.air import air
from simsoft.properties.coefficients import RIGGING_SCATTER, throw_inputs
from simsoft.results.outcome import Outcome
from simsoft.scenarios.cast.let_go import ready_to_go, watched

LEAN = 0.05  # [rad], about 3 degrees: less than a lure's attitude changes from turn to turn
BASIS = (
    "blown from its moulded shape by air of the launch speed from 26 sides, damped, followed as "
    "{}, screening"
)
Met = tuple[bool, bool, bool]  # as drawn, hook rigged off toward the part, rigged off away
NEAR = "share of the sides from which the part meets the hook, screening"


def sides(part: Part) -> Array:
    """Return 26 unit vectors (26, 3): faces, edges and corners of a cube, turned a little.

    Exactly edge on, rounding would decide which way a part turns. The air is therefore turned
    toward its face and, half as far, toward its edge; for a mirror image to the mirrored sides.
    """
    corners = [s for s in itertools.product((-1.0, 0.0, 1.0), repeat=3) if any(s)]
    vectors = np.array(corners)
    vectors /= np.linalg.norm(vectors, axis=1)[:, None]
    _, across, face = axes_of(part).T
    vectors += LEAN * (part.handedness * face + 0.5 * across)
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
    coarse : bool, half the elements, for the runs behind the bands
    """
    outcome = Outcome()
    wire = strip.wire
    if wire is None or len(wire.spot) == 0:
        return outcome
    fluid = air(scenario.cast.air_temperature, scenario.cast.air_pressure)
    speed = throw_inputs(scenario.cast)["launch_speed"].value
    part = ready_to_go(strip, fluid, values, speed, coarse=coarse)
    root = strip.part.width.values[0]
    basis = BASIS.format(part.model)
    # farther off it neither touches nor wraps, however the hook is rigged
    near = max(0.5 * max(strip.part.width.values), RIGGING_SCATTER)
    worst, closest, lost = None, math.inf, 0
    met: list[Met] = []
    blown_from = sides(strip.part)
    for side in blown_from:
        place = watched(part, side, wire.body, root)
        if place is None:
            lost += 1
            continue
        reach = max(closest, near)
        found = clearance(strip, part.rod, place, wire, values["thickness"], reach)
        met.append(met_by(found))
        if found is None:
            continue
        if found.margin < closest:
            worst, closest = place, found.margin
    missed = f"its shape in air could not be followed from {lost} of {len(blown_from)} sides"
    if lost:
        outcome.warnings.append(
            f"{strip.name}: {missed}; how near it comes to the hook there is not known"
        )
    if lost and closest > 0.0:
        # where it was followed it stays clear, which says nothing of the other sides
        lack_clearance(outcome, strip, basis, missed, speed=speed, state="tumble")
        outcome.lack("fouling_sides", "", NEAR, missed, speed=speed, state="tumble")
    elif worst is not None:
        add_clearance(
            outcome, strip, part.rod, values["thickness"], worst, scenario.name,
            basis=basis, speed=speed, state="tumble",
        )  # fmt: skip
        add_fouling(outcome, met, lost, speed=speed, state="tumble")
    return outcome


def met_by(found: Clearance | None) -> Met:
    """Return whether a part meets the hook as drawn, rigged off toward it, and rigged off away.

    What wraps the wire does so however it is rigged; None is a part that came nowhere near.
    """
    if found is None:
        return False, False, False
    wraps = found.contact == "wraps"
    nearer, farther = (found.margin <= off for off in (RIGGING_SCATTER, -RIGGING_SCATTER))
    return found.contact != "clear", wraps or nearer, wraps or farther


def add_fouling(outcome: Outcome, met: Sequence[Met], lost: int, **at: float | str) -> None:
    """Add the share of the sides from which a part meets the hook, with its own errors.

    Those are the rigging by hand, and that so few sides stand for all: counts of 26 scatter as
    those of a draw would. A side that could not be followed may meet the hook or not.

    Parameters
    ----------
    outcome : Outcome
    met : sequence of Met, of every side that was followed
    lost : int, sides that could not be followed
    at : conditions of the record
    """
    count = len(met)
    share, nearer, farther = (sum(way) / count for way in zip(*met, strict=True))
    likely = (share * count + 0.5) / (count + 1.0)  # none of 26 may still be one of many
    few = math.sqrt(likely * (1.0 - likely) / count)
    outcome.add("fouling_sides", share, "", NEAR, **at)
    every = count + lost
    outcome.own_error["fouling_sides", tuple(at.items())] = {
        "rigging": (farther - share, nearer - share),
        "sides": (-few, few),
        "lost": (share * (count / every - 1.0), (1.0 - share) * lost / every),
    }
