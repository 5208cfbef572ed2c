"""Start speed: eigenvalues of small motions about the rest shape against stream speed.

Every change of sign of the leading growth rate is bracketed and bisected, and every dip or
bump of the growth rate toward zero between two speeds is searched, because mode exchanges
make real jumps and S-shaped limits (checks D01 and D17) that must not be interpolated over.
The search runs in a small basis of wet modes; where growth begins is then put right in a large
one.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Protocol, TypeVar

import numpy as np

from simsoft.bodies.rod.equilibrium import Rest, make_stream, rest_branch, turn
from simsoft.bodies.rod.modes import natural_modes
from simsoft.bodies.rod.tangents import (
    elastic_tangent,
    padded,
    steady_turning,
    tangents_in_wake,
)
from simsoft.core.arrays import Array
from simsoft.mechanics.material_law import Law
from simsoft.mechanics.rod import Rod, Stream
from simsoft.solvers.continuation import strays
from simsoft.solvers.crossing import NO_REST, Lead, Samples, brackets, locate, refine
from simsoft.solvers.spectrum import Pencil, creeping, follow, leading, make_pencil

BASIS = 20  # wet modes that carry the small motion in the search; the error is measured in tests
FINE_BASIS = 60  # wet modes in which a start is put right
GROWTH_NOISE = 1.0e-4  # growth below this share of the first wet frequency counts as none
SLOWEST_BEAT = 0.1  # of the first wet mode: anything slower creeps aside and does not beat
SLOW_BEATS = 4.0  # while the stream passes the part: nothing faster is driven by it
TYPICAL_BEATS = 0.7  # while the stream passes the part, where the modulus is taken first
FARTHEST = 0.1  # relative change of speed that the large basis may make
CORRECTIONS = 6
SETTLED = 1.0e-5  # relative change of speed at which the correction ends
BESIDE = "a stable rest shape stands beside the one that is followed"


@dataclass(frozen=True)
class Crossing:
    """A speed at which small motions begin or cease to grow.

    Attributes
    ----------
    speed : float [m/s]
    frequency : float [Hz]; zero where the shape turns aside without beating
    starts : bool, true where growth begins as the speed rises
    """

    speed: float
    frequency: float
    starts: bool

    @property
    def change(self) -> str:
        """What happens there, in words."""
        if not self.starts:
            return "growth ends"
        return "beating grows" if self.frequency > 0.0 else "turns aside"


@dataclass(frozen=True)
class Onset:
    """Growth of small motions against speed.

    Attributes
    ----------
    speed : array (S,) [m/s]
    growth : array (S,) [1/s] of the leading mode; minus infinity where no rest shape is found
    frequency : array (S,) [Hz] of the leading mode
    crossings : tuple of Crossing, ascending
    lost : str, where and why a rest shape is missing, empty if none is
    lost_at : float or None [m/s], the same as a speed, to the sampling of the search
    other : str, where another rest shape stands beside the one followed, empty if none was seen
    """

    speed: Array
    growth: Array
    frequency: Array
    crossings: tuple[Crossing, ...]
    lost: str = ""
    lost_at: float | None = None
    other: str = ""


def resting(rod: Rod, modulus: float) -> Rod:
    """Return a unit-modulus rod as a long-held shape feels it: the paddle's steady moment only."""
    return rod._replace(stiffness=rod.stiffness * modulus, paddle=rod.paddle._replace(munk=0.0))


