"""The checked questions of a case, in SI units; part of the model in model.py."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

ScenarioKind = Literal["hold", "retrieve", "sink", "hop", "cast"]
HopMotion = Literal["lift-drop", "twitch", "shake"]
LineKind = Literal["slack", "held"]
Vector = tuple[float, float, float]


@dataclass(frozen=True)
class LineInput:
    """The line at the hook's eye (the nose where there is no hook).

    Attributes
    ----------
    kind : 'slack' (it can only pull) or 'held' (its end follows the stated motion exactly)
    direction : unit vector, from the lure toward the rod
    tension : float [N], steady pull of a semi-tight line
    length : float [m], from lure to rod
    diameter : float [m], with the length gives the friction of a line that follows the lure; 0
        leaves it out
    """

    kind: LineKind = "slack"
    direction: Vector = (-1.0, 0.0, 0.0)
    tension: float = 0.0
    length: float = 10.0
    diameter: float = 0.0


@dataclass(frozen=True)
class HopInput:
    """How the line's end moves, along the line toward the rod.

    Attributes
    ----------
    motion : str
    amplitude : float [m], peak to peak
    cadence : float [Hz]
    times, positions : tuple of float [s], [m], the motion as a table in place of the pattern
    """

    motion: HopMotion = "lift-drop"
    amplitude: float = 0.0
    cadence: float = 0.0
    times: tuple[float, ...] = ()
    positions: tuple[float, ...] = ()


@dataclass(frozen=True)
class CastInput:
    """A throw and the air it goes through.

    Attributes
    ----------
    launch_speed : float or None [m/s], of the lure as it leaves the rod; None for the default
    launch_angle : float or None [rad], above the horizon
    release_height : float or None [m], above the water
    wind : tuple of float [m/s], wind speeds; empty for the default table
    wind_from : tuple of float [rad], where the wind comes from: 0 from ahead, pi/2 from the
        left, pi from behind; every speed is thrown in every one of them; empty for the default
    air_temperature : float [K]
    air_pressure : float [Pa]
    line_drag : float or None [N s^2/m^2], pull of the line over the squared speed
    """

    launch_speed: float | None = None
    launch_angle: float | None = None
    release_height: float | None = None
    wind: tuple[float, ...] = ()
    wind_from: tuple[float, ...] = ()
    air_temperature: float = 288.15
    air_pressure: float = 101325.0
    line_drag: float | None = None


@dataclass(frozen=True)
class Scenario:
    """One question asked of the lure.

    Attributes
    ----------
    name : str, unique in the case
    kind : 'hold' (still water), 'retrieve' (held in a stream), 'sink' (free fall), 'hop'
        (lifted and dropped) or 'cast' (flight); the last three ask the whole lure
    speeds : tuple of float [m/s]; 'retrieve' only
    gravity : bool
    onset : bool, search the start speed
    march : bool, march in time to the limit cycle at each speed
    duration : float or None [s], longest simulated time of a march (None: chosen)
    stream_direction : unit vector
    shear : float [1/s], stream speed gained per metre of height z
    modes : int, number of natural frequencies reported
    max_speed : float or None [m/s], end of the start-speed search (None: chosen)
    free : bool, a retrieve towed by the line at its eye, free to sway, yaw, pitch and roll
    depth : float or None [m], how far down a fall is followed (None: until it is steady)
    tilt : float [rad], nose-down angle at release
    wanted_sink_rate : float or None [m/s], negative to rise; asks for the recipes that give it
    wanted_attitude : float or None [rad], nose down positive
    line : LineInput
    hop : HopInput
    cast : CastInput
    """

    name: str
    kind: ScenarioKind
    speeds: tuple[float, ...] = ()
    gravity: bool = True
    onset: bool = True
    march: bool = True
    duration: float | None = None
    stream_direction: Vector = (1.0, 0.0, 0.0)
    shear: float = 0.0
    modes: int = 3
    max_speed: float | None = None
    free: bool = False
    depth: float | None = None
    tilt: float = 0.0
    wanted_sink_rate: float | None = None
    wanted_attitude: float | None = None
    line: LineInput = field(default_factory=LineInput)
    hop: HopInput = field(default_factory=HopInput)
    cast: CastInput = field(default_factory=CastInput)

    @property
    def of_the_whole(self) -> bool:
        """Whether the whole free lure is asked, not a part of it on its clamp."""
        return self.free or self.kind in ("sink", "hop")
