"""Start speed: eigenvalues of small motions about the rest shape against stream speed.

Every change of sign of the leading growth rate is bracketed and bisected, and every dip or
bump of the growth rate toward zero between two speeds is searched, because mode exchanges
make real jumps and S-shaped limits (checks D01 and D17) that must not be interpolated over.
It knows no body: what moves gives its rest shapes and the growth about them (``SmallMotions``).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Protocol, TypeVar

import numpy as np

from simsoft.core.arrays import Array
from simsoft.mechanics.material_law import Law
from simsoft.solvers.crossing import (
    JUMP_TOLERANCE,
    NO_REST,
    SPEED_TOLERANCE,
    Lead,
    Samples,
    brackets,
    locate,
    locate_jump,
    refine,
)
from simsoft.solvers.spectrum import Pencil, creeping, leading

GROWTH_NOISE = 1.0e-4  # growth below this share of the first wet frequency counts as none
SLOWEST_BEAT = 0.1  # of the first wet mode: anything slower creeps aside and does not beat
SLOW_BEATS = 4.0  # while the stream passes the part: nothing faster is driven by it
TYPICAL_BEATS = 0.7  # while the stream passes the part, where the modulus is taken first


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


def rate_of(value: complex, first_mode: float) -> float:
    """Return the frequency [Hz] of an eigenvalue; zero for what creeps aside."""
    found = abs(value.imag) / (2.0 * math.pi)
    return found if found > SLOWEST_BEAT * first_mode else 0.0


def missing_sentence(missing: dict[float, str], what: str = "no rest shape") -> str:
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


class SmallMotions(Protocol[AnyRest]):
    """Small motions of a body about its rest shapes in a stream of one direction.

    Attributes
    ----------
    limit : float [1/s], growth that counts as none
    length : float [m], of the part
    """

    limit: float
    length: float

    def follow(self, speeds: Array, start: AnyRest | None, start_speed: float) -> list[AnyRest]:
        """Return the rest shapes at ascending speeds, from still water or a known one."""

    def at(self, speed: float, rest: AnyRest) -> Lead:
        """Return the leading small motion about a rest shape at a speed [m/s]."""

    def between(self, speed: float, low: AnyRest, low_speed: float, high: AnyRest) -> AnyRest:
        """Return the rest shape at a speed on the branch of the samples below and above it."""

    def put_right(self, speed: float, near: AnyRest) -> tuple[float, float] | None:
        """Return speed and frequency of a start of beating with less error, None where it cannot.

        Asked for the first speed at which beating grows.
        """


def search_onset(
    motions: SmallMotions[AnyRest],
    speeds: Array,
    careful: bool = True,
    tolerance: float = SPEED_TOLERANCE,
) -> Onset:
    """Search the speeds where the leading small motion begins or ceases to grow.

    Parameters
    ----------
    motions : SmallMotions
    speeds : array (S,) [m/s], ascending, where the growth is sampled
    careful : bool, look between the samples wherever the growth comes near to zero
    tolerance : float, relative, of crossings that are put right from there or end a growth
    """
    speeds = np.asarray(speeds, dtype=float)
    limit = motions.limit
    rests = motions.follow(speeds, None, 0.0)
    leads = [
        motions.at(float(speed), rest) if rest.found else NO_REST
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
        if i + 1 < len(speeds):
            return motions.between(speed, rests[i], float(speeds[i]), rests[i + 1])
        return motions.follow(np.array([speed]), rests[i], float(speeds[i]))[0]

    def sample(speed: float) -> Lead:
        if speed not in known:
            rest = rest_at(speed)
            note(speed, rest)
            known[speed] = motions.at(speed, rest) if rest.found else NO_REST
        return known[speed]

    samples = Samples(speeds, *(np.array([lead[i] for lead in leads]) for i in range(3)))
    if careful:
        samples = refine(samples, motions.length, sample)
    crossings: list[Crossing] = []
    for low, high, starts in brackets(samples, limit, sample):
        # marches look for a start from where a shape turns aside on: that is found more closely
        aside = starts and sample(high).frequency <= 0.0
        if aside and tolerance > SPEED_TOLERANCE:
            speed = locate_jump(low, high, limit, sample, JUMP_TOLERANCE)
        else:
            speed = locate(low, high, starts, limit, sample, tolerance)
        crossing = Crossing(speed, sample(speed).frequency, starts)
        beats = [c for c in crossings if c.starts and c.frequency > 0.0]
        if starts and crossing.frequency > 0.0 and not beats:
            better = motions.put_right(speed, rest_at(speed))
            if better is None and tolerance > SPEED_TOLERANCE:
                speed = locate(low, high, starts, limit, sample)
                crossing = Crossing(speed, sample(speed).frequency, starts)
                better = motions.put_right(speed, rest_at(speed))
            crossing = crossing if better is None else Crossing(*better, True)
        crossings.append(crossing)
    lost_at = None
    if not rests[-1].found:
        there = [s for s, rest in zip(speeds, rests, strict=True) if rest.found]
        lost_at = float(max(there, default=speeds[0]))
    growth = np.where(np.isfinite(samples.growth), samples.growth, -np.inf)
    found = (samples.speed, growth, samples.frequency, tuple(crossings))
    return Onset(
        *found, missing_sentence(missing), lost_at, missing_sentence(other, "another rest shape")
    )
