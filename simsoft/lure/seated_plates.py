"""The plates of a free lure: parts that bend as plates, and paddles that bend on their stems.

A leaf sits on the rigid part of the lure, on a link of a soft length of its body, or on the end of
its own stem. Everything of it is told in the axes of its seat.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from simsoft.core.arrays import Array
from simsoft.hydrodynamics.flexible_paddle import Pad
from simsoft.hydrodynamics.plate.flow import Flow
from simsoft.lure.chains import Chain, carrier_of, carry_of, first_links
from simsoft.lure.paddle_model import StemModel, build_stem
from simsoft.lure.parts import Specimen, Strip, law_of
from simsoft.lure.plate_model import PlateModel, build_plate
from simsoft.mechanics.multibody import ON_BASE
from simsoft.properties.water import Water


@dataclass(frozen=True)
class LeafModel:
    """A plate on a free lure.

    Attributes
    ----------
    name : str
    model : PlateModel, or StemModel of a paddle that bends
    state : array (n, 6), moulded places [m] and directors in the axes of the seat
    water : arrays of the water's load
    lined : PlateModel of a plate with a middle line of its own, None of a paddle
    modulus, time : float [Pa], [s], dynamic modulus and Kelvin-Voigt time
    carrier : int, link that carries it, ``ON_BASE`` for the rigid part
    carry : array (6, 6), twist of the seat from the carrier's
    mount : array (3, 3), mount_at : array (3,) [m], the seat in the carrier's axes, from the
        eye or the link's inboard hinge
    """

    name: str
    model: PlateModel | StemModel
    state: Array
    water: Flow | Pad | None
    lined: PlateModel | None
    modulus: float
    time: float
    carrier: int
    carry: Array
    mount: Array
    mount_at: Array

    @property
    def rows(self) -> int:
        """Nodes along the middle line; none for a paddle, whose stem is a chain."""
        return 0 if self.lined is None else len(self.lined.planform.centre)

    def middle_line(self) -> Array:
        """Return the moulded middle line (rows, 3) [m] of a plate, from the nose."""
        if self.lined is None:
            return np.zeros((0, 3))
        return self.lined.state[self.lined.planform.centre, :3] + self.lined.root

    @property
    def length(self) -> float:
        """Length [m] of the plate."""
        if self.lined is not None:
            return float(np.ptp(self.lined.planform.plan[:, 0]))
        return float(np.ptp(self.state[:, :3], axis=0).max())


def leaf_of(
    strip: Strip,
    water: Water,
    values: dict[str, float],
    elements: int | None,
    frequency: float,
    chains: Sequence[Chain],
    origin: Array,
) -> LeafModel:
    """Return a strip that bends as a plate as a leaf.

    The turning moment that potential flow puts on a paddle is left out, see
    ``chains.strip_chain``.

    Parameters
    ----------
    strip : Strip, a plate
    water, values, elements, frequency : as in ``chains.strip_chain``
    chains : all chains of the lure, a paddle's own stem among them
    origin : array (3,) [m], the eye from the nose
    """
    material = law_of(strip, values)(frequency)
    first = first_links(chains)
    if strip.solved_as == "paddle":
        number = [chain.name for chain in chains].index(strip.name)
        rod = chains[number].rod
        count = len(rod.length)
        stem = build_stem(Specimen(strip, water, values, gravity=True, elements=count))
        if stem.pad is not None:
            still = stem.pad.paddle._replace(munk=0.0)
            stem = replace(stem, pad=stem.pad._replace(paddle=still))
        end = np.array([0.0, 0.0, 0.5 * float(rod.length[-1])])
        link = int(first[number]) + count - 1
        own = (strip.name, stem, stem.local, stem.pad, None, *material)
        return LeafModel(*own, *_seat(link, np.eye(3), end))
    plate = build_plate(Specimen(strip, water, values, gravity=True, elements=elements))
    plain = (strip.name, plate, plate.state, plate.flow, plate, *material)
    number, link = carrier_of(strip.part, chains)
    if number == ON_BASE:
        return LeafModel(*plain, *_seat(ON_BASE, np.eye(3), plate.root - origin))
    axes, place = chains[number].natural_frame[link], chains[number].natural_hinge[link]
    at = axes.T @ (plate.root - place)
    return LeafModel(*plain, *_seat(int(first[number]) + link, axes.T, at))


def _seat(carrier: int, mount: Array, at: Array) -> tuple[int, Array, Array, Array]:
    """Return carrier, carry, mount and its place, as a leaf keeps them."""
    mount = np.ascontiguousarray(mount)
    return carrier, carry_of(mount, at), mount, at
