"""Section properties of rectangles and ellipses, and of the water they carry along.

All functions take floats or arrays of width and thickness [m] and return the same shape.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np

from simsoft.core.arrays import Array

SectionKind = Literal["rectangle", "ellipse"]

TORSION_TERMS = 40  # of Saint-Venant's series; the rest is below 1e-6 of the sum


@dataclass(frozen=True)
class Section:
    """Properties per section, arrays of equal shape.

    Attributes
    ----------
    area : [m^2]
    second_moment_soft : [m^4], bending across the thickness, about the width axis
    second_moment_stiff : [m^4], bending across the width, about the thickness axis
    torsion_constant : [m^4]
    added_mass_broad : [kg/m per kg/m^3] i.e. [m^2], moving across the width
    added_mass_edge : [m^2], moving along the width
    added_roll : [m^4], turning about the axis
    """

    area: Array
    second_moment_soft: Array
    second_moment_stiff: Array
    torsion_constant: Array
    added_mass_broad: Array
    added_mass_edge: Array
    added_roll: Array


def torsion_constant_rectangle(width: Array, thickness: Array) -> Array:
    """Return the torsion constant [m^4] of rectangles.

    Saint-Venant's series (Timoshenko & Goodier, Theory of Elasticity, art. 109):
    J = a b^3 [1/3 - (64/pi^5)(b/a) sum tanh(n pi a/2b)/n^5], n odd, a >= b.
    """
    long = np.maximum(width, thickness)
    short = np.minimum(width, thickness)
    ratio = short / long
    n = np.arange(1.0, 2 * TORSION_TERMS, 2.0)
    total = (np.tanh(0.5 * math.pi * n / ratio[..., None]) / n**5).sum(axis=-1)
    beta = 1.0 / 3.0 - 64.0 / math.pi**5 * ratio * total
    return np.asarray(beta * long * short**3)


def section_properties(kind: SectionKind, width: Array, thickness: Array) -> Section:
    """Return the properties of sections of one kind.

    The added mass of a rectangle is taken as that of the ellipse on its axes, pi/4 b^2 across
    the width (exact for a thin plate; Lamb, Hydrodynamics, art. 71) and pi (b^2-h^2)^2/128
    in roll. A square bar carries up to a half more (common practice tables): soft parts are
    rounded and their added mass is small against a tail's, so the difference is left out.
    """
    b = np.asarray(width, dtype=float)
    h = np.asarray(thickness, dtype=float)
    broad = 0.25 * math.pi * b**2
    edge = 0.25 * math.pi * h**2
    roll = math.pi * (b**2 - h**2) ** 2 / 128.0
    if kind == "rectangle":
        return Section(
            b * h,
            b * h**3 / 12.0,
            h * b**3 / 12.0,
            torsion_constant_rectangle(b, h),
            broad,
            edge,
            roll,
        )
    return Section(
        0.25 * math.pi * b * h,
        math.pi * b * h**3 / 64.0,
        math.pi * h * b**3 / 64.0,
        math.pi * b**3 * h**3 / (16.0 * (b**2 + h**2)),
        broad,
        edge,
        roll,
    )


def plate_stiffening(
    mode: Literal["beam", "plate", "blend"], width: float, length: float, poisson_ratio: float
) -> float:
    """Return the factor on the bending modulus of a strip because its width resists curving.

    'beam' gives 1, 'plate' 1/(1 - nu^2), 'blend' goes from one to the other with width over
    length x as g = x^1.2/(x^1.2 + 0.42). The blend is fitted to the first mode of cantilever
    plates, a/b = 0.5 to 5, nu = 0.3 (Ritz values of check A14; problem of Barton 1951, J.
    Appl. Mech. 18:129) and holds the first mode's stiffness to 1.5 %; it also gives check
    B06 at nu = 0.49.
    """
    plate = 1.0 / (1.0 - poisson_ratio**2)
    if mode == "beam":
        return 1.0
    if mode == "plate":
        return plate
    x = (width / length) ** 1.2
    return float(1.0 + (plate - 1.0) * x / (x + 0.42))


SPAN_SLOPE = 1.18  # of the finite-span correction below


def finite_span_factor(width: float, length: float) -> float:
    """Return true over strip-theory added mass of a cantilever strip in its first mode.

    1/(1 + 1.18 b/L), fitted to the wet first mode of clamped plates by boundary elements
    (checks B04 and B05, L/b from 0.5 to 10): within 5 % in added mass, 2.5 % in frequency.
    Higher modes have shorter waves and a smaller factor; the bias is theirs.
    """
    return 1.0 / (1.0 + SPAN_SLOPE * width / length)
