"""Start speed: eigenvalues of small motions about the rest shape against stream speed.

Every change of sign of the leading growth rate is bracketed and bisected, and every dip or
bump of the growth rate toward zero between two speeds is searched, because mode exchanges
make real jumps and S-shaped limits (checks D01 and D17) that must not be interpolated over.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol, TypeVar

import numpy as np
import numpy.typing as npt
from scipy.linalg import eigvals

from simsoft.solve.crossing import NO_REST, Lead, bisect, brackets, refine
from simsoft.solve.linearise import elastic_tangent, steady_turning, tangents
from simsoft.solve.modes import natural_modes
from simsoft.solve.rest import Rest, make_stream, rest_branch
from simsoft.structure.rod import Rod, Stream

Array = npt.NDArray[np.float64]

BASIS = 20  # wet modes that carry the small motion; the error is measured in tests
GROWTH_NOISE = 1.0e-4  # growth below this share of the first wet frequency counts as none
SLOWEST_BEAT = 0.1  # of the first wet mode: anything slower creeps aside and does not beat
# beats while the stream passes the part, at which modes are looked for: damping that is right
# for a slow mode would hide a fast one
PASSAGE_BEATS = (0.25, 0.7, 1.6)
SLOW_BEATS = 4.0  # while the stream passes the part: nothing faster is driven by it
NEAR_GUESS = 1.8  # factor around a guess within which its own mode is looked for
MATERIAL_PASSES = 2

Material = Callable[[float], tuple[float, float]]


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
    lost : str, where and why the rest branch ends, empty if it does not
    lost_at : float or None [m/s], the same as a speed, to the sampling of the search
    """

    speed: Array
    growth: Array
    frequency: Array
    crossings: tuple[Crossing, ...]
    lost: str = ""
    lost_at: float | None = None


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


