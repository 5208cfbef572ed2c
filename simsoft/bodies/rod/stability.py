"""Small motions of a rod about its rest shape in a stream.

The search for a start runs in a small basis of wet modes; where growth begins is then put right
in a large one.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from simsoft.bodies.rod.equilibrium import Rest, make_stream, rest_branch, turn
from simsoft.bodies.rod.modes import natural_modes
from simsoft.bodies.rod.tangents import at_rest, elastic_tangent, linearised
from simsoft.core.arrays import Array
from simsoft.mechanics.material_law import Law
from simsoft.mechanics.rod import Rod, Stream
from simsoft.solvers.continuation import strays
from simsoft.solvers.crossing import NEAR_ENOUGH, SPEED_TOLERANCE, Lead
from simsoft.solvers.spectrum import Pencil, follow, make_pencil
from simsoft.solvers.stability import (
    GROWTH_NOISE,
    Onset,
    leading_eigenvalue,
    rate_of,
    search_onset,
)

BASIS = 20  # wet modes that carry the small motion in the search; the error is measured in tests
FINE_BASIS = 60  # wet modes in which a start is put right
FARTHEST = 0.1  # relative change of speed that the large basis may make
CORRECTIONS = 6
SETTLED = 1.0e-5  # relative change of speed at which the correction ends
BESIDE = "a stable rest shape stands beside the one that is followed"


def resting(rod: Rod, modulus: float) -> Rod:
    """Return a unit-modulus rod as a long-held shape feels it: the paddle's steady moment only."""
    return rod._replace(stiffness=rod.stiffness * modulus, paddle=rod.paddle._replace(munk=0.0))


def relaxed_rod(
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
        paddle = paddle._replace(steady_turning=at_rest(rod, stream, angle).turning)
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
        moving = relaxed_rod(
            rod, self.still, make_stream(0.0, direction), resting_modulus, self.modulus, 0.0
        )
        modes = natural_modes(moving, self.still, max(FINE_BASIS, BASIS))
        count = min(BASIS, max(4, len(rod.length) // 2))
        self.basis = np.ascontiguousarray(modes.shape[:, :count])
        self.fine_basis = np.ascontiguousarray(modes.shape)
        self.frequency = float(modes.frequency[0])
        self.limit = GROWTH_NOISE * (2.0 * math.pi * max(self.frequency, 1e-12))
        self.length = float(rod.length.sum())

    def pencil(self, speed: float, rest: Rest, basis: Array) -> Pencil:
        """Return the matrices of small motions about a rest shape in a basis."""
        stream = make_stream(speed, self.direction, self.shear)
        rod = relaxed_rod(self.rod, rest.angle, stream, self.resting_modulus, self.modulus, 0.0)
        elastic = elastic_tangent(rod, rest.angle, basis) / self.modulus
        mass, damping, stiffness = linearised(rod, stream, rest.angle, basis)
        elastic = np.pad(elastic, (0, len(mass) - len(elastic)))  # the wake has no stiffness
        return make_pencil(mass, damping, stiffness, elastic, self.modulus)

    def eigenvalue(self, speed: float, rest: Rest) -> tuple[complex, float]:
        """Return leading eigenvalue [1/s] and leading growth of what the stream can drive."""
        passage = speed / self.length
        pencil = self.pencil(speed, rest, self.basis)
        return leading_eigenvalue(pencil, self.material, self.frequency, passage)

    def at(self, speed: float, rest: Rest) -> Lead:
        """Return the leading small motion about a rest shape."""
        best, slow = self.eigenvalue(speed, rest)
        return Lead(best.real, rate_of(best, self.frequency), slow)

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

    def put_right(self, speed: float, near: Rest) -> tuple[float, float] | None:
        """Return speed and frequency of a crossing in the large basis, or None if it is lost."""
        better = self._crossing(speed, near)
        return None if better is None else (better[0], rate_of(better[1], self.frequency))

    def _crossing(self, found: float, near: Rest) -> tuple[float, complex] | None:
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
            step = (self.limit - value.real) / slope
            if abs(speed + step - found) > FARTHEST * found:
                return None
            if abs(step) < SETTLED * found:
                return speed + step, value
        return None


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
    careful : bool, look between the samples wherever the growth comes near to zero, and find the
        crossings closely that are not put right
    """
    growth = Growth(rod, resting_modulus, material, direction, shear)
    return search_onset(growth, speeds, careful, SPEED_TOLERANCE if careful else NEAR_ENOUGH)
