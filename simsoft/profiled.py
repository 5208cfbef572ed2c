"""A shop's measured values in place of the defaults: profile -> bands of a strip's inputs."""

from __future__ import annotations

import math

from simsoft.band import Band
from simsoft.case.measured import OF_LOADS, Profile, ProfileValue
from simsoft.case.model import Case, Part
from simsoft.material import DEFAULTS


def with_profile(
    inputs: dict[str, Band], case: Case, part: Part, exponent: float, frequency: float
) -> dict[str, Band]:
    """Return a strip's inputs with the profile's values where the case states none itself.

    Parameters
    ----------
    inputs : dict of Band, from the case and the defaults
    case : Case
    part : Part
    exponent : float [-], n of modulus ~ frequency^n
    frequency : float [Hz], where the band of the modulus is taken

    Notes
    -----
    A measured modulus is carried to rest by the rate law and to the water's temperature by the
    temperature slope; how far it is carried widens its band. The thickness bias moves every part
    of the mould alike, the scatter from part to part stays.
    """
    profile = case.profile
    if profile is None:
        return inputs
    merged = dict(inputs)
    found = profile.values
    if "youngs_modulus" in found and case.material.youngs_modulus is None:
        measured = found["youngs_modulus"]
        merged["modulus"] = _resting(profile, measured, case, exponent, frequency)
    if "loss_factor" in found and case.material.loss_factor is None and "loss_factor" in inputs:
        merged["loss_factor"] = _band(profile, found["loss_factor"])
    if "density" in found and case.material.density is None:
        merged["density"] = _band(profile, found["density"])
    if "thickness_bias" in found:
        bias, scatter = found["thickness_bias"], inputs["thickness"]
        merged["thickness"] = Band(
            bias.value,
            bias.value - math.hypot(bias.value - bias.low, scatter.low),
            bias.value + math.hypot(bias.high - bias.value, scatter.high),
            f"{_basis(profile, bias)}; {scatter.basis}",
        )
    for name in OF_LOADS:
        if name in found and name in inputs and getattr(part.loads, name) is None:
            merged[name] = _band(profile, found[name])
    return merged


def _basis(profile: Profile, value: ProfileValue) -> str:
    return f"profile {profile.title}: {value.basis}"


def _band(profile: Profile, value: ProfileValue) -> Band:
    return Band(value.value, value.low, value.high, _basis(profile, value))


def _resting(
    profile: Profile, measured: ProfileValue, case: Case, exponent: float, frequency: float
) -> Band:
    """Return the resting modulus [Pa] of a measured one, its band that at ``frequency``."""
    dwell = DEFAULTS.dwell_frequency
    at = max(measured.frequency or 0.0, dwell)
    stated = case.material
    slope = DEFAULTS.temperature_slope
    slope = slope if stated.temperature_slope is None else stated.temperature_slope
    warmer = 0.0
    if measured.temperature is not None:
        warmer = case.water.temperature - measured.temperature
    factor = (dwell / at) ** exponent * math.exp(-slope * warmer)
    carried = 0.0 if stated.rate_exponent is not None else DEFAULTS.rate_scatter
    carried *= math.log(frequency / at)
    warmed = 0.0 if stated.temperature_slope is not None else DEFAULTS.slope_scatter * warmer
    down = math.hypot(math.log(measured.value / measured.low), carried, warmed)
    up = math.hypot(math.log(measured.high / measured.value), carried, warmed)
    value = measured.value * factor
    return Band(value, value * math.exp(-down), value * math.exp(up), _basis(profile, measured))
