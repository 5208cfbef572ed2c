"""Durometer to modulus, loss factor and density, each with its band.

Hardness laws are pure functions; ``DEFAULTS`` is the one table of material constants with their
sources. Moduli: hardness formula x static factor x temperature factor (static, at the durometer's
dwell) x rate factor (dynamic). Salt stiffening is not applied, because the durometer is read on
the finished compound.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from simsoft.case.model import BodyInput, MaterialInput, Tolerance
from simsoft.core.band import Band, exact
from simsoft.properties.mixture import filled_density

# ASTM D2240 geometry and springs, from memory.
PROTRUSION = 2.5e-3  # [m], indenter extension at a reading of 0
OO_RADIUS = 1.19e-3  # [m], spherical indenter of type OO


@dataclass(frozen=True)
class Defaults:
    """Material constants used where the case says nothing.

    Attributes
    ----------
    static_factor : float [-], measured modulus over the hardness formula; derived here from open
        tensile data on platinum silicones (Marechal et al. 2021, Soft Robotics 8:284; ratio 0.47)
        corrected for crosshead strain (factor 1.2-1.5, from memory)
    static_scatter : float [-], one-sigma factor of static_factor, same source
    rate_exponent : float [-], n of E ~ f^n of soft gels, from memory
    rate_scatter : float [-], one sigma, from memory
    dwell_frequency : float [Hz], of a durometer read after 1-3 s
    temperature_slope : float [1/K], engineering estimate, from memory
    slope_scatter : float [1/K], one sigma, from memory: slopes of 0.010 to 0.040 between recipes.
        A published plastisol phantom softens by 0.13/K from 20 to 45 degC (computed here from its
        wave speeds, abstract of 2015, from memory), near its softening: left out
    reference_temperature : float [K], 22 degC, at which durometers are read
    loss_factor, loss_low, loss_high : float [-], tan delta; tan(n pi/2) of a power-law gel
    poisson_ratio : float [-], from memory
    density : float [kg/m^3], 12 % PVC in plasticiser by the mixture rule
    density_scatter : float [kg/m^3], one sigma between recipes, common practice, no source
    weighed_scatter : float [-], relative, of a density found by weighing dry and in water
    hardness_scatter : float [Shore points], one sigma batch to batch, common practice, no source
    modulus_scatter : float [-], relative, of a modulus measured by ring-down, estimated here
    """

    static_factor: float = 0.65
    static_scatter: float = 1.4
    rate_exponent: float = 0.10
    rate_scatter: float = 0.04
    dwell_frequency: float = 0.1
    temperature_slope: float = 0.025
    slope_scatter: float = 0.015
    reference_temperature: float = 295.15
    loss_factor: float = 0.16
    loss_low: float = 0.08
    loss_high: float = 0.33
    poisson_ratio: float = 0.49
    density: float = 1020.0
    density_scatter: float = 15.0
    weighed_scatter: float = 0.003
    hardness_scatter: float = 3.0
    modulus_scatter: float = 0.10


DEFAULTS = Defaults()


def durometer_force_oo(points: float) -> float:
    """Return the spring force [N] of a type OO durometer (ASTM D2240, from memory)."""
    return 0.203 + 0.00908 * points


def penetration(points: float) -> float:
    """Return the indentation [m] at a Shore reading (ASTM D2240, all scales with 2.5 mm)."""
    return PROTRUSION * (1.0 - points / 100.0)


def gent_modulus(points: float) -> float:
    """Return Young's modulus [Pa] from Shore A points, flat-punch form.

    Notes
    -----
    Gent 1958, Rubber Chem. Technol. 31:896: E [MPa] = 0.0981 (56 + 7.62336 S) / (0.137505
    (254 - 2.54 S)); formula from memory. Within 25 % for rubbers of 20-80 A.
    """
    return 1e6 * 0.0981 * (56.0 + 7.62336 * points) / (0.137505 * (254.0 - 2.54 * points))


def hertz_modulus_oo(points: float) -> float:
    """Return Young's modulus [Pa] from Shore OO points by Hertz contact, incompressible.

    Notes
    -----
    F = (16/9) E sqrt(R) d^(3/2) with the spring law of type OO. Below about 52 points d > R and
    the linear contact theory is used outside its range; see `sneddon_modulus_oo`.
    """
    stiffness = 16.0 / 9.0 * math.sqrt(OO_RADIUS * penetration(points) ** 3)
    return durometer_force_oo(points) / stiffness


def sneddon_modulus_oo(points: float) -> float:
    """Return Young's modulus [Pa] from Shore OO points for an exact rigid sphere, incompressible.

    Notes
    -----
    Sneddon 1965, Int. J. Eng. Sci. 3:47: with contact radius a and v = artanh(a/R),
    d = R v tanh v and F = E R^2/(1 - nu^2) [v (1 + tanh^2 v) - tanh v].
    """
    depth = penetration(points) / OO_RADIUS
    v = _sphere_angle(depth)
    ratio = math.tanh(v)
    stiffness = OO_RADIUS**2 / (1.0 - 0.5**2) * (v * (1.0 + ratio**2) - ratio)
    return durometer_force_oo(points) / stiffness


def _sphere_angle(depth: float) -> float:
    """Solve v tanh v = depth [-] for v by Newton's method; the left side is convex and rising."""
    v = depth + 1.0  # v tanh v > depth here, so that every step comes down on the root
    for _ in range(60):
        ratio = math.tanh(v)
        step = (v * ratio - depth) / (ratio + v * (1.0 - ratio**2))
        v -= step
        if abs(step) <= 1e-15 * v:
            break
    return v


