"""Numbers of published checks on free falls that no record holds."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simsoft.chains import stack
from simsoft.free import FreeLure
from simsoft.loads.body import CONSTANT
from simsoft.loads.regime import disc_regime
from simsoft.lure import GRAVITY
from simsoft.solve.course import at_rest
from simsoft.solve.fall import STEP, fall
from simsoft.solve.rest import make_stream
from simsoft.solve.tree_base import FREE, Line
from simsoft.solve.tree_kernel import begin
from simsoft.structure.tree import Base

PUBLISHED_GRAVITY = 9.81  # [m/s^2], of the published numbers
LONG = 6.0  # [s], well past the slowest of the published time constants
CLASSES = ("steady", "flutters", "chaotic", "tumbles")


@dataclass(frozen=True)
class Release:
    """Terminal speed [m/s], first acceleration [m/s^2] and depth after a second [m]."""

    terminal: float
    start: float
    depth: float


def release(
    solid_density: float,
    volume: float,
    area: float,
    added_volume: float,
    drag: float,
    density: float = 1000.0,
) -> Release:
    """March a body from rest with a constant drag coefficient and a stated added mass.

    Parameters
    ----------
    solid_density, density : float [kg/m^3], of the body and the water
    volume : float [m^3]
    area : float [m^2], that ``drag`` [-] refers to
    added_volume : float [m^3], of the water it carries along
    """
    mass, added = solid_density * volume, density * added_volume
    small = mass * 1.0e-4  # [kg m^2] about; it falls straight and does not turn
    carried = np.diag([0.0, 0.0, 0.0, added, added, added])
    coefficient = 0.5 * density * area * drag
    base = Base(
        structure=np.diag([small, small, small, mass, mass, mass]),
        fluid=carried,
        weight=mass * PUBLISHED_GRAVITY,
        buoyancy=density * volume * PUBLISHED_GRAVITY,
        weight_at=np.zeros(3),
        buoyancy_at=np.zeros(3),
        drag_at=np.zeros((1, 3)),
        drag_axes=np.eye(3)[None],
        drag=np.array([[0.0, 0.0, coefficient, 0.0]]),
        drag_scale=np.zeros(1),
        drag_law=np.array([CONSTANT]),
    )
    nowhere = np.zeros(3)
    displaced = density * volume * PUBLISHED_GRAVITY / GRAVITY
    lure = FreeLure(
        stack(base, [], nowhere), (), nowhere, nowhere, nowhere, mass, displaced, 0.02, nowhere
    )
    state = at_rest(lure, 0.0, lean=0.0)
    line = Line(FREE, nowhere, 0.0, 1.0, 0.0, 0.0)
    begin(lure.tree, make_stream(0.0, np.array([1.0, 0.0, 0.0])), line, np.zeros((3, 3)), state)
    found = fall(lure, longest=LONG, depth=1.0e3, step=0.5 * STEP)
    height = float(np.interp(1.0, found.time, found.centre[:, 2]))
    return Release(found.sink_rate, -float(state.motion[2, 5]), -height)


def disc_class(reynolds: float, inertia: float) -> float:
    """Return the number of a falling disc's class in ``CLASSES``."""
    return float(CLASSES.index(disc_regime(reynolds, inertia)))
