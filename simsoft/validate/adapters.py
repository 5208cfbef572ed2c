"""Numbers of published checks that no single record holds: a case run more than once.

Each function runs cases the way users do and combines their records, or balances a formula.
Eigenvalues are in small_motions.py.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Literal

import numpy as np

from simsoft.case.model import Case, MaterialInput, Part, Tolerance
from simsoft.core.errors import SolveError
from simsoft.core.signals import cycles, main_direction
from simsoft.engine.run import run
from simsoft.properties.air import STANDARD_TEMPERATURE, air_density
from simsoft.properties.material import DEFAULTS, static_modulus
from simsoft.results.record import select
from simsoft.scenarios.cast.flight import Landings, Throws, fly
from simsoft.validate.small_motions import bisect

SKIPPED_CYCLES = 1  # of a decay, in which the higher modes die out


def logarithmic_decrement(case: Case) -> float:
    """Return the logarithmic decrement [-] of the tip in the case's one march.

    Raises
    ------
    SolveError
        If the march has fewer than three cycles.
    """
    trace = run(case, bands=False).traces[0]
    beats = cycles(trace.time, trace.tip @ main_direction(trace.tip))
    stroke = beats.stroke[SKIPPED_CYCLES:]
    if len(stroke) < 2:
        raise SolveError("the march has too few cycles for a decrement")
    return math.log(stroke[0] / stroke[-1]) / (len(stroke) - 1)


def load_at_buckling(case: Case, lowest: float, highest: float) -> float:
    """Return the multiple of the case's dead loads at which the straight part buckles.

    Parameters
    ----------
    case : Case, one part with unit ``tip_force`` or ``line_weight``, scenario 'hold'
    lowest, highest : float, multiples between which stability is lost

    Raises
    ------
    SolveError
        If the part is not stable at ``lowest`` or not unstable at ``highest``.
    """

    def buckled(multiple: float) -> bool:
        loaded = replace(case, parts=tuple(_times(part, multiple) for part in case.parts))
        first = select(
            run(loaded, bands=False).records, "natural_frequency", mode=1, medium="water"
        )
        return first[0].value is None

    return bisect(buckled, lowest, highest)


def drag_exponent(case: Case) -> float:
    """Return d log(drag)/d log(speed) [-] from the lowest to the highest speed of the case."""
    drag = select(run(case, bands=False).records, "drag", state="rest")
    speed = [float(record.at["speed"]) for record in drag]
    force = [record.value for record in drag]
    if len(drag) < 2 or not all(isinstance(value, float) for value in force):
        raise SolveError("the run has no drag at two speeds")
    slope = np.polyfit(np.log(speed), np.log(np.asarray(force, dtype=float)), 1)[0]
    return float(slope)


def dropped(mass: float, drag_area: float, height: float) -> Landings:
    """Return the landing of a body let go at rest in air of the standard atmosphere.

    Parameters
    ----------
    mass : float [kg]
    drag_area : float [m^2]
    height : float [m]
    """
    thick = air_density(STANDARD_TEMPERATURE)
    return fly(Throws(mass, drag_area, 0.0, 0.0, height, air_density=thick))


def measured_over_default(
    scale: Sequence[Literal["OO", "A"]], points: Sequence[float], modulus: Sequence[float]
) -> float:
    """Return the geometric mean of measured moduli over those used for the same hardness [-].

    Parameters
    ----------
    scale : sequence of 'OO' or 'A'
    points : sequence of float [Shore points]
    modulus : sequence of float [Pa], measured slowly at 22 degC
    """
    logarithms = [
        math.log(
            measured
            / static_modulus(
                MaterialInput(hardness_scale=kind, hardness=hardness),
                Tolerance(),
                DEFAULTS.reference_temperature,
            ).value
        )
        for kind, hardness, measured in zip(scale, points, modulus, strict=True)
    ]
    return math.exp(sum(logarithms) / len(logarithms))


def _times(part: Part, multiple: float) -> Part:
    weight = part.line_weight
    return replace(
        part,
        tip_force=(
            multiple * part.tip_force[0],
            multiple * part.tip_force[1],
            multiple * part.tip_force[2],
        ),
        line_weight=None if weight is None else multiple * weight,
    )
