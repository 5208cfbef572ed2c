"""What a run returns: records, warnings and the arrays behind them."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np
import numpy.typing as npt

from simsoft.case.model import Case, Seen
from simsoft.core.arrays import Array
from simsoft.results import lookup
from simsoft.results.changes import RunChange
from simsoft.results.record import Record


@dataclass(frozen=True)
class Shape:
    """A static shape of one part.

    Attributes
    ----------
    scenario, part : str
    speed : float [m/s]
    centreline : array (nodes, 3) [m], from the clamp outward
    edges : array (nodes, 2, 3) [m], the two edges of the section's width at each node
    paddle : array (points, 3) [m], outline of the paddle, empty where there is none
    label : str, 'moulded' or 'rest'
    root : array (3,) [m], of the clamp in the lure's axes
    """

    scenario: str
    part: str
    speed: float
    centreline: Array
    edges: Array
    paddle: Array
    label: str
    root: Array


@dataclass(frozen=True)
class Trace:
    """One time march of one part at one speed.

    Attributes
    ----------
    scenario, part : str
    speed : float [m/s]
    time : array (samples,) [s]
    tip : array (samples, 3) [m], from the clamp, lab axes (x downstream, y side, z up)
    tangent : array (samples, 3) [-], unit tangent at the tip
    force : array (samples, 3) [N], force of the part on its clamp
    moment : array (samples, 3) [N m], moment of the part on its clamp
    wake : array (samples,) [-], wake state of a paddle (zero where there is none)
    strobe : array (frames, nodes, 3) [m], centrelines over the last cycle (or the last part)
    strobe_time : array (frames,) [s], since the start of the march
    edges : array (frames, nodes, 2, 3) [m], the two edges of the section's width at each node
    paddle : array (frames, points, 3) [m], outline of the paddle, no points where there is none
    root : array (3,) [m], of the clamp in the lure's axes
    settled : bool
    message : str, how the march ended
    window : tuple of float [s], start and end of the stretch the measures were read from
    step : float [s], time step
    elements : int
    energy : dict, work and energy terms [J] over the march and 'residual' [-]
    """

    scenario: str
    part: str
    speed: float
    time: Array
    tip: Array
    tangent: Array
    force: Array
    moment: Array
    wake: Array
    strobe: Array
    strobe_time: Array
    edges: Array
    paddle: Array
    root: Array
    settled: bool
    message: str
    window: tuple[float, float]
    step: float
    elements: int
    energy: dict[str, float] = field(default_factory=dict)


@dataclass(frozen=True)
class Surface:
    """Positions of a plate's middle surface: a mode at its largest, or a beat's phases.

    Attributes
    ----------
    scenario, part : str
    kind : 'mode' or 'beat'
    label : str, what is shown
    quads : int array (panels, 4), nodes around each panel
    places : array (frames, nodes, 3) [m], from the clamp; of a mode the rest shape comes first
    """

    scenario: str
    part: str
    kind: str
    label: str
    quads: npt.NDArray[np.int64]
    places: Array


@dataclass(frozen=True)
class Closest:
    """The position of one part in which it is closest to the hook, in the lure's axes.

    Attributes
    ----------
    scenario, part : str
    state : str, 'rest' or 'cycle', or what moved the lure
    speed : float [m/s]
    margin : float [m], between the surfaces, negative where they overlap
    spot : str, where on the hook
    contact : str, 'clear', 'touches' or 'wraps'
    centreline : array (nodes, 3) [m]
    edges : array (nodes, 2, 3) [m], the two edges of the section's width at each node
    paddle : array (points, 3) [m], outline of the paddle, empty where there is none
    on_part, on_wire : array (3,) [m], closest points of middle surface and wire axis
    """

    scenario: str
    part: str
    state: str
    speed: float
    margin: float
    spot: str
    contact: str
    centreline: Array
    edges: Array
    paddle: Array
    on_part: Array
    on_wire: Array


@dataclass(frozen=True)
class Flight:
    """The path of a cast lure through the air.

    Attributes
    ----------
    scenario : str
    attitude : str, 'end-on', 'broadside' or 'tumbling'
    wind : float [m/s]
    wind_from : float [deg], 0 from ahead, 90 from the left, 180 from behind
    path : array (points, 3) [m], down range, to the left, up from the water
    """

    scenario: str
    attitude: str
    wind: float
    wind_from: float
    path: Array


@dataclass(frozen=True)
class Motion:
    """The motion of a whole free lure in one scenario.

    Attributes
    ----------
    scenario : str
    label : str, what was done, such as 'fall' or 'tow at 0.4 m/s'
    speed : float [m/s], of a tow, otherwise zero
    time : array (samples,) [s]
    eye : array (samples, 3) [m], where the line is tied; z up
    frames : array (samples, 3, 3), lure's axes as columns in the world
    centre : array (samples, 3) [m], of the moulded centre of mass
    attitude, roll : array (samples,) [deg], nose down positive
    line : array (samples, 3) [N], of the line on the eye
    lead : array (samples, 3) [m], where the line's end asks the eye to be; empty without
    chains : tuple of str, names of the soft lengths and parts
    first : tuple of int, first row of each chain in ``nodes``, then their number
    nodes : array (samples, N, 3) [m]
    outline : array (points, 2) [m], body from the side, x from the eye and z, lure's axes
    window : tuple of float [s], stretch the measures were read from
    message : str, how it ended
    energy : dict, works and energies [J] and 'residual' [-]
    momentum_residual : float [-]
    """

    scenario: str
    label: str
    speed: float
    time: Array
    eye: Array
    frames: Array
    centre: Array
    attitude: Array
    roll: Array
    line: Array
    lead: Array
    chains: tuple[str, ...]
    first: tuple[int, ...]
    nodes: Array
    outline: Array
    window: tuple[float, float]
    message: str
    energy: dict[str, float]
    momentum_residual: float


# By scenario, part, quantity and conditions: how far half the band of each input moves the
# logarithm of a number.
Moves = dict[tuple[str, str, str, tuple[tuple[str, Any], ...]], dict[str, float]]


@dataclass(frozen=True)
class Look:
    """What a look at the bait in hand did to the answer.

    Attributes
    ----------
    seen : Seen
    part : str, that answers it
    taken : 'used', 'refused', or 'widened': far off, so that the band is widened to hold it
    chance : float or None, of a look at least so far from what was expected; of a verdict's side
    reason : str, why it was refused or widened, empty where it is far from what is computed
    before, after : Record or None, that number of the bait in hand without and with all looks
    """

    seen: Seen
    part: str
    taken: str
    chance: float | None
    reason: str = ""
    before: Record | None = None
    after: Record | None = None


@dataclass(frozen=True, eq=False, repr=False)
class RunResult:
    """Everything one ``run`` produced.

    ``result["start_speed"]`` and ``result["stroke", 0.6]`` are its records by quantity and speed
    [m/s]; two results are equal only where they are one.

    Attributes
    ----------
    case : Case
    records : tuple of Record
    warnings : tuple of str
    shapes : tuple of Shape
    traces : tuple of Trace
    closest : tuple of Closest
    flights : tuple of Flight
    motions : tuple of Motion
    surfaces : tuple of Surface, modes and beats of plates
    moves : dict, how inputs move the numbers
    looks : tuple of Look, what was seen of the bait in hand
    narrowed : tuple of (name, share), what is left of the doubt of each input
    changes : tuple of RunChange, from the case as it stands, where that was asked
    """

    case: Case
    records: tuple[Record, ...]
    warnings: tuple[str, ...] = ()
    shapes: tuple[Shape, ...] = ()
    traces: tuple[Trace, ...] = ()
    closest: tuple[Closest, ...] = ()
    flights: tuple[Flight, ...] = ()
    motions: tuple[Motion, ...] = ()
    surfaces: tuple[Surface, ...] = ()
    moves: Moves = field(default_factory=dict)
    looks: tuple[Look, ...] = ()
    narrowed: tuple[tuple[str, float], ...] = ()
    changes: tuple[RunChange, ...] = ()

    def __getitem__(self, key: lookup.Key) -> Record:
        """Return the first record of a quantity, at a speed [m/s] where one is named."""
        return lookup.found(self.records, key)

    def table(self, *quantities: str, by: str = "speed") -> dict[str, list[Any]]:
        """Return columns of quantities with their bands, SI units, one row for each ``by``."""
        return lookup.columns(self.records, quantities, by)

    def __repr__(self) -> str:
        told = "; ".join(map(lookup.record_line, lookup.headline_records(self.records)))
        return f"<{self.case.title}: {told or f'{len(self.records)} records'}>"

    def _repr_html_(self) -> str:
        return lookup.summary_page(self.case.title, self.records, self.warnings)
