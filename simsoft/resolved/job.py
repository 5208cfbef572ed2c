"""A job of the resolved flow: everything a run needs, as plain arrays that travel light."""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import h5py

from simsoft.core.arrays import Array
from simsoft.hydrodynamics.plate.flow import Flow
from simsoft.mechanics.plate import Plate
from simsoft.mechanics.rod import Paddle, Rod
from simsoft.resolved.free_body import FreeBody
from simsoft.resolved.pieces import Pieces
from simsoft.resolved.sheet import SoftSheet


class Path3(NamedTuple):
    """A motion forced on all solids: offset plus turning about a pivot, both sines of one rate.

    Attributes
    ----------
    frequency : float [Hz]
    sway : array (3,) [m], amplitude of the offset
    turn : array (3,) [rad], amplitude of the turning as a rotation vector
    pivot : array (3,) [m]
    """

    frequency: float
    sway: Array
    turn: Array
    pivot: Array


class Job(NamedTuple):
    """One run.

    Attributes
    ----------
    name : str
    pieces : Pieces, the solids
    rod : Rod or None, what carries those that are not on the clamp; its ``fluid`` inertia is the
        virtual mass and its ``frame`` and ``root`` the clamp
    shape : array (N, 4), hinge rotations at the start
    rate : array (N, 3) [rad/s], hinge rates at the release
    forced : Path3 or None, of solids on the clamp
    speed : float [m/s], of the stream along x; zero in still water
    pace : float [m/s], the speed that sets the time step: that of the stream, or of the motion
    size : float [m], what ``cells`` counts and Reynolds and Strouhal numbers go with
    density : float [kg/m^3]; viscosity : float [m^2/s], kinematic
    centre : array (3,) [m], about which the box stands: the solids' root
    ramp : array (knots, 2), time [size/pace] and speed ratio; empty for none. The stiffness,
        weight and damping of the rod are scaled so that it moves as at that share of the speed
    body : FreeBody or None, what carries the solids that are not on the clamp where nothing holds
        them; it is let go at rest in the water, and the box follows it
    sheet : SoftSheet or None, the plate that carries the solids that are not on the clamp
    """

    name: str
    pieces: Pieces
    rod: Rod | None
    shape: Array
    rate: Array
    forced: Path3 | None
    speed: float
    pace: float
    size: float
    density: float
    viscosity: float
    centre: Array
    ramp: Array
    body: FreeBody | None = None
    sheet: SoftSheet | None = None

    @property
    def reynolds(self) -> float:
        """Return the Reynolds number of pace and size."""
        return self.pace * self.size / self.viscosity


class Settings(NamedTuple):
    """How finely and how long a job is run; lengths in ``size``, times in ``size / pace``.

    Attributes
    ----------
    cells : int, across ``size``
    pace : float [cells / step]
    across : float, width and height of the box; ahead, behind : float, of the solids
    side : float, openness of the sides (see ``Domain``)
    smagorinsky : float
    stride : int, steps of the flow to one of the rod
    memory : int, see ``coupling.start_held``
    span : float, depth of a box that is periodic across z; zero for a box with four sides
    hold : float, time for which the solids are held while the flow builds up
    longest : float, time at which the run ends
    """

    cells: int = 24
    pace: float = 0.06
    across: float = 6.0
    ahead: float = 3.0
    behind: float = 6.0
    side: float = 0.5
    smagorinsky: float = 0.1
    stride: int = 5
    memory: int = 16
    span: float = 0.0
    hold: float = 4.0
    longest: float = 80.0


KINDS: dict[str, type[Any]] = {
    "Pieces": Pieces, "Rod": Rod, "Paddle": Paddle, "Path3": Path3, "FreeBody": FreeBody,
    "SoftSheet": SoftSheet, "Plate": Plate, "Flow": Flow, "Job": Job, "Settings": Settings,
}  # fmt: skip


def write_tuple(group: h5py.Group, value: Any) -> None:
    """Write a named tuple of numbers, arrays, words and named tuples into an HDF5 group."""
    group.attrs["kind"] = type(value).__name__
    for name, item in value._asdict().items():
        if item is None:
            continue
        if hasattr(item, "_asdict"):
            write_tuple(group.create_group(name), item)
        elif isinstance(item, str):
            group.attrs[name] = item
        else:
            group[name] = item


def read_tuple(group: h5py.Group) -> Any:
    """Return the named tuple that ``write_tuple`` wrote."""
    kind = KINDS[str(group.attrs["kind"])]
    values: dict[str, Any] = {}
    for name in kind._fields:
        if name in group.attrs:
            values[name] = str(group.attrs[name])
        elif name not in group:
            values[name] = None
        elif isinstance(group[name], h5py.Group):
            values[name] = read_tuple(group[name])
        else:
            item = group[name][()]
            values[name] = item if getattr(item, "ndim", 0) else item.item()
    return kind(**values)


def ramped(rod: Rod, ratio: float) -> Rod:
    """Return the rod that moves in the stream as ``rod`` would at ``ratio`` times its speed.

    Forces of the water go with the square of the speed and times with its inverse.
    """
    square = ratio * ratio
    paddle = rod.paddle._replace(weight=rod.paddle.weight / square)
    return rod._replace(
        stiffness=rod.stiffness / square,
        kelvin_voigt=rod.kelvin_voigt * ratio,
        weight=rod.weight / square,
        paddle=paddle,
    )


def forced_offset(path: Path3, time: float) -> tuple[Array, Array, Array, Array]:
    """Return offset [m], its rate [m/s], turning [rad] and its rate [rad/s] at a time [s].

    The motion swells over its first period.
    """
    omega = 2.0 * math.pi * path.frequency
    share = min(1.0, path.frequency * time)
    swell = path.frequency if share < 1.0 else 0.0
    sine = share * math.sin(omega * time)
    rate = share * omega * math.cos(omega * time) + swell * math.sin(omega * time)
    return sine * path.sway, rate * path.sway, sine * path.turn, rate * path.turn
