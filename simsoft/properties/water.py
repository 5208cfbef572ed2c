"""Density and viscosity of fresh and sea water at atmospheric pressure.

Pure water: density after Kell 1975 (J. Chem. Eng. Data 20:97), viscosity after the IAPWS
correlation for 0.1 MPa (IAPWS supplementary release on liquid water, 2008). Salt: Sharqawy,
Lienhard & Zubair 2010 (Desalination and Water Treatment 16:354), equations 8 and 22, stated
accuracy 0.1 % in density and 1.5 % in viscosity for 0..180 degC and 0..150 g/kg. The coefficients
are from memory and checked against published tables in the tests.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from simsoft.case.model import WaterInput
from simsoft.core.errors import InputError

_ZERO_CELSIUS = 273.15
TEMPERATURES = (271.0, 333.2)  # [K], range of the law
SALINITIES = (0.0, 0.12)  # [kg/kg]

# Kell 1975: numerator coefficients of t^0..t^5, and the denominator's slope.
_KELL = (999.83952, 16.945176, -7.9870401e-3, -46.170461e-6, 105.56302e-9, -280.54253e-12)
_KELL_SLOPE = 16.879850e-3
# Sharqawy et al. 2010, eq. 8: salt's share of the density, S in kg/kg.
_SALT_DENSITY = (8.020e2, -2.001, 1.677e-2, -3.060e-5)
_SALT_DENSITY_SQUARED = -1.613e-5
# IAPWS: viscosity [uPa s] = sum a (T/300 K)^b.
_IAPWS = ((280.68, -1.9), (511.45, -7.7), (61.131, -19.6), (0.45903, -40.0))
# Sharqawy et al. 2010, eq. 22: relative viscosity 1 + A S + B S^2.
_SALT_VISCOSITY = (1.541, 1.998e-2, -9.52e-5)
_SALT_VISCOSITY_SQUARED = (7.974, -7.561e-2, 4.724e-4)


@dataclass(frozen=True)
class Water:
    """Water as the loads see it.

    Attributes
    ----------
    density : float [kg/m^3]
    viscosity : float [Pa s], dynamic
    """

    density: float
    viscosity: float


def water_density(temperature: float, salinity: float = 0.0) -> float:
    """Return the density of water [kg/m^3].

    Parameters
    ----------
    temperature : float [K], 271 to 333 K
    salinity : float [kg/kg], 0 to 0.12

    Raises
    ------
    InputError
        Temperature or salinity is outside the range of the law.

    Notes
    -----
    Kell 1975 for pure water, Sharqawy et al. 2010 eq. 8 for the salt.
    """
    _check_range(temperature, salinity)
    t = temperature - _ZERO_CELSIUS
    fresh = _polynomial(_KELL, t) / (1.0 + _KELL_SLOPE * t)
    salt = _polynomial(_SALT_DENSITY, t) * salinity
    return fresh + salt + _SALT_DENSITY_SQUARED * (salinity * t) ** 2


def water_viscosity(temperature: float, salinity: float = 0.0) -> float:
    """Return the dynamic viscosity of water [Pa s].

    Parameters
    ----------
    temperature : float [K], 271 to 333 K
    salinity : float [kg/kg], 0 to 0.12

    Raises
    ------
    InputError
        Temperature or salinity is outside the range of the law.

    Notes
    -----
    IAPWS correlation for pure water at 0.1 MPa, Sharqawy et al. 2010 eq. 22 for the salt.
    """
    _check_range(temperature, salinity)
    fresh = 1e-6 * math.fsum(a * math.pow(temperature / 300.0, b) for a, b in _IAPWS)
    t = temperature - _ZERO_CELSIUS
    first = _polynomial(_SALT_VISCOSITY, t)
    second = _polynomial(_SALT_VISCOSITY_SQUARED, t)
    return fresh * (1.0 + first * salinity + second * salinity**2)


def _check_range(temperature: float, salinity: float) -> None:
    if not TEMPERATURES[0] <= temperature <= TEMPERATURES[1]:
        raise InputError(
            f"water at {temperature - _ZERO_CELSIUS:.4g} degC: the law of its density and "
            "viscosity holds from -2 to 60 degC"
        )
    if not SALINITIES[0] <= salinity <= SALINITIES[1]:
        raise InputError(
            f"water of {1e3 * salinity:.4g} g/kg salt: the law of its density and viscosity "
            "holds from 0 to 120 g/kg"
        )


def resolve_water(stated: WaterInput) -> Water:
    """Return density and viscosity of the water a case states.

    Parameters
    ----------
    stated : WaterInput
        A stated density or viscosity is taken as it is; the rest follows from temperature and
        salinity.
    """
    return Water(
        density=water_density(stated.temperature, stated.salinity)
        if stated.density is None
        else stated.density,
        viscosity=water_viscosity(stated.temperature, stated.salinity)
        if stated.viscosity is None
        else stated.viscosity,
    )


def _polynomial(coefficients: tuple[float, ...], x: float) -> float:
    """Return sum of c_i x^i by Horner's rule."""
    value = 0.0
    for coefficient in reversed(coefficients):
        value = value * x + coefficient
    return value