class _Growth:
    """Leading eigenvalue of small motions at a speed, every mode with the material it meets."""

    def __init__(
        self, rod: Rod, resting_modulus: float, material: Material, direction: Array, shear: float
    ) -> None:
        self.rod = rod
        self.resting = resting(rod, resting_modulus)
        self.resting_modulus = resting_modulus
        self.material = material
        self.direction = direction
        self.shear = shear
        still = rest_branch(self.resting, np.zeros(1), direction)[0]
        self.modulus, _ = material(0.0)
        moving = relaxed(
            rod, still.angle, make_stream(0.0, direction), resting_modulus, self.modulus, 0.0
        )
        count = min(BASIS, max(4, len(rod.length) // 2))
        modes = natural_modes(moving, still.angle, count)
        self.basis = modes.shape
        self.scale = 2.0 * math.pi * max(float(modes.frequency[0]), 1e-12)
        self.frequency = float(modes.frequency[0])

    def at(self, speed: float, rest: Rest) -> Lead:
        """Return the leading small motion about a rest shape."""
        stream = make_stream(speed, self.direction, self.shear)
        rod = relaxed(self.rod, rest.angle, stream, self.resting_modulus, self.modulus, 0.0)
        mass, damping, stiffness = tangents(rod, stream, rest.angle, self.basis)
        elastic = elastic_tangent(rod, rest.angle, self.basis) / self.modulus

        def eigenvalues(frequency: float) -> Array:
            modulus, time = self.material(frequency)
            return small_motions(
                mass,
                damping + modulus * time * elastic,
                stiffness + (modulus - self.modulus) * elastic,
            )

        passage = speed / float(self.rod.length.sum())
        return leading_motion(eigenvalues, self.material, self.frequency, passage)


def leading_motion(
    eigenvalues: Callable[[float], Array], material: Material, first_mode: float, passage: float
) -> Lead:
    """Return the leading small motion, every mode with the material it meets.

    Parameters
    ----------
    eigenvalues : function of the frequency [Hz] that sets the material, returning complex [1/s]
    material : function of frequency [Hz] returning modulus [Pa] and Kelvin-Voigt time [s]
    first_mode : float [Hz], first wet natural frequency
    passage : float [1/s], stream speed over the part's length
    """
    slow_limit = max(SLOW_BEATS * passage, first_mode)
    best, slow = complex(-math.inf), -math.inf
    for guess in (first_mode, *(share * passage for share in PASSAGE_BEATS)):
        first = material(guess)
        for candidate in _candidates(eigenvalues(guess), guess, slow_limit):
            value = candidate
            for _ in range(MATERIAL_PASSES):
                found = beat_of(value)
                if found <= 0.0 or material(found) == first:
                    break
                again = eigenvalues(found)
                value = again[np.argmin(np.abs(again - value))]
            if value.real > best.real:
                best = complex(value)
            if beat_of(value) <= slow_limit:
                slow = max(slow, float(value.real))
        if material(2.0 * guess) == first:
            break
    beat = beat_of(best)
    return Lead(best.real, beat if beat > SLOWEST_BEAT * first_mode else 0.0, slow)


def beat_of(value: complex) -> float:
    """Return the frequency [Hz] of an eigenvalue [1/s]."""
    return abs(float(value.imag)) / (2.0 * math.pi)


def _candidates(values: Array, guess: float, slow_limit: float) -> list[complex]:
    """Return the eigenvalues worth following: leading, leading slow, leading near a guess [Hz]."""
    own = np.abs(values.imag) / (2.0 * math.pi)
    chosen = [values]
    chosen.append(values[own <= slow_limit])
    chosen.append(values[(own > guess / NEAR_GUESS) & (own < guess * NEAR_GUESS)])
    leads = [complex(group[np.argmax(group.real)]) for group in chosen if group.size]
    return list(dict.fromkeys(leads))


def small_motions(mass: Array, damping: Array, stiffness: Array) -> Array:
    """Return the eigenvalues [1/s] of small motions with frequency not negative, complex."""
    m = mass.shape[0]
    system = np.zeros((2 * m, 2 * m))
    system[:m, m:] = np.eye(m)
    system[m:, :] = -np.linalg.solve(mass, np.hstack([stiffness, damping]))
    values = eigvals(system, check_finite=False)
    return np.asarray(values[values.imag >= 0.0])


def find_onset(
    rod: Rod,
    resting_modulus: float,
    material: Material,
    speeds: Array,
    direction: Array,
    shear: float = 0.0,
) -> Onset:
    """Search the speeds where small motions about the rest shape begin or cease to grow.

    Parameters
    ----------
    rod : Rod of unit modulus
    resting_modulus : float [Pa]
    material : function of frequency [Hz] returning modulus [Pa] and Kelvin-Voigt time [s]
    speeds : array (S,) [m/s], ascending, where the growth is sampled
    direction : array (3,), unit vector of the stream
    shear : float [1/s]
    """
    growth_of = _Growth(rod, resting_modulus, material, direction, shear)

    def follow(wanted: Array, start: Rest | None) -> list[Rest]:
        angle = None if start is None else start.angle
        return rest_branch(growth_of.resting, wanted, direction, shear, angle)

    limit = GROWTH_NOISE * growth_of.scale
    return search_onset(speeds, follow, growth_of.at, limit, float(rod.length.sum()))


class Found(Protocol):
    """What a search needs to know of a rest shape of any kind of part."""

    @property
    def found(self) -> bool:
        """Whether there is one."""

    @property
    def message(self) -> str:
        """Why there is none."""


AnyRest = TypeVar("AnyRest", bound=Found)


def search_onset(
    speeds: Array,
    follow: Callable[[Array, AnyRest | None], list[AnyRest]],
    growth_at: Callable[[float, AnyRest], Lead],
    limit: float,
    length: float,
) -> Onset:
    """Search the speeds where the leading small motion begins or ceases to grow.

    Parameters
    ----------
    speeds : array (S,) [m/s], ascending, where the growth is sampled
    follow : function of ascending speeds and the rest shape to start from, returning rest shapes
    growth_at : function of a speed [m/s] and its rest shape
    limit : float [1/s], growth that counts as none
    length : float [m], of the part
    """
    rests = follow(speeds, None)
    growth = np.full(len(speeds), -np.inf)
    slow = np.full(len(speeds), -np.inf)
    frequency = np.zeros(len(speeds))
    lost = ""
    for i, (speed, rest) in enumerate(zip(speeds, rests, strict=True)):
        if not rest.found:
            lost = rest.message
            break
        growth[i], frequency[i], slow[i] = growth_at(float(speed), rest)

    sampled = np.asarray(speeds, dtype=float)

    def sample(speed: float) -> Lead:
        i = max(int(np.searchsorted(sampled, speed)) - 1, 0)
        rest = follow(np.array([speed]), rests[i])[0]
        return growth_at(speed, rest) if rest.found else Lead(NO_REST, 0.0, NO_REST)

    speeds, growth, frequency, slow = refine(speeds, growth, frequency, slow, length, sample)
    crossings = []
    for low, high, starts in brackets(speeds, growth, slow, limit, sample):
        speed = bisect(low, high, starts, limit, sample)
        crossings.append(Crossing(speed, sample(speed).frequency, starts))
    lost_at = float(speeds[np.isfinite(growth)].max(initial=speeds[0])) if lost else None
    return Onset(speeds, growth, frequency, tuple(crossings), lost, lost_at)
