"""Checked case -> lure model: resolved inputs with their bands, and arrays for the kernels."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from typing import Literal

import numpy as np

from simsoft.case.model import BodyInput, Case, MaterialInput, Part
from simsoft.core.band import Band, exact
from simsoft.geometry.bare_wire import BareWire, bare_wire
from simsoft.geometry.beads import bead_words
from simsoft.geometry.paddle import still_inertia
from simsoft.geometry.planform import bends_as
from simsoft.geometry.soft_lengths import held_part
from simsoft.geometry.stations import along, lobes
from simsoft.hydrodynamics.correlations.drag import plate_drag
from simsoft.lure.shading import shading
from simsoft.mechanics.material_law import BY_LOSS_FACTOR, Law
from simsoft.properties import material, water
from simsoft.properties.coefficients import coefficients, plate_coefficients
from simsoft.properties.profile import with_profile
from simsoft.properties.water import Water

GRAVITY = 9.80665  # [m/s^2], standard acceleration (CGPM 1901)
DWELL_FREQUENCY = 0.1  # [Hz], what a durometer held for about a second reads
DEFAULT_FREQUENCY = 5.0  # [Hz], where the band of the dynamic modulus is taken
THICKNESS_SCATTER = 0.08e-3  # [m], part to part in one mould (common practice, no source)
SET_FRACTION = Band(0.1, 0.05, 0.2, "retained packaging bend (common practice, no source)")
ELEMENTS = {
    "strip": 64,
    "ribbon": 128,
    "curl-tail": 48,
    "fork-tail": 48,
    "claw": 96,
    "leg": 24,
    "paddle-tail": 12,
}
PLATE_ELEMENTS = 14  # along the length of a plate; a convergence study stands behind it
STEM_ELEMENTS = 4  # along the stem of a tail that a soft body carries on
LONGEST_STEM = 32  # elements of such a tail with its length of soft body


BodyKind = Literal["rod", "plate", "paddle"]


def body_of(part: Part, model: str) -> BodyKind:
    """Return which body a part with a model, 'rod' or 'plate', is solved as.

    This is the only place that asks; what depends on it goes by the word.
    """
    if model == "rod":
        return "rod"
    return "plate" if part.paddle is None else "paddle"


@dataclass(frozen=True)
class Strip:
    """One flexible strip of the lure with everything needed to build its rod.

    Attributes
    ----------
    name : str, as in the records
    part : Part
    inputs : dict of Band, uncertain inputs by name, SI units
    rate_exponent : float [-], n of modulus ~ frequency^n; 0 for a modulus given directly
    kelvin_voigt : float or None [s]; None when damping is given as a loss factor
    poisson_ratio : float [-]
    elements : int, along the length
    model : 'rod' or 'plate'; of a paddle tail, whose stem is a rod, the paddle's
    model_reason : str, why
    wire : BareWire or None, hook wire that the strip may meet
    body : BodyInput or None, the body it sits on and may fold onto
    """

    name: str
    part: Part
    inputs: dict[str, Band]
    rate_exponent: float
    kelvin_voigt: float | None
    poisson_ratio: float
    elements: int
    wire: BareWire | None = None
    body: BodyInput | None = None
    model: Literal["rod", "plate"] = "rod"
    model_reason: str = ""

    @property
    def solved_as(self) -> BodyKind:
        """The folder of ``bodies/`` that solves it; 'paddle' is one that bends on its stem."""
        return body_of(self.part, self.model)

    @property
    def swings_stiff(self) -> bool:
        """Whether it is a stem with a paddle that does not bend."""
        return self.part.paddle is not None and self.solved_as == "rod"


@dataclass(frozen=True)
class Lure:
    """All strips of a case in its water.

    Attributes
    ----------
    water : Water
    strips : tuple of Strip, as held in a stream: what bends ahead of a part bends with it
    own : tuple of Strip, each from its own root, as on a free lure
    """

    water: Water
    strips: tuple[Strip, ...]
    own: tuple[Strip, ...]


def without_paddle(strip: Strip) -> Strip:
    """Return a strip without its paddle."""
    return replace(strip, part=replace(strip.part, paddle=None))


@dataclass(frozen=True)
class Specimen:
    """A part as it is to be modelled: in a medium, at one set of input values.

    Attributes
    ----------
    strip : Strip
    surrounding : Water
    values : dict, input values by name (see ``values_of``)
    gravity : bool, weight and buoyancy act
    elements : int or None, along its length; None takes the strip's own
    air : bool, leave out all fluid (dry modes)
    """

    strip: Strip
    surrounding: Water
    values: dict[str, float]
    gravity: bool = field(kw_only=True)
    elements: int | None = field(default=None, kw_only=True)
    air: bool = field(default=False, kw_only=True)

    @property
    def cuts(self) -> int:
        """Along how many elements it is cut."""
        return self.elements or self.strip.elements

    @property
    def fluid_density(self) -> float:
        """Density [kg/m^3] of what surrounds it."""
        return 0.0 if self.air else self.surrounding.density


def values_of(strip: Strip, **replaced: float) -> dict[str, float]:
    """Return the central input values of a strip, some of them replaced."""
    return {name: band.value for name, band in strip.inputs.items()} | replaced


def law_of(strip: Strip, values: dict[str, float]) -> Law:
    """Return how the material answers a beat, from the resting modulus in ``values``."""
    return Law(
        modulus=values["modulus"],
        exponent=strip.rate_exponent,
        slowest=DWELL_FREQUENCY,
        loss_factor=values.get("loss_factor", 0.0),
        kelvin_voigt=BY_LOSS_FACTOR if strip.kelvin_voigt is None else strip.kelvin_voigt,
    )


def strip_modulus(strip: Strip, values: dict[str, float], frequency: float) -> float:
    """Return the modulus [Pa] at a frequency [Hz] from the resting modulus in ``values``."""
    return law_of(strip, values)(frequency)[0]


def damping_time(strip: Strip, values: dict[str, float], frequency: float) -> float:
    """Return the Kelvin-Voigt time [s] that gives the stated damping at a frequency [Hz]."""
    return law_of(strip, values)(frequency)[1]


def assemble(case: Case) -> Lure:
    """Return the lure model of a case: defaults filled in, bands attached."""
    hook = None if case.rig is None else case.rig.hook
    wire = None if hook is None else bare_wire(hook, case.body)
    parts = [(name, lobe) for part in case.parts for name, lobe in lobes(part)]
    own = tuple(make_strip(case, name, part, wire) for name, part in parts)
    held = [held_part(case, part) for _, part in parts]
    strips = tuple(
        strip if part is strip.part else make_strip(case, strip.name, part, wire)
        for strip, part in zip(own, held, strict=True)
    )
    return Lure(water.resolve_water(case.water), strips, own)


def make_strip(case: Case, name: str, part: Part, wire: BareWire | None = None) -> Strip:
    """Return a flexible part of a case with its uncertain inputs."""
    stated = case.material
    temperature = case.water.temperature
    resting = material.static_modulus(stated, case.tolerance, temperature)
    moving = material.dynamic_modulus(stated, case.tolerance, temperature, DEFAULT_FREQUENCY)
    exponent = math.log(moving.value / resting.value) / math.log(
        DEFAULT_FREQUENCY / DWELL_FREQUENCY
    )
    scale = resting.value / moving.value
    scatter = case.tolerance.thickness
    scatter = THICKNESS_SCATTER if scatter is None else scatter
    thinnest = min(part.thickness.values)
    inputs = {
        "modulus": moving.scaled(scale),
        "thickness": Band(
            0.0,
            -min(scatter, 0.5 * thinnest),
            scatter,
            "part to part in one mould (common practice, no source)",
        ),
        "density": material.material_density(_pour(stated, part), case.tolerance),
    }
    if stated.kelvin_voigt_time is None:
        inputs["loss_factor"] = material.loss_factor(stated)
    if part.set_angle != 0.0:
        given = part.set_fraction
        inputs["set_fraction"] = SET_FRACTION if given is None else exact(given)
    model, reason = bends_as(part, near_hook=wire is not None)
    reason += bead_words(part, model)
    if body_of(part, model) == "plate":
        inputs |= plate_coefficients(part, square_on_drag(part))
    else:
        inputs |= coefficients(part)
    shade = shading(case.body, part)
    if shade is not None:
        inputs["shading"] = shade
    return Strip(
        name=name,
        part=part,
        inputs=with_profile(inputs, case, part, exponent, DEFAULT_FREQUENCY),
        rate_exponent=0.0 if abs(exponent) < 1e-12 else exponent,
        kelvin_voigt=stated.kelvin_voigt_time,
        poisson_ratio=material.poisson_ratio(stated),
        elements=case.numerics.elements or _elements(part, model),
        model=model,
        model_reason=reason,
        wire=wire,
        body=case.body,
    )


def _elements(part: Part, model: str) -> int:
    """Return along how many elements a part is cut; a soft length ahead of a stem adds some."""
    if body_of(part, model) == "plate":
        return PLATE_ELEMENTS
    ratio = part.length / (part.length - part.soft_ahead)
    return max(ELEMENTS[part.kind], min(LONGEST_STEM, math.ceil(STEM_ELEMENTS * ratio)))


def _pour(stated: MaterialInput, part: Part) -> MaterialInput:
    """Return the material a part is poured of: the case's, with the part's own density."""
    return stated if part.density is None else replace(stated, density=part.density)


def square_on_drag(part: Part) -> float:
    """Return C_d [-] of a part's planform square to the stream, by length over mean width."""
    width = float(np.mean(along(part.width, np.linspace(0.0, 1.0, 41))))
    return float(plate_drag(part.length / width))


def in_still_water(strip: Strip, values: dict[str, float]) -> dict[str, float]:
    """Return the input values of a strip that rings in still water: no wake goes along."""
    paddle = strip.part.paddle
    return values if paddle is None else values | {"rim_inertia": still_inertia(paddle)}
