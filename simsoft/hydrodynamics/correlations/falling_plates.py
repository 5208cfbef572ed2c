"""How flat bodies fall by Reynolds number and dimensionless inertia: what a quasi-steady model
cannot know.

A falling disc sheds vortices that rock it. No force law of the present velocity reproduces
flutter and tumbling; the map of what was seen in experiments does.
"""

from __future__ import annotations

import math

STEADY_REYNOLDS = 100.0  # below it a disc falls steadily, broadside
FLUTTERS_BELOW = 0.01  # dimensionless inertia: periodic flutter at high Reynolds number
TUMBLES_ABOVE = 0.05


def disc_inertia(
    solid_density: float, fluid_density: float, thickness: float, width: float
) -> float:
    """Return the dimensionless inertia I* = pi rho_s t/(64 rho_f d) of a disc [-].

    Parameters
    ----------
    solid_density, fluid_density : float [kg/m^3]
    thickness, width : float [m]
    """
    return math.pi * solid_density * thickness / (64.0 * fluid_density * width)


def disc_regime(reynolds: float, inertia: float) -> str:
    """Return how a disc falls: 'steady', 'flutters', 'chaotic' or 'tumbles'.

    Parameters
    ----------
    reynolds : float [-], on diameter and mean fall speed
    inertia : float [-], see ``disc_inertia``

    References
    ----------
    Willmarth, Hawk & Harvey 1964, Phys. Fluids 7:197; Field, Klaus, Moore & Nori 1997, Nature
    388:252 (from memory). The boundaries in inertia hold to a factor of two.
    """
    if reynolds < STEADY_REYNOLDS:
        return "steady"
    if inertia < FLUTTERS_BELOW:
        return "flutters"
    return "tumbles" if inertia > TUMBLES_ABOVE else "chaotic"