def formula_modulus(scale: str, points: float) -> float:
    """Return the hardness formula's modulus [Pa]: Hertz for 'OO', Gent for 'A'."""
    return hertz_modulus_oo(points) if scale == "OO" else gent_modulus(points)


def static_modulus(material: MaterialInput, tolerance: Tolerance, temperature: float) -> Band:
    """Return Young's modulus at the durometer's dwell (0.1 Hz).

    Parameters
    ----------
    material : MaterialInput
        An explicit modulus is taken as it is, at every temperature and rate.
    tolerance : Tolerance
    temperature : float [K], of the water

    Returns
    -------
    Band [Pa], sources combined in quadrature of their logarithms
    """
    return _modulus(material, tolerance, temperature, DEFAULTS.dwell_frequency)


def dynamic_modulus(
    material: MaterialInput, tolerance: Tolerance, temperature: float, frequency: float
) -> Band:
    """Return Young's modulus at a frequency: static x (f / 0.1 Hz)^n.

    Parameters
    ----------
    material, tolerance, temperature : see `static_modulus`
    frequency : float [Hz], positive

    Raises
    ------
    ValueError
        The frequency is not positive.
    """
    return _modulus(material, tolerance, temperature, frequency)


def _modulus(
    material: MaterialInput, tolerance: Tolerance, temperature: float, frequency: float
) -> Band:
    if not frequency > 0.0:
        raise ValueError(f"`frequency` must be positive, not {frequency!r}")
    if material.youngs_modulus is not None:
        scatter = stated_or(tolerance.modulus, DEFAULTS.modulus_scatter)
        basis = f"stated modulus, x/: {1.0 + scatter:.3g}"
        return _spread(material.youngs_modulus, math.log1p(scatter), basis)
    if material.hardness_scale is None or material.hardness is None:
        raise ValueError("the material has neither `youngs_modulus` nor `hardness`")
    warmer = temperature - DEFAULTS.reference_temperature
    slope = stated_or(material.temperature_slope, DEFAULTS.temperature_slope)
    log_rate = math.log(frequency / DEFAULTS.dwell_frequency)
    exponent = stated_or(material.rate_exponent, DEFAULTS.rate_exponent)
    value = (
        formula_modulus(material.hardness_scale, material.hardness)
        * stated_or(material.static_factor, DEFAULTS.static_factor)
        * math.exp(-slope * warmer + exponent * log_rate)
    )
    sources = {
        "hardness": _hardness_scatter(material.hardness_scale, material.hardness, tolerance),
        "static factor": math.log(DEFAULTS.static_scatter),
        "temperature": DEFAULTS.slope_scatter * abs(warmer),
        "rate": DEFAULTS.rate_scatter * abs(log_rate),
    }
    # A stated correction was measured: its own scatter replaces that of the default.
    if material.static_factor is not None:
        sources["static factor"] = math.log1p(
            stated_or(tolerance.modulus, DEFAULTS.modulus_scatter)
        )
    if material.temperature_slope is not None:
        sources["temperature"] = 0.0
    if material.rate_exponent is not None:
        sources["rate"] = 0.0
    return _spread(value, math.hypot(*sources.values()), _basis(material.hardness_scale, sources))


