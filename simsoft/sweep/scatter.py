"""What scatters about a case, as distributions over its own keys.

Each input turns a share u of 0..1 into overrides of the case, so that a sample is a design like
any other. ``making`` differs from part to part and batch to batch, ``use`` from day to day,
``model`` is what the program does not know.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Literal

from simsoft.band import Band
from simsoft.base import CROSS_DRAG
from simsoft.case.limits import LIMITS
from simsoft.case.model import Case, Part
from simsoft.coefficients import coefficients, throw_inputs
from simsoft.lure import SET_FRACTION, THICKNESS_SCATTER
from simsoft.material import DEFAULTS, density
from simsoft.sweep.tables import quantities, replaced, value_at
from simsoft.sweep.text_number import Quantity, computed

Group = Literal["making", "use", "model"]
GROUPS: tuple[Group, ...] = ("making", "use", "model")
WIDEST = 3.0  # standard deviations at which every distribution is cut off

# Common practice, no source.
TEMPERATURE_SCATTER = 1.0  # [K], water about the stated temperature
SPEED_SCATTER = 0.05  # relative, retrieve about the stated speed
MOULD_BIAS = {"resin": 0.15e-3, "aluminium": 0.05e-3}  # [m], part thicker than its cavity
BIAS_SCATTER = {"resin": 0.08e-3, "aluminium": 0.05e-3}  # [m]


@dataclass(frozen=True)
class Scatter:
    """One scattering input.

    Attributes
    ----------
    name : str, for the reader
    group : 'making', 'use' or 'model'
    at : function of the share u to its value [unit]
    unit : str, for the reader
    kind : 'override', or 'temperature' [K] and 'speed' [factor], which every run applies to
        its own water and speeds
    write : function of the value to overrides
    """

    name: str
    group: Group
    at: Callable[[float], float]
    unit: str
    kind: Literal["override", "temperature", "speed"]
    write: Callable[[float], tuple[str, ...]]


def deviate(share: float) -> float:
    """Return the standard normal deviate of a share, cut off at three standard deviations."""
    from statistics import NormalDist

    tail = NormalDist().cdf(-WIDEST)
    return NormalDist().inv_cdf(tail + (1.0 - 2.0 * tail) * min(max(share, 0.0), 1.0))


def normal(mean: float, sigma: float) -> Callable[[float], float]:
    """Return a normal distribution as a function of the share."""
    return lambda share: mean + sigma * deviate(share)


def banded(band: Band) -> Callable[[float], float]:
    """Return a distribution whose ends at one standard deviation are those of a band.

    Two-sided: each side has the width of its own half band; in logarithms where all three
    numbers are above zero, so that no sample turns negative; else cut off at zero.
    """
    if band.low > 0.0:
        down, up = math.log(band.value / band.low), math.log(band.high / band.value)

        def scaled(share: float) -> float:
            z = deviate(share)
            return band.value * math.exp(z * (up if z > 0.0 else down))

        return scaled

    def shifted(share: float) -> float:
        z = deviate(share)
        width = band.high - band.value if z > 0.0 else band.value - band.low
        return max(band.value + z * width, 0.0)

    return shifted


def scatter_of(case: Case, tables: dict[str, Any]) -> list[Scatter]:
    """Return everything that scatters about a case, the case's own tolerances first."""
    found = _material(case, tables)
    for part in case.parts:
        found += _part(case, part, tables)
    found += _whole(case)
    tolerance = case.tolerance
    kelvin = _or(tolerance.temperature, TEMPERATURE_SCATTER)
    relative = _or(tolerance.speed, SPEED_SCATTER)
    found.append(
        Scatter("water temperature", "use", normal(0.0, kelvin), "K", "temperature", _nothing)
    )
    found.append(Scatter("retrieve speed", "use", normal(1.0, relative), "", "speed", _nothing))
    return [item for item in found if item.at(0.1) != item.at(0.9)]


def _nothing(_: float) -> tuple[str, ...]:
    return ()


def _or(value: float | None, default: float) -> float:
    return default if value is None else value


def _plain(
    name: str,
    group: Group,
    at: Callable[[float], float],
    path: str,
    unit: str = "",
    low: float = -math.inf,
    high: float = math.inf,
) -> Scatter:
    """Return an input that sets one key, kept within what the key allows."""

    def write(value: float) -> tuple[str, ...]:
        return (f"{path}={computed(value, unit).text}",)

    def kept(share: float) -> float:
        return min(max(at(share), low), high)

    return Scatter(name, group, kept, unit, "override", write)


