"""Densities of what a lure is made of: fillers, mixtures, metals."""

from __future__ import annotations

import math

SALT_DENSITY = 2165.0  # [kg/m^3], NaCl, from memory
# [kg/m^3], true density of common hollow spheres, 125 to 350: common practice, no source.
MICROBALLOON_DENSITY = 200.0
# [kg/m^3], of weights and hooks as sold, from memory: lead hardened with antimony 10900-11200,
# tungsten in a binder 16000-18500, carbon steel, free-cutting brass, bismuth.
METAL_DENSITY = {
    "lead": 11000.0,
    "tungsten": 17500.0,
    "steel": 7850.0,
    "brass": 8500.0,
    "bismuth": 9780.0,
}


def mixture_density(*shares: tuple[float, float]) -> float:
    """Return the density [kg/m^3] of an ideal mixture, 1/rho = sum w/rho.

    Parameters
    ----------
    shares : pairs of mass fraction [-] and density [kg/m^3]; the fractions add up to 1

    Raises
    ------
    ValueError
        The fractions do not add up to 1, or one is negative.
    """
    total = math.fsum(fraction for fraction, _ in shares)
    if abs(total - 1.0) > 1e-9 or min(fraction for fraction, _ in shares) < 0.0:
        raise ValueError(f"mass fractions must not be negative and add up to 1, not {total:.6g}")
    return 1.0 / math.fsum(fraction / density for fraction, density in shares)


def filled_density(
    base: float,
    *,
    salt: float = 0.0,
    microballoon: float = 0.0,
    microballoon_density: float | None = None,
    air: float = 0.0,
) -> float:
    """Return the density [kg/m^3] of a compound with fillers and entrained air.

    Parameters
    ----------
    base : float [kg/m^3], of the compound without them
    salt, microballoon : float [-], mass fractions of the filled compound without air
    microballoon_density : float or None [kg/m^3], true density, None for the default
    air : float [-], volume fraction of bubbles; 1 % takes 1 % off the density

    Raises
    ------
    ValueError
        The fillers are more than the whole.
    """
    hollow = MICROBALLOON_DENSITY if microballoon_density is None else microballoon_density
    solid = mixture_density(
        (1.0 - salt - microballoon, base), (salt, SALT_DENSITY), (microballoon, hollow)
    )
    return solid * (1.0 - air)
