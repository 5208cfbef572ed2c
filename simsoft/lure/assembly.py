"""The whole lure: body, flexible parts, hook and weights -> mass, buoyancy, inertia, added mass.

The whole is the plain sum of its pieces. Neighbours do not change each other's added mass; a
root inside the body and a wire inside the slot are counted as if they stood free.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simsoft.case.model import BodyInput, Case, RigInput
from simsoft.core.arrays import Array
from simsoft.core.band import Band
from simsoft.geometry.soft_lengths import soft_parts, stiff_length
from simsoft.lure.components import (
    Component,
    body_piece,
    centre_of,
    hook_piece,
    strip_piece,
    weight_piece,
)
from simsoft.lure.parts import THICKNESS_SCATTER, Lure, Strip, make_strip, values_of
from simsoft.mechanics.inertia import inertia_from_point
from simsoft.properties import material
from simsoft.properties.water import Water

Values = dict[str, dict[str, float]]


@dataclass(frozen=True)
class Whole:
    """What a lure is made of, before it is weighed.

    Attributes
    ----------
    water : Water
    strips : tuple of Strip
    body : BodyInput or None
    rig : RigInput
    body_inputs : dict of Band, uncertain inputs of the body by name, SI units
    soft : tuple of Strip, lengths of the body that bend; weighed with the body, not again
    """

    water: Water
    strips: tuple[Strip, ...]
    body: BodyInput | None
    rig: RigInput
    body_inputs: dict[str, Band]
    soft: tuple[Strip, ...] = ()

    @property
    def stiff(self) -> tuple[float, float]:
        """Ends [m] of the length of the body that does not bend; zeros without a body."""
        return (0.0, 0.0) if self.body is None else stiff_length(self.body, self.rig.hook)


@dataclass(frozen=True)
class PartMass:
    """Mass [kg], volume [m^3] and centre of mass (3,) [m] of one piece."""

    name: str
    mass: float
    volume: float
    centre: Array


@dataclass(frozen=True)
class MassProperties:
    """The lure as one stiff body in its moulded shape.

    Attributes
    ----------
    mass : float [kg]
    volume : float [m^3], displaced
    centre_of_mass, centre_of_buoyancy : array (3,) [m], from the nose
    inertia : array (3, 3) [kg m^2], about the centre of mass
    added_mass : array (6, 6) [kg m^2, kg m, kg], about the centre of mass, rotation first
    projected_areas : array (3,) [m^2], seen along x, y and z; pieces do not hide each other
    length : float [m], of body and parts along x, tip to tip
    parts : tuple of PartMass
    """

    mass: float
    volume: float
    centre_of_mass: Array
    centre_of_buoyancy: Array
    inertia: Array
    added_mass: Array
    projected_areas: Array
    length: float
    parts: tuple[PartMass, ...]


def assemble_whole(case: Case, lure: Lure) -> Whole:
    """Return the whole lure of a case, the body's uncertain inputs with their bands."""
    inputs = {}
    soft: tuple[Strip, ...] = ()
    rig = case.rig or RigInput()
    if case.body is not None:
        lengths = soft_parts(case.body, rig.hook)
        soft = tuple(make_strip(case, part.name, part) for part in lengths)
        sizes = (*case.body.height.values, *case.body.width.values)
        scatter = case.tolerance.thickness
        scatter = THICKNESS_SCATTER if scatter is None else scatter
        inputs = {
            "density": material.body_density(case.body, case.material, case.tolerance),
            "thickness": Band(
                0.0,
                -min(scatter, 0.5 * min(sizes)),
                scatter,
                "part to part in one mould (common practice, no source)",
            ),
        }
    return Whole(lure.water, lure.own, case.body, rig, inputs, soft)


def central_values(whole: Whole) -> Values:
    """Return the central input values of the body and of every strip, by name of the piece."""
    values = {strip.name: values_of(strip) for strip in whole.strips}
    if whole.body is not None:
        values["body"] = {name: band.value for name, band in whole.body_inputs.items()}
    return values


def moved_values(whole: Whole, name: str) -> tuple[Values, Values]:
    """Return the values with one input at its low and at its high end in every piece at once.

    One pot and one mould make the whole lure, so that its pieces err together.
    """
    bands = {strip.name: strip.inputs for strip in whole.strips} | {"body": whole.body_inputs}
    low, high = central_values(whole), central_values(whole)
    for piece in low:
        low[piece][name] = bands[piece][name].low
        high[piece][name] = bands[piece][name].high
    return low, high


def mass_properties(whole: Whole, values: Values | None = None) -> MassProperties:
    """Return mass, buoyancy, inertia and added mass of a lure.

    Parameters
    ----------
    whole : Whole
    values : dict, input values of the body and of each strip; None for the central ones
    """
    pieces = lure_components(whole, central_values(whole) if values is None else values)
    solid: Array = np.sum([piece.solid for piece in pieces], axis=0)
    displaced: Array = np.sum([piece.displaced for piece in pieces], axis=0)
    added: Array = np.sum([piece.added for piece in pieces], axis=0)
    centre = centre_of(solid)
    ends = [end for piece in pieces for end in piece.ends]
    return MassProperties(
        mass=float(solid[3, 3]),
        volume=float(displaced[3, 3]),
        centre_of_mass=centre,
        centre_of_buoyancy=centre_of(displaced),
        inertia=inertia_from_point(solid, -centre)[:3, :3],
        added_mass=inertia_from_point(added, -centre),
        projected_areas=np.sum([piece.areas for piece in pieces], axis=0),
        length=max(ends, default=0.0) - min(ends, default=0.0),
        parts=tuple(
            PartMass(p.name, float(p.solid[3, 3]), float(p.displaced[3, 3]), centre_of(p.solid))
            for p in pieces
        ),
    )


def lure_components(whole: Whole, values: Values) -> list[Component]:
    """Return the pieces of a lure: body, strips, hook, weights."""
    density = whole.water.density
    pieces = []
    if whole.body is not None:
        pieces.append(body_piece(whole.body, values["body"], density))
    pieces += [strip_piece(strip, whole.water, values[strip.name]) for strip in whole.strips]
    if whole.rig.hook is not None:
        pieces.append(hook_piece(whole.rig.hook, density))
    return pieces + [weight_piece(weight, density) for weight in whole.rig.weights]
