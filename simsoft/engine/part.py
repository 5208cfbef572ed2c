"""One part of a case in the hands of a student: its rod, modes, rest shapes and marches.

Everything here is what a run calls, one step at a time. Plates and bending paddles have bodies of
their own (``simsoft.bodies.plate``, ``simsoft.bodies.paddle``).
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from simsoft.bodies.rod.equilibrium import Rest, make_stream, rest_branch
from simsoft.bodies.rod.setup import Ready, modes_at_own_frequency, prepare_rod
from simsoft.bodies.rod.time_march import beat_at
from simsoft.case.model import Case
from simsoft.core.arrays import Array
from simsoft.core.errors import InputError
from simsoft.lure.parts import Specimen, assemble, values_of
from simsoft.scenarios.retrieve.marcher import FLUTTER_KICK
from simsoft.solvers.limit_cycle import Beat
from simsoft.solvers.modes import Modes
from simsoft.solvers.time_march import TimeStep

STREAM = np.array([1.0, 0.0, 0.0])


def rod(case: Case, part: str, elements: int | None = None, *, gravity: bool = True) -> Ready:
    """Return a part of a case as a rod, made ready to be solved.

    Parameters
    ----------
    case : Case
    part : str, its name; ``claw/left`` for one of a pair
    elements : int or None, along its length; None takes the part's own
    gravity : bool, weight and buoyancy act

    Raises
    ------
    InputError
        There is no such part, or it is solved as a plate.
    """
    lure = assemble(case)
    strips = {strip.name: strip for strip in lure.strips}
    strip = strips.get(part)
    if strip is None:
        raise InputError([f"{part}: no such part; there are {', '.join(strips) or 'none'}"])
    if strip.solved_as != "rod":
        raise InputError([f"{part}: is solved as a plate; model = 'rod' makes it a rod"])
    return prepare_rod(
        Specimen(strip, lure.water, values_of(strip), gravity=gravity, elements=elements)
    )


def _stream(body: Ready) -> Array:
    """Return the direction (3,) of the stream, as long as the share that a body ahead leaves."""
    return body.values.get("shading", 1.0) * STREAM


def modes(body: Ready, count: int = 3) -> Modes:
    """Return the lowest modes about the rest shape in still water, each as stiff as it beats."""
    return modes_at_own_frequency(body, count)


def equilibria(body: Ready, speeds: Sequence[float]) -> list[Rest]:
    """Return the rest shapes in a stream at ascending speeds [m/s], each followed from the last."""
    return rest_branch(
        body.resting_rod(), np.asarray(speeds, dtype=float), _stream(body), 0.0,
        start=body.still.angle,
    )  # fmt: skip


def march(body: Ready, speed: float) -> Beat:
    """Return the beat that a march at a speed [m/s] ends in, from the kicked rest shape."""
    rest = equilibria(body, [speed])[0]
    first = float(modes_at_own_frequency(body, 1).frequency[0])
    return beat_at(
        body,
        speed,
        rest.angle,
        stream=make_stream(speed, _stream(body)),
        expected=first,
        step=TimeStep(first),
        kick=FLUTTER_KICK,
    )
