"""The free lure: one rigid base that carries flexible chains, as arrays for the kernels."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from simsoft.core.arrays import Array, Integers
from simsoft.core.band import Band
from simsoft.geometry.body import BodyStations, body_stations, slices_between
from simsoft.lure.assembly import Whole, mass_properties
from simsoft.lure.chains import Chain, soft_chain, stack, strip_chain
from simsoft.lure.components import Component, body_slices, hook_piece, weight_piece
from simsoft.lure.parts import without_paddle
from simsoft.lure.rigid_base import (
    Elements,
    base_arrays,
    base_inputs,
    body_elements,
    hook_elements,
    root_element,
    weight_elements,
)
from simsoft.mechanics.multibody import ON_BASE, Tree

if TYPE_CHECKING:
    from simsoft.lure.seated_plates import LeafModel

Values = dict[str, dict[str, float]]

BASE = "base"  # key of the rigid part's inputs among the values
FALL_FREQUENCY = 1.0  # [Hz], where the modulus of a falling part is taken: a fall lasts seconds


@dataclass(frozen=True)
class FreeLure:
    """A lure free in the water.

    Attributes
    ----------
    tree : Tree, about the eye, in the lure's axes
    leaves : tuple of LeafModel, its plates
    names : tuple of str, of the chains, then of the plates that are none; 'body/front' and
        'body/back' are soft lengths of the body
    first : array of int, first node of every name among all nodes, then their number
    origin : array (3,) [m], the eye from the nose
    centre_of_mass, centre_of_buoyancy : array (3,) [m], of the moulded lure, from the eye
    mass : float [kg]
    displaced : float [kg], mass of the water displaced
    length : float [m], at least the cube root of the volume
    nose : array (3,) [m], of the moulded lure, from the eye
    """

    tree: Tree
    leaves: tuple[LeafModel, ...]
    names: tuple[str, ...]
    first: Integers
    origin: Array
    centre_of_mass: Array
    centre_of_buoyancy: Array
    mass: float
    displaced: float
    length: float
    nose: Array


def free_inputs(whole: Whole) -> dict[str, dict[str, Band]]:
    """Return the uncertain inputs of every piece and of the rigid part (``BASE``)."""
    inputs = {strip.name: dict(strip.inputs) for strip in (*whole.strips, *whole.soft)}
    if whole.body is not None:
        inputs["body"] = dict(whole.body_inputs)
    inputs[BASE] = base_inputs(whole.body, whole.rig)
    return inputs


def free_values(whole: Whole) -> Values:
    """Return the central input values of a free lure."""
    return {
        piece: {name: band.value for name, band in bands.items()}
        for piece, bands in free_inputs(whole).items()
    }


def build_free(
    whole: Whole,
    values: Values | None = None,
    *,
    elements: int | None = None,
    frequency: float = FALL_FREQUENCY,
) -> FreeLure:
    """Return the free lure of a whole.

    Parameters
    ----------
    whole : Whole, with a body or a rig
    values : dict, input values of the pieces and of ``BASE``; None for the central ones
    elements : int or None, of every chain; None for the parts' own
    frequency : float [Hz], at which the material is taken
    """
    given = free_values(whole) if values is None else values
    water = whole.water
    body = whole.body
    stations = None if body is None else body_stations(body, given["body"]["thickness"])
    chains: list[Chain] = []
    if stations is not None:
        chains += [
            soft_chain(strip, water, _soft_values(strip.name, given), stations, elements, frequency)
            for strip in whole.soft
        ]
    soft = tuple(chains)
    for strip in whole.strips:
        if strip.solved_as == "plate":
            continue
        stem = without_paddle(strip) if strip.solved_as == "paddle" else strip
        chains.append(strip_chain(stem, water, given[strip.name], elements, frequency, soft))
    pieces, drag = _rigid(whole, stations, given)
    for chain in chains:
        if chain.carrier == ON_BASE:
            pieces.append(chain.root)
            drag.append(root_element(chain.rod))
    origin = np.zeros(3) if whole.rig.hook is None else np.asarray(whole.rig.hook.path[0])
    base = base_arrays(pieces, drag, origin, water)
    leaves = _leaves(whole, given, elements, frequency, chains, origin)
    plates = [leaf for leaf in leaves if leaf.rows > 0]
    lengths = [len(chain.rod.length) for chain in chains] + [leaf.rows for leaf in plates]
    found = mass_properties(_with_scatter(whole, given), given)
    return FreeLure(
        tree=stack(base, chains, origin),
        leaves=leaves,
        names=tuple([chain.name for chain in chains] + [leaf.name for leaf in plates]),
        first=np.cumsum([0, *lengths]),
        origin=origin,
        centre_of_mass=found.centre_of_mass - origin,
        centre_of_buoyancy=found.centre_of_buoyancy - origin,
        mass=found.mass,
        displaced=found.volume * water.density,
        length=max(found.length, found.volume ** (1.0 / 3.0)),
        nose=-origin,
    )


def _leaves(
    whole: Whole,
    values: Values,
    elements: int | None,
    frequency: float,
    chains: Sequence[Chain],
    origin: Array,
) -> tuple[LeafModel, ...]:
    """Return the plates of a whole."""
    bent = [strip for strip in whole.strips if strip.solved_as != "rod"]
    if not bent:
        return ()  # most lures have none: what meshes plates is not loaded for them
    from simsoft.lure.seated_plates import leaf_of

    return tuple(
        leaf_of(strip, whole.water, values[strip.name], elements, frequency, chains, origin)
        for strip in bent
    )


def _with_scatter(whole: Whole, values: Values) -> Whole:
    """Return the whole with the masses of its weights moved as the values say."""
    factor = values.get(BASE, {}).get("weight_mass", 1.0)
    weights = tuple(replace(w, mass=factor * w.mass) for w in whole.rig.weights)
    return replace(whole, rig=replace(whole.rig, weights=weights))


def _soft_values(name: str, values: Values) -> dict[str, float]:
    """Return the inputs of a soft length: its own material, size, density and drag of the body."""
    body, base = values["body"], values[BASE]
    own = values[name] | {key: body[key] for key in ("thickness", "density")}
    return own | {
        "normal_drag": own["normal_drag"] * base["cross_drag"],
        "skin_friction": base["body_friction"],
    }


def _rigid(
    whole: Whole,
    stations: BodyStations | None,
    values: Values,
) -> tuple[list[Component], list[Elements]]:
    """Return pieces and drag elements of the rigid part: stiff length, hook, weights."""
    density = whole.water.density
    half = 0.5 * density
    moved = _with_scatter(whole, values)
    own = values.get(BASE, {})
    pieces: list[Component] = []
    drag: list[Elements] = []
    body = whole.body
    if body is not None and stations is not None:
        kept = slices_between(stations, *whole.stiff)
        slices = body_slices(kept, stations, values["body"]["density"], density)
        pieces.append(replace(slices, added=own.get("body_added", 1.0) * slices.added))
        drag.append(body_elements(body, kept, own, half))
    rig = half * own.get("rig_drag", 1.0)
    if whole.rig.hook is not None:
        pieces.append(hook_piece(whole.rig.hook, density))
        drag.append(hook_elements(whole.rig.hook, body, stations, rig))
    if moved.rig.weights:
        heavy = {w.name: weight_piece(w, density) for w in moved.rig.weights}
        pieces += heavy.values()
        drag.append(weight_elements(moved.rig.weights, heavy, rig))
    return pieces, drag


def rows_of(lure: FreeLure, name: str) -> slice:
    """Return the rows of a chain's or plate's nodes among all nodes."""
    c = lure.names.index(name)
    return slice(int(lure.first[c]), int(lure.first[c + 1]))


def is_plate(lure: FreeLure, name: str) -> bool:
    """Return whether a part is a plate, whose first row is the line it is clamped on."""
    return bool(rows_of(lure, name).start >= len(lure.tree.length))


def length_on(lure: FreeLure, name: str) -> float:
    """Return the length [m] of a chain or plate."""
    if is_plate(lure, name):
        return next(leaf.length for leaf in lure.leaves if leaf.name == name)
    return float(lure.tree.length[rows_of(lure, name)].sum())


def moved_inputs(whole: Whole) -> list[tuple[str, float, Values]]:
    """Return name, value and all values with one input at an end of its band, two for each.

    One pot, one mould and one water make the whole lure: an input of the same name moves to the
    same end in every piece at once.
    """
    inputs = free_inputs(whole)
    names = dict.fromkeys(name for bands in inputs.values() for name in bands)
    moved = []
    for name in names:
        for end in ("low", "high"):
            values = free_values(whole)
            told = []
            for piece, bands in inputs.items():
                if name in bands:
                    values[piece][name] = getattr(bands[name], end)
                    told.append((values[piece][name], bands[name].value))
            if any(value != centre for value, centre in told):
                moved.append((name, told[0][0], values))
    return moved
