"""A shop's measured values in place of the defaults: profile -> bands of a strip's inputs."""

from __future__ import annotations

import math

from simsoft.case.measured import OF_LOADS, Profile, ProfileValue
from simsoft.case.model import Case, Part
from simsoft.core.band import Band
from simsoft.properties.material import DEFAULTS


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
    temperature slope, the profile's own or the default; how far it is carried widens its band. A
    modulus that comes from the durometer takes the profile's slope too. The thickness bias moves
    every part of the mould alike, the scatter from part to part stays.
    """
    profile = case.profile
    if profile is None:
        return inputs
    merged = dict(inputs)
    found = profile.values
    if "youngs_modulus" in found and case.material.youngs_modulus is None:
        measured = found["youngs_modulus"]
        merged["modulus"] = _resting(profile, measured, case, exponent, frequency)
    elif "temperature_slope" in found:
        merged["modulus"] = _reslanted(profile, inputs["modulus"], case)
    if "loss_factor" in found and case.material.loss_factor is None and "loss_factor" in inputs:
        merged["loss_factor"] = _loss(profile, found["loss_factor"], case)
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


def slope_of(profile: Profile, case: Case) -> tuple[float, float]:
    """Return the temperature slope of the modulus and its standard uncertainty [1/K].

    The case's own, then the profile's, then the default.
    """
    if case.material.temperature_slope is not None:
        return case.material.temperature_slope, 0.0
    if "temperature_slope" in profile.values:
        measured = profile.values["temperature_slope"]
        return measured.value, 0.5 * (measured.high - measured.low)
    return DEFAULTS.temperature_slope, DEFAULTS.slope_scatter


def _reslanted(profile: Profile, modulus: Band, case: Case) -> Band:
    """Return a modulus from the durometer with the profile's temperature slope in it."""
    if case.material.hardness is None or case.material.temperature_slope is not None:
        return modulus
    slope, doubt = slope_of(profile, case)
    warmer = case.water.temperature - DEFAULTS.reference_temperature
    value = modulus.value * math.exp((DEFAULTS.temperature_slope - slope) * warmer)

    def widened(end: float) -> float:
        others = math.log(end / modulus.value) ** 2 - (DEFAULTS.slope_scatter * warmer) ** 2
        return math.sqrt(max(0.0, others) + (doubt * warmer) ** 2)

    basis = f"{modulus.basis}; {_basis(profile, profile.values['temperature_slope'])}"
    down, up = widened(modulus.low), widened(modulus.high)
    return Band(value, value * math.exp(-down), value * math.exp(up), basis)


def _loss(profile: Profile, measured: ProfileValue, case: Case) -> Band:
    """Return the loss factor, carried to the water's temperature where its slope was measured."""
    slope = profile.values.get("loss_slope")
    if slope is None or measured.temperature is None:
        return _band(profile, measured)
    warmer = case.water.temperature - measured.temperature
    factor = math.exp(-slope.value * warmer)
    doubt = 0.5 * (slope.high - slope.low) * warmer
    down = math.hypot(math.log(measured.value / measured.low), doubt)
    up = math.hypot(math.log(measured.high / measured.value), doubt)
    value = measured.value * factor
    return Band(value, value * math.exp(-down), value * math.exp(up), _basis(profile, measured))


def _resting(
    profile: Profile, measured: ProfileValue, case: Case, exponent: float, frequency: float
) -> Band:
    """Return the resting modulus [Pa] of a measured one, its band that at ``frequency``."""
    dwell = DEFAULTS.dwell_frequency
    at = max(measured.frequency or 0.0, dwell)
    stated = case.material
    slope, doubt = slope_of(profile, case)
    warmer = 0.0
    if measured.temperature is not None:
        warmer = case.water.temperature - measured.temperature
    factor = (dwell / at) ** exponent * math.exp(-slope * warmer)
    carried = 0.0 if stated.rate_exponent is not None else DEFAULTS.rate_scatter
    carried *= math.log(frequency / at)
    warmed = doubt * warmer
    down = math.hypot(math.log(measured.value / measured.low), carried, warmed)
    up = math.hypot(math.log(measured.high / measured.value), carried, warmed)
    value = measured.value * factor
    return Band(value, value * math.exp(-down), value * math.exp(up), _basis(profile, measured))
