"""What scatters about a case, as distributions over its own keys.

Each input turns a share u of 0..1 into overrides of the case, so that a sample is a design like
any other. ``making`` differs from part to part and batch to batch, ``use`` from day to day,
``model`` is what the program does not know.
"""

from __future__ import annotations

import math
from typing import Any

from simsoft.case.limits import LIMITS
from simsoft.case.model import Case, Part
from simsoft.case.units import convert
from simsoft.core.band import Band
from simsoft.design.case_tables import quantities, replaced, value_at
from simsoft.design.distribution import Group, Scatter, banded, normal, plain
from simsoft.design.profile_scatter import ends_of, profile_bands, scatter_of_profile
from simsoft.design.text_number import Quantity, computed
from simsoft.lure.parts import SET_FRACTION, THICKNESS_SCATTER, assemble
from simsoft.lure.rigid_base import CROSS_DRAG
from simsoft.properties.coefficients import throw_inputs
from simsoft.properties.material import DEFAULTS, material_density, stated_or

# Common practice, no source.
TEMPERATURE_SCATTER = 1.0  # [K], water about the stated temperature
SPEED_SCATTER = 0.05  # relative, retrieve about the stated speed
MOULD_BIAS = {"resin": 0.15e-3, "aluminium": 0.05e-3}  # [m], part thicker than its cavity
BIAS_SCATTER = {"resin": 0.08e-3, "aluminium": 0.05e-3}  # [m]


def scatter_of(case: Case, tables: dict[str, Any]) -> list[Scatter]:
    """Return everything that scatters about a case, the case's own tolerances first."""
    measured = profile_bands(case)
    found = scatter_of_profile(measured) + _material(case, measured)
    strips = {strip.part.name: strip.inputs for strip in assemble(case).strips}
    for part in case.parts:
        found += _sizes(case, part, tables, "thickness_bias" in measured)
        bands = {name: band for name, band in strips[part.name].items() if name not in measured}
        found += _loads(part, bands)
    found += _whole(case)
    tolerance = case.tolerance
    kelvin = stated_or(tolerance.temperature, TEMPERATURE_SCATTER)
    relative = stated_or(tolerance.speed, SPEED_SCATTER)
    found.append(
        Scatter("water temperature", "use", normal(0.0, kelvin), "K", "temperature", _nothing)
    )
    found.append(Scatter("retrieve speed", "use", normal(1.0, relative), "", "speed", _nothing))
    return [item for item in found if item.at(0.1) != item.at(0.9)]


def _nothing(_: float) -> tuple[str, ...]:
    return ()


def _material(case: Case, measured: dict[str, Band]) -> list[Scatter]:
    """Return what scatters about the compound, but for what a profile has measured."""
    stated = case.material
    found = [] if "youngs_modulus" in measured else _modulus(case)
    if stated.youngs_modulus is None:
        if stated.rate_exponent is None:
            at = normal(DEFAULTS.rate_exponent, DEFAULTS.rate_scatter)
            found.append(plain("rate law", "model", at, "material.rate_exponent", "", 0.0, 0.3))
        if stated.temperature_slope is None and "temperature_slope" not in measured:
            at = normal(DEFAULTS.temperature_slope, DEFAULTS.slope_scatter)
            path = "material.temperature_slope"
            found.append(plain("stiffening in the cold", "model", at, path, "1/K", 0.0, 0.1))
    by_default = stated.loss_factor is None and stated.kelvin_voigt_time is None
    if by_default and "loss_factor" not in measured:
        band = Band(DEFAULTS.loss_factor, DEFAULTS.loss_low, DEFAULTS.loss_high, "")
        path = "material.loss_factor"
        found.append(plain("material damping", "model", banded(band), path, "", 0.0, 1.0))
    if "density" not in measured:
        weight = banded(material_density(stated, case.tolerance))
        found.append(plain("density", "making", weight, "material.density", "kg/m^3"))
    return found


