"""Water as a case states it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class WaterInput:
    """Water as stated: temperature [K] and salinity [kg/kg], or density and viscosity.

    Attributes
    ----------
    temperature : float [K]
    salinity : float [kg salt per kg of sea water]
    density : float or None [kg/m^3]
    viscosity : float or None [Pa s], dynamic
    """

    temperature: float = 293.15
    salinity: float = 0.0
    density: float | None = None
    viscosity: float | None = None
