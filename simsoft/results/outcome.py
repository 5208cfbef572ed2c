"""What solving one strip in one scenario gives, before bands are put on it."""

from __future__ import annotations

from dataclasses import dataclass, field

from simsoft.core.arrays import Array
from simsoft.results.record import Value
from simsoft.results.result import Closest, Motion, Shape, Surface, Trace

At = tuple[tuple[str, float | int | str], ...]
Key = tuple[str, At]


@dataclass(frozen=True)
class Answer:
    """One quantity.

    Attributes
    ----------
    value : float, tuple of float, str or None; SI units, angles in degrees
    unit : str
    basis : str
    reason : str or None, why there is no value
    """

    value: Value
    unit: str
    basis: str
    reason: str | None = None


@dataclass(frozen=True)
class Stood:
    """Where a march stands that has settled to a beat, for others to go on from.

    Attributes
    ----------
    frequency : float [Hz]; stroke : float [m]
    state : tuple of array, as the body keeps it
    """

    frequency: float
    stroke: float
    state: tuple[Array, ...]


@dataclass
class Outcome:
    """Answers by quantity and conditions, with the arrays behind them.

    ``distrusted`` says of answers past their model's range why they are not to be trusted;
    ``own_error`` what an answer is off by itself, downward and upward, whatever the inputs;
    ``slopes`` how far half the band of each input moves the logarithm of an answer of
    ``part``; ``stood`` where the settled marches stand, by speed [m/s]; ``rested`` by speed how
    fast small motions grow, per passage of the stream, where the march came to rest.
    """

    answers: dict[Key, Answer] = field(default_factory=dict)
    shapes: list[Shape] = field(default_factory=list)
    traces: list[Trace] = field(default_factory=list)
    closest: list[Closest] = field(default_factory=list)
    motions: list[Motion] = field(default_factory=list)
    surfaces: list[Surface] = field(default_factory=list)
    warnings: list[str] = field(default_factory=list)
    distrusted: dict[Key, str] = field(default_factory=dict)
    own_error: dict[Key, dict[str, tuple[float, float]]] = field(default_factory=dict)
    slopes: dict[Key, dict[str, float]] = field(default_factory=dict)
    part: str = ""
    stood: dict[float, Stood] = field(default_factory=dict)
    rested: dict[float, float] = field(default_factory=dict)

    def add(
        self, quantity: str, value: Value, unit: str, basis: str, **at: float | int | str
    ) -> None:
        """Add an answer; plain Python numbers only."""
        self.answers[quantity, tuple(at.items())] = Answer(value, unit, basis)

    def distrust(self, quantity: str, why: str, **at: float | int | str) -> None:
        """Say why an answer, there already or still to come, is not to be trusted."""
        self.distrusted[quantity, tuple(at.items())] = why

    def lack(
        self, quantity: str, unit: str, basis: str, reason: str, **at: float | int | str
    ) -> None:
        """Add a quantity that has no value, with the reason."""
        self.answers[quantity, tuple(at.items())] = Answer(None, unit, basis, reason)
