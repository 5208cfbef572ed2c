"""Beat of a plate in its own wake by harmonic balance of small motions about its rest shape.

The wake is that of ``hydrodynamics/plate/wake.py``; ``solvers/harmonic_balance.py`` balances it
against the plate's small motions. Each chord's wake is balanced by itself.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from simsoft.bodies.answers.beat import SHIVER_FRACTION
from simsoft.bodies.plate.equilibrium import PlateRest, water_at
from simsoft.bodies.plate.stability import PlateGrowth
from simsoft.bodies.plate.time_march import TWISTS
from simsoft.bodies.rod.equilibrium import make_stream
from simsoft.core.arrays import Array
from simsoft.hydrodynamics.plate.flow import Flow
from simsoft.hydrodynamics.plate.wake import PUSH, TARGET, Wake, add_wake_force, wake_drive
from simsoft.solvers.harmonic_balance import InWake, Motion, balanced
from simsoft.solvers.start_speed import LOWEST_TRIED, START_FRACTION, Start

STEP = 1.0e-6  # of differences, over the length, and over the speed
HALVINGS = 5  # between the last speed below the start and the first above it


@dataclass(frozen=True)
class Shedding:
    """What the wake of a plate does to it at one speed.

    Attributes
    ----------
    frequency : float [Hz]
    stroke : float [m], of the tip, peak to peak; of its corners where it twists
    chord : float [m], that sheds
    """

    frequency: float
    stroke: float
    chord: float

    @property
    def share(self) -> float:
        """Stroke over the chord [-]."""
        return self.stroke / self.chord


def shedding(growth: PlateGrowth, speed: float, rest: PlateRest) -> Shedding | None:
    """Return the stronger of a plate's beats in its wakes, None where they do not move it."""
    wake, flow = growth.ready.model.wake, growth.ready.model.flow
    if wake is None or flow is None or not np.any(wake.moment > 0.0) or speed <= 0.0:
        return None
    small = _Small(growth, wake, flow, speed, rest)
    found = [small.balanced(chord) for chord in range(2)]
    beats = [beat for beat in found if beat is not None]
    best = max(beats, key=lambda beat: beat.share) if beats else None
    return best if best is not None and best.share >= SHIVER_FRACTION else None


def start_by_shedding(
    growth: PlateGrowth, speeds: Array, known: Mapping[float, PlateRest]
) -> tuple[Start, float]:
    """Return the lowest speed at which the stroke passes the wanted share of its chord, and that.

    Parameters
    ----------
    growth : PlateGrowth
    speeds : array (S,) [m/s], ascending, where it is looked for
    known : rest shapes found before, by speed [m/s]
    """
    at, last = 0.0, growth.ready.still
    begins: Shedding | None = None
    for speed in speeds:
        rest = known.get(float(speed)) or growth.follow(np.array([speed]), last, at)[0]
        if not rest.found:
            break
        found = shedding(growth, float(speed), rest)
        if found is not None and found.share >= START_FRACTION:
            begins = found
            break
        at, last = float(speed), rest
    if begins is None:
        reason = "the wake moves it by less than 15 % of its chord at every speed searched"
        return Start(None, None, reason), 0.0
    low, high = at, float(speed)
    for _ in range(HALVINGS if low > 0.0 else 0):
        middle = math.sqrt(low * high)
        rest = growth.follow(np.array([middle]), last, at)[0]
        found = shedding(growth, middle, rest) if rest.found else None
        if found is not None and found.share >= START_FRACTION:
            high, begins = middle, found
        else:
            low = middle
    return Start(high, begins.frequency, "" if low > 0.0 else LOWEST_TRIED), begins.chord


class _Small:
    """Matrices of small motions with their wakes."""

    def __init__(
        self, growth: PlateGrowth, wake: Wake, flow: Flow, speed: float, rest: PlateRest
    ) -> None:
        ready, model = growth.ready, growth.ready.model
        self.wake, self.flow = wake, flow
        self.growth, self.model, self.state = growth, model, rest.state
        growth.take_modes_near(rest.state)
        self.mass, self.damping, self.stiffness, self.elastic = growth.matrices(speed, rest.state)
        self.basis, self.material = growth.basis, ready.material
        self.water = water_at(model, make_stream(speed, growth.direction, growth.shear), rest.state)
        still = np.zeros_like(rest.state)
        self.drive = self._drive(rest.state, still)
        unit = self.basis.T.reshape(-1, *rest.state.shape)
        size = 1.0 / np.abs(unit[:, :, :3]).max(axis=(1, 2))
        near, quick = STEP * growth.length * size, STEP * speed * size
        self.by_state = np.stack(
            [
                (self._drive(rest.state + h * d, still) - self._drive(rest.state - h * d, still))
                / (2.0 * h)
                for h, d in zip(near, unit, strict=True)
            ],
            axis=2,
        )
        self.by_rate = np.stack(
            [
                (self._drive(rest.state, h * d) - self._drive(rest.state, -h * d)) / (2.0 * h)
                for h, d in zip(quick, unit, strict=True)
            ],
            axis=2,
        )
        self.lever = [self._pushed(chord) for chord in range(2)]
        for chord, lever in enumerate(self.lever):
            mean = self.drive[chord, TARGET]
            self.stiffness = self.stiffness - mean * np.outer(lever, self.by_state[chord, PUSH])
            self.damping = self.damping - mean * np.outer(lever, self.by_rate[chord, PUSH])

    def _drive(self, state: Array, rate: Array) -> Array:
        out = np.zeros((2, 3))
        wake_drive(self.wake, self.flow, state, rate, self.water, out)
        return out

    def _pushed(self, chord: int) -> Array:
        """Return what a moment of one does to the modes."""
        drive, wakes, force = np.zeros((2, 3)), np.zeros(2), np.zeros_like(self.state)
        drive[chord, PUSH] = wakes[chord] = 1.0
        add_wake_force(self.wake, self.flow, drive, self.state, wakes, force)
        return np.asarray(self.basis.T @ force.ravel())

    def balanced(self, chord: int) -> Shedding | None:
        """Return the strongest beat in the wake of one chord."""
        push, rate, mean = self.drive[chord]
        if rate <= 0.0 or push == 0.0:
            return None
        small = InWake(
            mass=self.mass,
            damping=self.damping,
            stiffness=self.stiffness,
            elastic=self.elastic,
            modulus=self.growth.modulus,
            material=self.material,
            push=push * self.lever[chord],
            by_state=self.by_state[chord, TARGET],
            by_rate=self.by_rate[chord, TARGET],
            rate=rate,
            growth=self.wake.growth,
            mean=mean,
        )
        best: Shedding | None = None
        for frequency, amplitude, motion in balanced(small):
            stroke = amplitude * self._stroke(motion)
            if best is None or stroke > best.stroke:
                best = Shedding(frequency, stroke, float(self.wake.chord[chord]))
        return best

    def _stroke(self, motion: Motion) -> float:
        """Return the stroke [m] of the tip for the motion of a wake state of one.

        Of a corner where the tip twists, as the march takes it.
        """
        planform = self.model.planform
        marks = [planform.centre[-1], *planform.edges[-1]]
        places = (self.basis @ motion).reshape(-1, 6)[marks, :3]
        size = [np.linalg.eigvalsh((u[:, None] * u.conj()).real)[-1] for u in places]
        centre, corner = math.sqrt(size[0]), math.sqrt(max(size[1:]))
        return 2.0 * (corner if corner > TWISTS * centre else centre)