def stated_or(value: float | None, default: float) -> float:
    """Return what was stated, or the default where nothing was."""
    return default if value is None else value


def _spread(value: float, scatter: float, basis: str) -> Band:
    return Band(value, value * math.exp(-scatter), value * math.exp(scatter), basis)


def _hardness_scatter(scale: str, points: float, tolerance: Tolerance) -> float:
    """Return the one-sigma logarithm [-] of the modulus from the scatter of the reading.

    The two-sided difference of the formula, per point, over an interval kept within 0.5..99.5.
    """
    scatter = stated_or(tolerance.hardness, DEFAULTS.hardness_scatter)
    if scatter == 0.0:
        return 0.0
    low, high = max(0.5, points - scatter), min(99.5, points + scatter)
    change = math.log(formula_modulus(scale, high) / formula_modulus(scale, low))
    return scatter * change / (high - low)


def _basis(scale: str, sources: dict[str, float]) -> str:
    formula = "Hertz contact on type OO" if scale == "OO" else "Gent 1958 on type A"
    shares = ", ".join(f"{name} x/: {math.exp(part):.2f}" for name, part in sources.items() if part)
    return f"durometer: {formula}; {shares or 'no scatter'}; combined in quadrature of logarithms"


def loss_factor(material: MaterialInput) -> Band:
    """Return tan delta [-] of the material.

    A stated value is exact; with a Kelvin-Voigt time the loss factor is zero, because that time
    is the whole damping; otherwise the default with its band.
    """
    if material.kelvin_voigt_time is not None:
        return exact(0.0, "kelvin_voigt_time is given instead")
    if material.loss_factor is not None:
        return exact(material.loss_factor, "stated")
    basis = "default tan delta of soft gels, from memory"
    return Band(DEFAULTS.loss_factor, DEFAULTS.loss_low, DEFAULTS.loss_high, basis)


def body_density(body: BodyInput, material: MaterialInput, tolerance: Tolerance) -> Band:
    """Return the density [kg/m^3] of the body's pour.

    A stated density is taken as weighed; otherwise the material's density with the body's own
    salt, microballoons and air on top.
    """
    if body.density is not None:
        return material_density(replace(material, density=body.density), tolerance)
    base = material_density(material, tolerance)
    low, value, high = (
        filled_density(
            end,
            salt=body.salt_fraction,
            microballoon=body.microballoon_fraction,
            microballoon_density=body.microballoon_density,
            air=body.air_fraction,
        )
        for end in (base.low, base.value, base.high)
    )
    fractions = {
        "salt": body.salt_fraction,
        "microballoons": body.microballoon_fraction,
        "air by volume": body.air_fraction,
    }
    added = ", ".join(f"{share:.3g} of {name}" for name, share in fractions.items() if share)
    basis = f"{base.basis}; with {added} by the mixture rule" if added else base.basis
    return Band(value, low, high, basis)


def material_density(material: MaterialInput, tolerance: Tolerance) -> Band:
    """Return the density [kg/m^3] of the finished compound.

    A stated density is taken as weighed (0.3 %); otherwise the plain compound, with salt by the
    ideal mixture rule 1/rho = sum w/rho.
    """
    if material.density is not None:
        scatter = stated_or(tolerance.density, DEFAULTS.weighed_scatter * material.density)
        value, basis = material.density, "stated density"
    else:
        scatter = stated_or(tolerance.density, DEFAULTS.density_scatter)
        salt = material.salt_fraction
        value = filled_density(DEFAULTS.density, salt=salt)
        basis = f"plain compound {DEFAULTS.density:g} kg/m^3"
        if salt:
            basis += f" with {salt:.3g} of salt by the mixture rule"
    # Equal factors to both sides keep the low limit positive whatever the scatter.
    low = value * value / (value + scatter)
    return Band(value, low, value + scatter, f"{basis}, +-{scatter:.3g} kg/m^3")


def poisson_ratio(material: MaterialInput) -> float:
    """Return Poisson's ratio [-], stated or the default 0.49 of a soft gel (from memory)."""
    return stated_or(material.poisson_ratio, DEFAULTS.poisson_ratio)