def relaxed(
    rod: Rod, angle: Array, stream: Stream, resting_modulus: float, modulus: float, time: float
) -> Rod:
    """Return the rod as fast motion about a long-held rest shape feels it.

    A gel held in a shape relaxes to its resting modulus; quick motion about that shape meets
    the higher dynamic modulus. The stress-free shape is moved so that the relaxed moment in
    the rest shape stays what it is. In the same way the paddle's turning moment acts on
    changes only: its value in the rest shape is taken off. ``rod`` has unit modulus;
    ``angle`` (N, 3) [rad] is the rest shape; ``time`` is the Kelvin-Voigt time [s].
    """
    natural = angle - (resting_modulus / modulus) * (angle - rod.natural)
    paddle = rod.paddle
    if paddle.area > 0.0 and paddle.munk > 0.0:
        paddle = paddle._replace(steady_turning=steady_turning(rod, stream, angle))
    return rod._replace(
        stiffness=rod.stiffness * modulus, natural=natural, kelvin_voigt=time, paddle=paddle
    )


class Growth:
    """Leading eigenvalue of small motions at a speed, every mode with the material it meets."""

    def __init__(
        self, rod: Rod, resting_modulus: float, material: Law, direction: Array, shear: float
    ) -> None:
        self.rod = rod
        self.resting = resting(rod, resting_modulus)
        self.resting_modulus = resting_modulus
        self.material = material
        self.direction = direction
        self.shear = shear
        self.modulus, _ = material(0.0)
        self.still = rest_branch(self.resting, np.zeros(1), direction)[0].angle
        moving = relaxed(
            rod, self.still, make_stream(0.0, direction), resting_modulus, self.modulus, 0.0
        )
        modes = natural_modes(moving, self.still, max(FINE_BASIS, BASIS))
        count = min(BASIS, max(4, len(rod.length) // 2))
        self.basis = np.ascontiguousarray(modes.shape[:, :count])
        self.fine_basis = np.ascontiguousarray(modes.shape)
        self.frequency = float(modes.frequency[0])
        self.scale = 2.0 * math.pi * max(self.frequency, 1e-12)

    def pencil(self, speed: float, rest: Rest, basis: Array) -> Pencil:
        """Return the matrices of small motions about a rest shape in a basis."""
        stream = make_stream(speed, self.direction, self.shear)
        rod = relaxed(self.rod, rest.angle, stream, self.resting_modulus, self.modulus, 0.0)
        elastic = elastic_tangent(rod, rest.angle, basis) / self.modulus
        mass, damping, stiffness = tangents_in_wake(rod, stream, rest.angle, basis)
        elastic = padded(elastic, len(mass))
        return make_pencil(mass, damping, stiffness, elastic, self.modulus)

    def eigenvalue(self, speed: float, rest: Rest) -> tuple[complex, float]:
        """Return leading eigenvalue [1/s] and leading growth of what the stream can drive."""
        passage = speed / float(self.rod.length.sum())
        pencil = self.pencil(speed, rest, self.basis)
        return leading_eigenvalue(pencil, self.material, self.frequency, passage)

    def at(self, speed: float, rest: Rest) -> Lead:
        """Return the leading small motion about a rest shape."""
        best, slow = self.eigenvalue(speed, rest)
        return Lead(best.real, beat_of(best, self.frequency), slow)

    def follow(self, speeds: Array, start: Rest | None, start_speed: float) -> list[Rest]:
        """Return the rest shapes at ascending speeds, from still water or a known one."""
        angle = self.still if start is None else start.angle
        return rest_branch(self.resting, speeds, self.direction, self.shear, angle, start_speed)

    def between(self, speed: float, low: Rest, low_speed: float, high: Rest) -> Rest:
        """Return the rest shape at a speed on the branch of the samples below and above it.

        Another branch that is met there by chance would be left again at the next sample, and
        the two jumps would pass for an end and a beginning of growth. Where the branch itself
        ends, the part falls to the other shape, and that is returned.
        """
        at = np.array([speed])
        found = self.follow(at, low, low_speed)[0]
        if not strays(found, low, high, turn):
            return found
        way = (self.direction, self.shear, low.angle, low_speed)
        kept = rest_branch(self.resting, at, *way, keep=True)[0]
        return replace(kept, message=f"at {speed:.4g} m/s {BESIDE}") if kept.found else found

    def put_right(self, found: float, near: Rest, limit: float) -> tuple[float, complex] | None:
        """Return speed and eigenvalue of a crossing in the large basis, or None if it is lost.

        Secants on the growth of the one eigenvalue, followed from its value in the small basis.
        """

        def growth(speed: float, start: complex) -> complex | None:
            rest = self.follow(np.array([speed]), near, found)[0]
            if not rest.found:
                return None
            pencil = self.pencil(speed, rest, self.fine_basis)
            value, there = follow(pencil, self.material, start, abs(start.imag) / (2.0 * math.pi))
            return complex(value) if there else None

        if found <= 0.0:  # it grows in still water: no speed to begin the secants from
            return None
        speed, step = found, 1.0e-3 * found
        value = growth(speed, self.eigenvalue(found, near)[0])
        for _ in range(CORRECTIONS):
            other = None if value is None else growth(speed + step, value)
            if value is None or other is None or other.real == value.real:
                return None
            slope = (other.real - value.real) / step
            speed, value = speed + step, other
            step = (limit - value.real) / slope
            if abs(speed + step - found) > FARTHEST * found:
                return None
            if abs(step) < SETTLED * found:
                return speed + step, value
        return None


def leading_eigenvalue(
    pencil: Pencil, material: Law, first_mode: float, passage: float
) -> tuple[complex, float]:
    """Return the leading eigenvalue [1/s], and the leading growth of what the stream can drive.

    Parameters
    ----------
    pencil : Pencil, matrices of small motions
    material : Law, modulus and damping against frequency
    first_mode : float [Hz], first wet natural frequency
    passage : float [1/s], stream speed over the part's length
    """
    typical = max(TYPICAL_BEATS * passage, first_mode)
    slow_limit = max(SLOW_BEATS * passage, first_mode)
    best, slow = leading(pencil, material, typical, slow_limit)
    creep = creeping(pencil, material)
    if creep > best.real:
        best = complex(creep, 0.0)
    return complex(best), max(float(slow), creep)


def beat_of(value: complex, first_mode: float) -> float:
    """Return the frequency [Hz] of an eigenvalue; zero for what creeps aside."""
    found = abs(value.imag) / (2.0 * math.pi)
    return found if found > SLOWEST_BEAT * first_mode else 0.0


def find_onset(
    rod: Rod,
    resting_modulus: float,
    material: Law,
    speeds: Array,
    direction: Array,
    shear: float = 0.0,
    careful: bool = True,
) -> Onset:
    """Search the speeds where small motions about the rest shape begin or cease to grow.

    Parameters
    ----------
    rod : Rod of unit modulus
    resting_modulus : float [Pa]
    material : Law, modulus and damping against frequency
    speeds : array (S,) [m/s], ascending, where the growth is sampled
    direction : array (3,), unit vector of the stream
    shear : float [1/s]
    careful : bool, look between the samples wherever the growth comes near to zero
    """
    search = Growth(rod, resting_modulus, material, direction, shear)
    limit = GROWTH_NOISE * search.scale

    def put_right(speed: float, near: Rest) -> tuple[float, float] | None:
        better = search.put_right(speed, near, limit)
        return None if better is None else (better[0], beat_of(better[1], search.frequency))

    length = float(rod.length.sum())
    return search_onset(
        speeds, search.follow, search.at, limit, length, put_right, careful, search.between
    )


def told(missing: dict[float, str], what: str = "no rest shape") -> str:
    """Return in one sentence at which speeds [m/s] no rest shape was found, and why.

    ``what`` names anything else that is told of the shapes.
    """
    if not missing:
        return ""
    low, high = min(missing), max(missing)
    if f"{low:.3g}" == f"{high:.3g}":
        return missing[low]
    where = f"at {len(missing)} speeds from {low:.3g} to {high:.3g} m/s"
    return f"{what} {where}, the first: {missing[low]}"


class Found(Protocol):
    """What a search needs to know of a rest shape of any kind of part."""

    @property
    def found(self) -> bool:
        """Whether there is one."""

    @property
    def message(self) -> str:
        """Why there is none; of one that is there, what stands beside it."""


AnyRest = TypeVar("AnyRest", bound=Found)


def search_onset(
    speeds: Array,
    follow: Callable[[Array, AnyRest | None, float], list[AnyRest]],
    growth_at: Callable[[float, AnyRest], Lead],
    limit: float,
    length: float,
    put_right: Callable[[float, AnyRest], tuple[float, float] | None] | None = None,
    careful: bool = True,
    between: Callable[[float, AnyRest, float, AnyRest], AnyRest] | None = None,
) -> Onset:
    """Search the speeds where the leading small motion begins or ceases to grow.

    Parameters
    ----------
    speeds : array (S,) [m/s], ascending, where the growth is sampled
    follow : function of ascending speeds, the rest shape to start from (None: still water) and
        its speed, returning rest shapes
    growth_at : function of a speed [m/s] and its rest shape
    limit : float [1/s], growth that counts as none
    length : float [m], of the part
    put_right : function of a crossing's speed and rest shape returning speed and frequency with
        less error, or None where it cannot; asked for the first speed at which beating grows
    careful : bool, see ``find_onset``
    between : function of a speed, the rest shape sampled below it, that one's speed, and the rest
        shape sampled above it, returning the rest shape on their branch; default ``follow``
    """
    speeds = np.asarray(speeds, dtype=float)
    rests = follow(speeds, None, 0.0)
    leads = [
        growth_at(float(speed), rest) if rest.found else NO_REST
        for speed, rest in zip(speeds, rests, strict=True)
    ]
    known: dict[float, Lead] = dict(zip(speeds.tolist(), leads, strict=True))
    missing: dict[float, str] = {}
    other: dict[float, str] = {}

    def note(speed: float, rest: AnyRest) -> None:
        if rest.message:
            (other if rest.found else missing)[speed] = rest.message

    for speed, rest, lead in zip(speeds.tolist(), rests, leads, strict=True):
        if not rest.found or lead.growth <= limit:  # it ends no growth by going over
            note(speed, rest)

    def rest_at(speed: float) -> AnyRest:
        i = max(int(np.searchsorted(speeds, speed, side="right")) - 1, 0)
        if between is not None and i + 1 < len(speeds):
            return between(speed, rests[i], float(speeds[i]), rests[i + 1])
        return follow(np.array([speed]), rests[i], float(speeds[i]))[0]

    def sample(speed: float) -> Lead:
        if speed not in known:
            rest = rest_at(speed)
            note(speed, rest)
            known[speed] = growth_at(speed, rest) if rest.found else NO_REST
        return known[speed]

    samples = Samples(speeds, *(np.array([lead[i] for lead in leads]) for i in range(3)))
    if careful:
        samples = refine(samples, length, sample)
    crossings: list[Crossing] = []
    for low, high, starts in brackets(samples, limit, sample):
        speed = locate(low, high, starts, limit, sample)
        crossing = Crossing(speed, sample(speed).frequency, starts)
        beats = [c for c in crossings if c.starts and c.frequency > 0.0]
        if put_right is not None and starts and crossing.frequency > 0.0 and not beats:
            better = put_right(speed, rest_at(speed))
            crossing = crossing if better is None else Crossing(*better, True)
        crossings.append(crossing)
    lost_at = None
    if not rests[-1].found:
        there = [s for s, rest in zip(speeds, rests, strict=True) if rest.found]
        lost_at = float(max(there, default=speeds[0]))
    growth = np.where(np.isfinite(samples.growth), samples.growth, -np.inf)
    found = (samples.speed, growth, samples.frequency, tuple(crossings))
    return Onset(*found, told(missing), lost_at, told(other, "another rest shape"))
