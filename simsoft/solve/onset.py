"""Start speed: eigenvalues of small motions about the rest shape against stream speed.

Every change of sign of the leading growth rate is bracketed and bisected, and every dip or
bump of the growth rate toward zero between two speeds is searched, because mode exchanges
make real jumps and S-shaped limits (checks D01 and D17) that must not be interpolated over.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.linalg import eigvals
from scipy.optimize import minimize_scalar

from simsoft.solve.linearise import elastic_tangent, steady_turning, tangents
from simsoft.solve.modes import natural_modes
from simsoft.solve.rest import Rest, make_stream, rest_branch
from simsoft.structure.rod import Rod, Stream

Array = npt.NDArray[np.float64]

BASIS = 20  # wet modes that carry the small motion; the error is measured in tests
GROWTH_NOISE = 1.0e-4  # growth below this share of the first wet frequency counts as none
SLOWEST_BEAT = 0.1  # of the first wet mode: anything slower creeps aside and does not beat
FAR_FROM_ZERO = 2.0  # times the change between samples: no dip in between reaches zero
NUDGE = 1.0e-2  # of the interval, for the slope of the growth at its ends
NO_REST = -1.0e9  # [1/s], stands for the growth where there is no rest shape
SPEED_TOLERANCE = 1.0e-4  # relative, of a bisected crossing
# beats while the stream passes the part, at which modes are looked for: damping that is right
# for a slow mode would hide a fast one
PASSAGE_BEATS = (0.25, 0.7, 1.6)
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

    def at(self, speed: float, rest: Rest) -> tuple[float, float]:
        """Return growth [1/s] and frequency [Hz] of the leading mode about a rest shape."""
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
        best, beat = -math.inf, 0.0
        for guess in (self.frequency, *(share * passage for share in PASSAGE_BEATS)):
            first = self.material(guess)
            values = eigenvalues(guess)
            lead = values[np.argmax(values.real)]
            own = np.abs(values.imag) / (2.0 * math.pi)
            near = values[(own > guess / NEAR_GUESS) & (own < guess * NEAR_GUESS)]
            candidates = [lead] if near.size == 0 else [lead, near[np.argmax(near.real)]]
            for candidate in candidates:
                value = candidate
                for _ in range(MATERIAL_PASSES):
                    found = abs(float(value.imag)) / (2.0 * math.pi)
                    if found <= 0.0 or self.material(found) == first:
                        break
                    again = eigenvalues(found)
                    value = again[np.argmin(np.abs(again - value))]
                if value.real > best:
                    best, beat = float(value.real), abs(float(value.imag)) / (2.0 * math.pi)
            if self.material(2.0 * guess) == first:
                break
        return best, beat if beat > SLOWEST_BEAT * self.frequency else 0.0


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
    rests = rest_branch(growth_of.resting, speeds, direction, shear)
    growth = np.full(len(speeds), -np.inf)
    frequency = np.zeros(len(speeds))
    lost = ""
    for i, (speed, rest) in enumerate(zip(speeds, rests, strict=True)):
        if not rest.found:
            lost = rest.message
            break
        growth[i], frequency[i] = growth_of.at(float(speed), rest)

    def sample(speed: float) -> tuple[float, float]:
        i = max(int(np.searchsorted(speeds, speed)) - 1, 0)
        rest = rest_branch(growth_of.resting, np.array([speed]), direction, shear, rests[i].angle)[
            0
        ]
        return growth_of.at(speed, rest) if rest.found else (NO_REST, 0.0)

    limit = GROWTH_NOISE * growth_of.scale
    crossings = []
    for low, high, starts in _brackets(speeds, growth, limit, sample):
        speed = _bisect(low, high, starts, limit, sample)
        crossings.append(Crossing(speed, sample(speed)[1], starts))
    lost_at = float(speeds[np.isfinite(growth)].max(initial=speeds[0])) if lost else None
    return Onset(speeds, growth, frequency, tuple(crossings), lost, lost_at)


def _brackets(
    speeds: Array, growth: Array, limit: float, sample: Callable[[float], tuple[float, float]]
) -> list[tuple[float, float, bool]]:
    """Return speed brackets of every sign change, hidden ones between samples included."""
    result = []
    unstable = growth > limit
    if unstable[0]:
        result.append((0.0, float(speeds[0]), True))
    for i in range(len(speeds) - 1):
        a, b = float(speeds[i]), float(speeds[i + 1])
        if not np.isfinite(growth[i + 1]):
            break
        if unstable[i] != unstable[i + 1]:
            result.append((a, b, bool(unstable[i + 1])))
            continue
        hidden = _hidden(speeds, growth, i, bool(unstable[i]), sample)
        if hidden is not None and (hidden[1] > limit) != unstable[i]:
            result.append((a, hidden[0], not unstable[i]))
            result.append((hidden[0], b, bool(unstable[i])))
    return result


def _hidden(
    speeds: Array,
    growth: Array,
    i: int,
    unstable: bool,
    sample: Callable[[float], tuple[float, float]],
) -> tuple[float, float] | None:
    """Return the extreme growth between samples i and i + 1 if it may cross zero there."""
    sign = 1.0 if unstable else -1.0
    low, high = float(speeds[i]), float(speeds[i + 1])
    around = np.abs(np.diff(growth[max(0, i - 1) : i + 3]))
    if min(abs(growth[i]), abs(growth[i + 1])) > FAR_FROM_ZERO * float(around.max()):
        return None
    nudge = NUDGE * (high - low)
    left = (sample(low + nudge)[0] - growth[i]) / nudge
    right = (growth[i + 1] - sample(high - nudge)[0]) / nudge
    if not (np.isfinite(left) and np.isfinite(right)):
        return None
    if sign * left >= 0.0 or sign * right <= 0.0:
        return None
    # the two tangents meet above the true extreme of a smooth dip: none reaches zero, none does
    reach = max(abs(left), abs(right)) * (high - low)
    if abs(growth[i]) > 2.0 * reach and abs(growth[i + 1]) > 2.0 * reach:
        return None
    found = minimize_scalar(
        lambda u: sign * sample(float(u))[0],
        bounds=(float(speeds[i]), float(speeds[i + 1])),
        method="bounded",
        options={"xatol": 1e-3 * float(speeds[i + 1]), "maxiter": 20},
    )
    return float(found.x), sign * float(found.fun)


def _bisect(
    low: float,
    high: float,
    starts: bool,
    limit: float,
    sample: Callable[[float], tuple[float, float]],
) -> float:
    while high - low > SPEED_TOLERANCE * high:
        middle = 0.5 * (low + high)
        if (sample(middle)[0] > limit) == starts:
            high = middle
        else:
            low = middle
    return 0.5 * (low + high)
