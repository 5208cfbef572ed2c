"""Density and viscosity of dry air by temperature and pressure.

Density: ideal gas, R = 287.05 J/(kg K) (ICAO standard atmosphere; humidity takes up to 1 % off at
30 degC and is left out). Viscosity: Sutherland's law with the constants of the U.S. Standard
Atmosphere 1976, beta = 1.458e-6 and S = 110.4 K. Constants from memory, checked against the
standard atmosphere in the tests.
"""

from __future__ import annotations

import math

from simsoft.properties.water import Water

GAS_CONSTANT = 287.05  # [J/(kg K)]
STANDARD_PRESSURE = 101325.0  # [Pa]
STANDARD_TEMPERATURE = 288.15  # [K]
SUTHERLAND_FACTOR = 1.458e-6  # [Pa s/K^0.5]
SUTHERLAND_TEMPERATURE = 110.4  # [K]


def air_density(temperature: float, pressure: float = STANDARD_PRESSURE) -> float:
    """Return the density of dry air [kg/m^3] at a temperature [K] and pressure [Pa]."""
    return pressure / (GAS_CONSTANT * temperature)


def air_viscosity(temperature: float) -> float:
    """Return the dynamic viscosity of air [Pa s] at a temperature [K]."""
    root = math.sqrt(temperature)
    return SUTHERLAND_FACTOR * temperature * root / (temperature + SUTHERLAND_TEMPERATURE)


def air(temperature: float, pressure: float = STANDARD_PRESSURE) -> Water:
    """Return air as the loads see it: a fluid with density and viscosity.

    Parameters
    ----------
    temperature : float [K]
    pressure : float [Pa]
    """
    return Water(air_density(temperature, pressure), air_viscosity(temperature))
