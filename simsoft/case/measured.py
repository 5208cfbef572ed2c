"""Measured values that a case may name a file of: plain data."""

from __future__ import annotations

from dataclasses import dataclass, field

OF_LOADS = (
    "normal_drag",
    "skin_friction",
    "paddle_normal_force",
    "centre_of_pressure",
    "rotary_damping",
    "strouhal",
    "wake_growth",
    "wake_moment",
    "munk",
    "rim_force",
    "rim_rate",
    "rim_damping",
    "rim_inertia",
    "force_growth",
    "stall_angle",
)


@dataclass(frozen=True)
class ProfileValue:
    """One measured value.

    Attributes
    ----------
    value, low, high : float, SI; the band holds about two times in three
    basis : str, how it was found
    frequency : float or None [Hz], at which a modulus holds; 0 or None for one at rest
    temperature : float or None [K]
    """

    value: float
    low: float
    high: float
    basis: str
    frequency: float | None = None
    temperature: float | None = None


@dataclass(frozen=True)
class Profile:
    """A shop's measured values by name, with the profile's title and hash."""

    title: str
    values: dict[str, ProfileValue] = field(default_factory=dict)
    sha256: str = ""
