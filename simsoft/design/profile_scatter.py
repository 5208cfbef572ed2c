"""What scatters about the values of a shop's profile that a case names."""

from __future__ import annotations

import math

from simsoft.case.limits import LIMITS, Limit
from simsoft.case.model import Case
from simsoft.case.profile import SIGNED, VALUES, unused
from simsoft.case.units import convert
from simsoft.core.band import Band
from simsoft.design.distribution import Group, Scatter, banded, plain, two_sided
from simsoft.properties.material import DEFAULTS, formula_modulus, stated_or

_MADE = ("youngs_modulus", "density", "thickness_bias")


def profile_bands(case: Case) -> dict[str, Band]:
    """Return the bands of the profile's values that a case makes use of, by name.

    Notes
    -----
    A profile's modulus was measured on one pour; the next pour of the same compound differs by
    the scatter of its durometer, which is taken into the band here: the two are independent.
    """
    profile = case.profile
    if profile is None:
        return {}
    idle = unused(profile, case)
    found = {
        name: Band(value.value, value.low, value.high, value.basis)
        for name, value in profile.values.items()
        if name not in idle
    }
    if "youngs_modulus" in found:
        found["youngs_modulus"] = _next_pour(found["youngs_modulus"], case)
    return found


def _next_pour(modulus: Band, case: Case) -> Band:
    """Return a measured modulus widened by the scatter from pour to pour."""
    pour = math.log1p(stated_or(case.tolerance.modulus, DEFAULTS.modulus_scatter))
    scale, points = case.material.hardness_scale, case.material.hardness
    if case.tolerance.modulus is None and scale is not None and points is not None:
        # half the difference of the two sides, because the law is curved
        scatter = stated_or(case.tolerance.hardness, DEFAULTS.hardness_scatter)
        softer, harder = max(points - scatter, 1.0), min(points + scatter, 99.0)
        pour = 0.5 * math.log(formula_modulus(scale, harder) / formula_modulus(scale, softer))
    down = math.hypot(math.log(modulus.value / modulus.low), pour)
    up = math.hypot(math.log(modulus.high / modulus.value), pour)
    value = modulus.value
    return Band(value, value * math.exp(-down), value * math.exp(up), modulus.basis)


def scatter_of_profile(measured: dict[str, Band]) -> list[Scatter]:
    """Return the scatter of measured values; a value of the shop moves all parts alike."""
    found = []
    for name, band in measured.items():
        if band.low == band.high:
            continue
        limit = LIMITS[VALUES[name]]
        at = two_sided(band) if name in SIGNED else banded(band)
        group: Group = "making" if name in _MADE else "model"
        low, high = ends_of(limit)
        words = f"shop's {name.replace('_', ' ')}"
        found.append(plain(words, group, at, f"profile_values.{name}", limit.si, low, high))
    return found


def ends_of(limit: Limit) -> tuple[float, float]:
    """Return the least and the largest value [SI] that a limit allows."""
    low, high = (1e-6 if limit.open_low else limit.low), limit.high
    if limit.unit and limit.unit != limit.si:
        return convert(low, limit.unit, limit.si), convert(high, limit.unit, limit.si)
    return low, high