def _material(case: Case, tables: dict[str, Any]) -> list[Scatter]:
    stated, tolerance = case.material, case.tolerance
    found = []
    if stated.youngs_modulus is not None:
        scatter = _or(tolerance.modulus, DEFAULTS.modulus_scatter)
        spread = Band(stated.youngs_modulus, stated.youngs_modulus / (1 + scatter),
                      stated.youngs_modulus * (1 + scatter), "")  # fmt: skip
        found.append(_plain("modulus", "making", banded(spread), "material.youngs_modulus", "Pa"))
    elif stated.hardness is not None and stated.hardness_scale is not None:
        scatter = _or(tolerance.hardness, DEFAULTS.hardness_scatter)
        found.append(
            _plain("durometer batch", "making", normal(stated.hardness, scatter),
                   "material.durometer", stated.hardness_scale, 1.0, 99.0)
        )  # fmt: skip
        known = stated.static_factor is not None
        factor = _or(stated.static_factor, DEFAULTS.static_factor)
        wide = 1.0 + _or(tolerance.modulus, DEFAULTS.modulus_scatter)
        wide = wide if known else DEFAULTS.static_scatter
        band = Band(factor, factor / wide, factor * wide, "")
        found.append(
            _plain("durometer law", "model", banded(band), "material.static_factor", "", 0.05, 5.0)
        )
        if stated.rate_exponent is None:
            at = normal(DEFAULTS.rate_exponent, DEFAULTS.rate_scatter)
            found.append(_plain("rate law", "model", at, "material.rate_exponent", "", 0.0, 0.3))
        if stated.temperature_slope is None:
            at = normal(DEFAULTS.temperature_slope, DEFAULTS.slope_scatter)
            path = "material.temperature_slope"
            found.append(_plain("stiffening in the cold", "model", at, path, "1/K", 0.0, 0.1))
    if stated.loss_factor is None and stated.kelvin_voigt_time is None:
        band = Band(DEFAULTS.loss_factor, DEFAULTS.loss_low, DEFAULTS.loss_high, "")
        path = "material.loss_factor"
        found.append(_plain("material damping", "model", banded(band), path, "", 0.0, 1.0))
    weight = density(stated, tolerance)
    found.append(_plain("density", "making", banded(weight), "material.density", "kg/m^3"))
    return found


def _whole(case: Case) -> list[Scatter]:
    """Return what scatters about a lure that falls or flies: its drag, and the throw.

    The drag on a body in water and in the air errs alike: the same shares of the same tables.
    """
    found = []
    if case.body is not None and case.body.drag_factor is None:
        found.append(_plain("body drag", "model", banded(CROSS_DRAG), "body.drag_factor"))
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
                found.append(_plain(words, group, at, f"scenarios.{scenario.name}.{key}", unit))
    return found


def _part(case: Case, part: Part, tables: dict[str, Any]) -> list[Scatter]:
    path = f"parts.{part.name}"
    keys = [k for k in ("thickness", "diameter", "neck_thickness") if
            value_at(tables, f"{path}.{k}") is not None]  # fmt: skip
    paths = [f"{path}.{key}" for key in keys]
    thinnest = min(part.thickness.values)
    spread = _or(case.tolerance.thickness, THICKNESS_SCATTER)
    shop = case.shop
    middle = 0.0
    if shop.mould is not None:
        # two independent sources in one number: one part against the next, one mould against
        # the bias expected of its kind
        bias = _or(shop.mould_bias, MOULD_BIAS[shop.mould])
        spread = math.hypot(spread, _or(shop.bias_scatter, BIAS_SCATTER[shop.mould]))
        middle = 0.0 if shop.bias_corrected else bias

    def shift(share: float) -> float:
        return max(normal(middle, spread)(share), -0.6 * thinnest)

    found = [
        Scatter(f"{part.name} thickness", "making", shift, "m", "override",
                lambda change: tuple(_shifted(tables, item, change) for item in paths))
    ]  # fmt: skip
    sigma = case.tolerance.set_angle
    if sigma is not None:
        at = normal(part.set_angle, sigma)
        found.append(_plain(f"{part.name} set", "use", at, f"{path}.set_angle", "rad"))
    if (part.set_angle or sigma) and part.set_fraction is None:
        kept = banded(SET_FRACTION)
        name = f"{part.name} set kept"
        found.append(_plain(name, "use", kept, f"{path}.set_fraction", "", 0.0, 1.0))
    for name, band in coefficients(part).items():
        if band.low != band.high:
            words = f"{part.name} {name.replace('_', ' ')}"
            allowed = LIMITS[f"loads.{name}"]
            low, high = (1e-6 if allowed.open_low else allowed.low), allowed.high
            found.append(
                _plain(words, "model", banded(band), f"{path}.loads.{name}", "", low, high)
            )
    return found


def _shifted(tables: dict[str, Any], path: str, change: float) -> str:
    """Return the override that makes every size at a path larger by ``change`` [m]."""
    from simsoft.case.units import convert

    raw = value_at(tables, path)

    def moved(item: Quantity) -> Quantity:
        return computed(float(item.number) + convert(change, "m", item.unit), item.unit)

    return f"{path}={replaced(raw, [moved(item) for item in quantities(raw)])}"
