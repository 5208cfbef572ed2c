"""Hardness laws that checks alone call: what a durometer or a stress at a strain says otherwise."""

from __future__ import annotations

import math

# ISO 48-2 normal hardness test, from memory.
IRHD_RADIUS = 1.25e-3  # [m]
IRHD_CONTACT_FORCE = 0.30  # [N]
IRHD_TOTAL_FORCE = 5.70  # [N]


def durometer_force_a(points: float) -> float:
    """Return the spring force [N] of a type A durometer (ASTM D2240, from memory)."""
    return 0.550 + 0.075 * points


def ruess_modulus(points: float) -> float:
    """Return Young's modulus [Pa] from Shore A points by the base-10 log-linear law.

    Notes
    -----
    log10 E [MPa] = 0.0235 S - 0.6403 (quoted by Qi, Joyce & Boyce 2003, Rubber Chem. Technol.
    76:419); best for 30-60 A. A cross-check only; a natural-log misquotation is about.
    """
    return 1e6 * math.pow(10.0, 0.0235 * points - 0.6403)


def irhd_indentation(modulus: float) -> float:
    """Return the differential indentation [m] of the normal IRHD test at a modulus [Pa].

    Notes
    -----
    F/E = 1.9 R^2 (D/R)^1.35 (ISO 48-2 annex, from memory), between contact and total force.
    """
    return _ball_depth(IRHD_TOTAL_FORCE, modulus) - _ball_depth(IRHD_CONTACT_FORCE, modulus)


def _ball_depth(force: float, modulus: float) -> float:
    return IRHD_RADIUS * math.pow(force / (modulus * 1.9 * IRHD_RADIUS**2), 1.0 / 1.35)


def neo_hooke_modulus(stress_at_double: float) -> float:
    """Return Young's modulus [Pa] from the engineering stress [Pa] at 100 % strain.

    Notes
    -----
    Incompressible neo-Hooke: stress = E/3 (lambda - lambda^-2), 1.75 E/3 at lambda = 2.
    """
    stretch = 2.0
    return 3.0 * stress_at_double / (stretch - stretch**-2)
