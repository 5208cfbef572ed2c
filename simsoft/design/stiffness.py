"""The modulus that a run bends its parts with, and how much stiffer its water makes it."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from simsoft.case.model import Case
from simsoft.lure.parts import DEFAULT_FREQUENCY, Strip, assemble, strip_modulus, values_of
from simsoft.properties.material import DEFAULTS
from simsoft.properties.profile import slope_of

Ends = tuple[float, float, float]


@dataclass(frozen=True)
class Stiffness:
    """The modulus of a case's pour, before anything that was seen of the bait in hand.

    Attributes
    ----------
    modulus : value, low, high [Pa], at `frequency` in the case's water
    frequency : float [Hz]
    against_warm : value, low, high [-], over the modulus at 22 degC, where durometers are read
    by_water : bool, whether the water changes it; a stated modulus holds in every water
    poisson_ratio : float [-]
    """

    modulus: Ends
    frequency: float
    against_warm: Ends
    by_water: bool
    poisson_ratio: float


def stiffness(case: Case) -> Stiffness | None:
    """Return the stiffness of a case's pour, None where no part bends.

    All parts are of one pour, so the first one tells.
    """
    if not case.parts:
        return None
    strip = assemble(case).strips[0]
    warm = replace(case.water, temperature=DEFAULTS.reference_temperature)
    modulus = _moving(strip)
    ratio = modulus[0] / _moving(assemble(replace(case, water=warm)).strips[0])[0]
    doubt = _slope_doubt(case) * abs(case.water.temperature - DEFAULTS.reference_temperature)
    against_warm = (ratio, ratio * math.exp(-doubt), ratio * math.exp(doubt))
    by_water = case.material.youngs_modulus is None
    return Stiffness(modulus, DEFAULT_FREQUENCY, against_warm, by_water, strip.poisson_ratio)


def _moving(strip: Strip) -> Ends:
    """Return the modulus at the frequency at which its band is taken."""
    resting = strip.inputs["modulus"]
    faster = strip_modulus(strip, values_of(strip), DEFAULT_FREQUENCY) / resting.value
    return faster * resting.value, faster * resting.low, faster * resting.high


def _slope_doubt(case: Case) -> float:
    """Return the standard uncertainty of the temperature slope [1/K]."""
    if case.material.youngs_modulus is not None or case.material.temperature_slope is not None:
        return 0.0
    return DEFAULTS.slope_scatter if case.profile is None else slope_of(case.profile, case)[1]
