"""What one speed, or still water, puts into an outcome, whatever kind of part was solved.

A gap to the hook that could not be found is told beside everything else that could not, or the
gaps found elsewhere would speak for it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from typing import Protocol, TypeVar

import numpy as np

from simsoft.bodies.answers.beat import Moving, add_cycle, lack_cycle, moves
from simsoft.bodies.answers.clearance import add_clearance, lack_clearance, last_cycle
from simsoft.bodies.answers.in_body import Moulded, add_body_depth
from simsoft.bodies.answers.trace import Outline, edge_to_edge
from simsoft.core.arrays import Array
from simsoft.geometry.soft_lengths import thickness_at_joint
from simsoft.lure.parts import Strip
from simsoft.mechanics.rod import Rod
from simsoft.results.outcome import Outcome
from simsoft.solvers.limit_cycle import Beat
from simsoft.solvers.modes import Modes
from simsoft.solvers.start_speed import Start


class RestShape(Protocol):
    """A rest shape, found or not."""

    @property
    def found(self) -> bool:
        """Whether there is one."""

    @property
    def message(self) -> str:
        """Why there is none."""


class Prepared(Protocol):
    """A part made ready to be solved."""

    @property
    def still(self) -> RestShape:
        """Its rest shape in still water."""


Kind = TypeVar("Kind", bound=Prepared)
# Of the stem's thickness: a body whose end stands for less is warned about. An ellipse as thick as
# the stem stands for a rectangle of 0.87 of its thickness.
THINNER = 0.78


def modes_in_air_and_water(
    outcome: Outcome,
    dry: Kind,
    wet: Kind,
    basis: str,
    modes_of: Callable[[Kind], Modes],
    add: Callable[[Modes, str], None],
) -> None:
    """Hand the modes in air and in water to ``add``, with the medium; lack those that are not.

    Parameters
    ----------
    outcome : Outcome
    dry, wet : the part ready in air and in water
    basis : str
    modes_of : modes of a ready part
    add : function of modes and 'air' or 'water'
    """
    for medium, ready in (("air", dry), ("water", wet)):
        if ready.still.found:
            add(modes_of(ready), medium)
        else:
            reason = ready.still.message.replace("water", medium)
            outcome.lack("natural_frequency", "Hz", basis, reason, mode=1, medium=medium)


def lack_stream(
    outcome: Outcome, strip: Strip, speeds: Iterable[float], basis: str, rest: str, reason: str
) -> None:
    """Say that nothing is known at any speed; ``basis`` is that of the start, ``rest`` of the rest
    shape.
    """
    outcome.lack("start_speed", "m/s", basis, reason)
    for speed in speeds:
        outcome.lack("verdict", "", basis, reason, speed=speed)
        lack_clearance(outcome, strip, rest, reason, speed=speed, state="rest")


def lack_beat(
    outcome: Outcome, strip: Strip, part: Moving, speed: float, basis: str, reason: str
) -> None:
    """Say that a march failed: no beat at a speed [m/s], and no gap to the hook over it."""
    lack_cycle(outcome, part, speed, basis, reason)
    lack_clearance(outcome, strip, basis, reason, speed=speed, state="cycle")


def add_beat(
    outcome: Outcome,
    strip: Strip,
    part: Moving,
    speed: float,
    beat: Beat,
    basis: str,
    start: Start,
    *,
    rod: Rod | None,
    moulded: Moulded,
    shift: float,
    scenario: str,
) -> None:
    """Add measures and verdict of a beat at a speed [m/s], and how near hook and body it comes.

    ``rod`` is None for a plate, ``moulded`` gives the part as moulded; ``shift`` [m] was added to
    the thickness.
    """
    add_cycle(outcome, part, speed, beat, basis, start)
    place = last_cycle(rod, beat.march, beat.frequency)
    add_clearance(
        outcome, strip, rod, shift, place, scenario, basis=basis, speed=speed, state="cycle"
    )
    add_body_depth(outcome, strip, shift, place, moulded, basis=basis, speed=speed, state="cycle")


def add_edges(
    outcome: Outcome, part: Moving, speed: float, beat: Beat, outline: Outline, basis: str
) -> None:
    """Add how wide the edges of a paddle that beats sweep at a speed [m/s]."""
    width = edge_to_edge(beat, outline)
    if width is not None and moves(part, beat):
        outcome.add("edge_to_edge", width, "m", basis, speed=speed)


def warn_lost_rest(outcome: Outcome, name: str, speed: float, reason: str) -> None:
    """Warn that a march at a speed [m/s] began from the last rest shape that was found."""
    outcome.warnings.append(f"{name} at {speed:.3g} m/s: {reason}; marched from the last one")


def add_rest_load(
    outcome: Outcome, force: Array, moment: Array, direction: Array, basis: str, speed: float
) -> None:
    """Add drag and root moment of a rest shape from force [N] and moment [N m] on the clamp."""
    drag = float(force @ (direction / np.linalg.norm(direction)))
    outcome.add("drag", drag, "N", basis, speed=speed, state="rest")
    size = math.hypot(*moment)
    outcome.add("root_moment", size, "N m", basis, speed=speed, state="rest")


def say_root(outcome: Outcome, strip: Strip) -> None:
    """Say from where a paddle tail bends: a soft body ahead of its stem lowers its start."""
    part = strip.part
    if part.paddle is None:
        return
    if part.soft_ahead > 0.0:
        outcome.warnings.append(
            f"{strip.name}: {1e3 * part.soft_ahead:.0f} mm of soft body behind the hook bend with "
            "it; 49 runs of a resolved flow stand behind so long a stem, no film (screening)"
        )
        end, root = thickness_at_joint(part)
        if end < THINNER * root:
            outcome.warnings.append(
                f"{strip.name}: the body ends thinner than the stem behind it and bends there "
                "first: check body.width"
            )
    else:
        outcome.warnings.append(
            f"{strip.name}: held still where its stem begins; a soft body behind the hook bends "
            "too and lets it start sooner: give a flexible body and rig.hook"
        )


def say_shading(outcome: Outcome, strip: Strip, values: dict[str, float]) -> None:
    """Say what a body ahead takes from a paddle, or that a tail given alone states none."""
    if "shading" not in values:
        if strip.part.paddle is not None and strip.part.position == (0.0, 0.0, 0.0):
            outcome.warnings.append(
                f"{strip.name}: the whole stream reaches it; a body ahead takes some: state "
                "body_height and body_width"
            )
    else:
        outcome.warnings.append(
            f"{strip.name}: the body ahead leaves {100.0 * values['shading']:.0f} % of the stream "
            "to stem and paddle (screening); what its wake shakes is left out"
        )