def _modulus(case: Case) -> list[Scatter]:
    """Return the scatter of a stated modulus, or of the durometer and of its law."""
    stated, tolerance = case.material, case.tolerance
    scatter = stated_or(tolerance.modulus, DEFAULTS.modulus_scatter)
    if stated.youngs_modulus is not None:
        spread = Band(stated.youngs_modulus, stated.youngs_modulus / (1 + scatter),
                      stated.youngs_modulus * (1 + scatter), "")  # fmt: skip
        return [plain("modulus", "making", banded(spread), "material.youngs_modulus", "Pa")]
    if stated.hardness is None or stated.hardness_scale is None:
        return []
    batch = normal(stated.hardness, stated_or(tolerance.hardness, DEFAULTS.hardness_scatter))
    factor = stated_or(stated.static_factor, DEFAULTS.static_factor)
    wide = DEFAULTS.static_scatter if stated.static_factor is None else 1.0 + scatter
    law = banded(Band(factor, factor / wide, factor * wide, ""))
    return [
        plain("durometer batch", "making", batch, "material.durometer", stated.hardness_scale,
              1.0, 99.0),
        plain("durometer law", "model", law, "material.static_factor", "", 0.05, 5.0),
    ]  # fmt: skip


def _whole(case: Case) -> list[Scatter]:
    """Return what scatters about a lure that falls or flies: its drag, and the throw.

    The drag on a body in water and in the air errs alike: the same shares of the same tables.
    """
    found = []
    if case.body is not None and case.body.drag_factor is None:
        found.append(plain("body drag", "model", banded(CROSS_DRAG), "body.drag_factor"))
    for scenario in case.scenarios:
        if scenario.kind != "cast":
            continue
        bands = throw_inputs(scenario.cast)
        units = {"launch_speed": "m/s", "launch_angle": "rad", "line_drag": "N s^2/m^2"}
        for key, unit in units.items():
            words = f"{scenario.name} {key.replace('_', ' ')}"
            group: Group = "model" if key == "line_drag" else "use"
            at = banded(bands[key])
            if bands[key].low != bands[key].high:
                found.append(plain(words, group, at, f"scenarios.{scenario.name}.{key}", unit))
    return found


def _sizes(case: Case, part: Part, tables: dict[str, Any], measured: bool) -> list[Scatter]:
    """Return what scatters about the shape of a part; ``measured`` where the bias of the mould is.

    A measured bias is in the model already and scatters for all parts alike.
    """
    path = f"parts.{part.name}"
    keys = [k for k in ("thickness", "diameter", "neck_thickness") if
            value_at(tables, f"{path}.{k}") is not None]  # fmt: skip
    paths = [f"{path}.{key}" for key in keys]
    thinnest = min(part.thickness.values)
    spread = stated_or(case.tolerance.thickness, THICKNESS_SCATTER)
    shop = case.shop
    middle = 0.0
    if shop.mould is not None and not measured:
        # two independent sources in one number: one part against the next, one mould against
        # the bias expected of its kind
        bias = stated_or(shop.mould_bias, MOULD_BIAS[shop.mould])
        spread = math.hypot(spread, stated_or(shop.bias_scatter, BIAS_SCATTER[shop.mould]))
        middle = 0.0 if shop.bias_corrected else bias

    def shift(share: float) -> float:
        return max(normal(middle, spread)(share), -0.6 * thinnest)

    found = [
        Scatter(f"{part.name} thickness", "making", shift, "m", "override",
                lambda change: tuple(shifted(tables, item, change) for item in paths))
    ]  # fmt: skip
    sigma = case.tolerance.set_angle
    if sigma is not None:
        at = normal(part.set_angle, sigma)
        found.append(plain(f"{part.name} set", "use", at, f"{path}.set_angle", "rad"))
    if (part.set_angle or sigma) and part.set_fraction is None:
        kept = banded(SET_FRACTION)
        name = f"{part.name} set kept"
        found.append(plain(name, "use", kept, f"{path}.set_fraction", "", 0.0, 1.0))
    return found


def _loads(part: Part, bands: dict[str, Band]) -> list[Scatter]:
    """Return the scatter of the load coefficients of one part."""
    found = []
    for name, band in bands.items():
        allowed = LIMITS.get(f"loads.{name}")
        if allowed is None or band.low == band.high:
            continue
        low, high = ends_of(allowed)
        words = f"{part.name} {name.replace('_', ' ')}"
        path = f"parts.{part.name}.loads.{name}"
        found.append(plain(words, "model", banded(band), path, allowed.si, low, high))
    return found


def shifted(tables: dict[str, Any], path: str, change: float) -> str:
    """Return the override that makes every size at a path larger by ``change`` [m]."""
    raw = value_at(tables, path)

    def moved(item: Quantity) -> Quantity:
        return computed(float(item.number) + convert(change, "m", item.unit), item.unit)

    return f"{path}={replaced(raw, [moved(item) for item in quantities(raw)])}"
