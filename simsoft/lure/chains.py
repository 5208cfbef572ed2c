"""The flexible chains of a free lure: its parts, and the soft lengths of its body."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from simsoft.case.model import Part
from simsoft.core.arrays import Array, Integers
from simsoft.geometry.body import BodyStations, end_factors, full_area
from simsoft.geometry.stations import cut
from simsoft.lure.components import Component, moulded_chain, root_half
from simsoft.lure.parts import Specimen, Strip, damping_time, strip_modulus
from simsoft.lure.rod_model import build_rod, with_material
from simsoft.mechanics.inertia import inertia_from_point, turned
from simsoft.mechanics.multibody import ON_BASE, Base, Paddles, Tree
from simsoft.mechanics.rod import Paddle, Rod
from simsoft.properties.water import Water

BODY_ELEMENTS = 12  # of each soft length of a body
PART_ELEMENTS = 16  # at most, of a part on a free lure
PADDLE_NUMBERS = (
    *("area", "width", "added_mass", "normal_force", "centre_of_pressure", "rotary_damping"),
    *("friction", "munk", "rim_drag", "rim_force", "rim_rate", "rim_damping", "force_growth"),
    "half_density",
)


@dataclass(frozen=True)
class Chain:
    """A flexible chain with its moulded place.

    Attributes
    ----------
    name : str
    rod : Rod with its material, clamp in the lure's axes
    root : Component, the half element that the clamp holds, about the nose
    carrier : int, number of the chain that carries it, -1 for the base
    link : int, link of that chain
    inflow : pair of float [kg/m], see ``structure.tree.Tree``
    natural_frame, natural_hinge : arrays (N, 3, 3), (N, 3) [m], moulded, lure's axes
    of_body : bool, a soft length of the body, which carries parts
    """

    name: str
    rod: Rod
    root: Component
    carrier: int
    link: int
    natural_frame: Array
    natural_hinge: Array
    inflow: tuple[float, float] = (0.0, 0.0)
    of_body: bool = False


def soft_chain(
    strip: Strip,
    water: Water,
    values: dict[str, float],
    stations: BodyStations,
    elements: int | None,
    frequency: float,
) -> Chain:
    """Return a soft length of a body as a chain on the base.

    Sections are full on the outer size; ribs and slot take mass and weight off as they take
    area, and bending stiffness by the share of the second moment that is left. The ends of the
    body take off the added mass what they take off the stiff body's.
    """
    count = elements or BODY_ELEMENTS
    rod = build_rod(Specimen(strip, water, values, gravity=True, elements=count))
    start, sign = strip.part.position[0], strip.part.direction[0]
    node = start + sign * np.cumsum(rod.length)
    full = full_area(strip.part.section, stations.height, stations.width)
    area = np.interp(node, stations.x, stations.area / full)
    second = np.interp(node, stations.x, _bending_share(stations, strip.part.section))
    side, lift, _, _ = end_factors(stations)
    ends = 0.5 * (side + lift)
    rod = rod._replace(
        structure=rod.structure * area[:, None, None],
        weight=rod.weight * area[:, None],
        stiffness=rod.stiffness * second[:, None],
        fluid=rod.fluid * ends,
        added=rod.added * ends,
        added_gain=rod.added_gain * ends,
    )
    found = _chain(strip, _ready(strip, rod, values, frequency), water, values, ON_BASE, 0)
    return replace(found, inflow=(float(rod.added[0, 0]), float(rod.added[0, 1])), of_body=True)


def _bending_share(stations: BodyStations, section: str) -> Array:
    full = 1.0 / 12.0 if section == "rectangle" else np.pi / 64.0
    whole = full * stations.height * stations.width**3
    return np.asarray(np.clip(stations.second_z / whole, 0.05, 1.5))


def _ready(strip: Strip, rod: Rod, values: dict[str, float], frequency: float) -> Rod:
    modulus = strip_modulus(strip, values, frequency)
    return with_material(rod, modulus, damping_time(strip, values, frequency))


def strip_chain(
    strip: Strip,
    water: Water,
    values: dict[str, float],
    elements: int | None,
    frequency: float,
    carriers: Sequence[Chain],
) -> Chain:
    """Return a part as a chain on the base, or on the soft length of the body it sits on.

    The turning moment that potential flow puts on a paddle is left out: the incidence about
    which only its changes act is not known in a fall.
    """
    count = elements or min(strip.elements, PART_ELEMENTS)
    rod = build_rod(Specimen(strip, water, values, gravity=True, elements=count))
    rod = _ready(strip, rod, values, frequency)
    rod = rod._replace(paddle=rod.paddle._replace(munk=0.0))
    return _chain(strip, rod, water, values, *carrier_of(strip.part, carriers))


def carrier_of(part: Part, chains: Sequence[Chain]) -> tuple[int, int]:
    """Return number and link of the soft length of the body a part sits on, ``ON_BASE`` if none."""
    carrier, link = ON_BASE, 0
    for number, chain in enumerate(chains):
        if not chain.of_body:
            continue
        beyond = chain.rod.frame[0, 2] * (part.position[0] - chain.rod.root[0])
        if beyond > 0.5 * chain.rod.length[0]:
            node = np.cumsum(chain.rod.length)
            carrier, link = number, int(np.argmin(np.abs(node - beyond)))
    return carrier, link


def first_links(chains: Sequence[Chain]) -> Integers:
    """Return the first link of every chain among all links, then their number (C + 1,)."""
    first = np.zeros(len(chains) + 1, dtype=np.int64)
    first[1:] = np.cumsum([len(chain.rod.length) for chain in chains])
    return first


def _chain(
    strip: Strip,
    rod: Rod,
    water: Water,
    values: dict[str, float],
    carrier: int,
    link: int,
) -> Chain:
    frame, hinge, _ = moulded_chain(rod)
    count = len(rod.length)
    stations = cut(strip.part, count, values["thickness"], values.get("set_fraction", 0.0))
    displaced, added = root_half(strip.part, stations, rod, water.density)
    root = Component(strip.name, values["density"] * displaced, displaced, added, np.zeros(3))
    return Chain(strip.name, rod, root, carrier, link, frame, hinge)


def stack(base: Base, chains: Sequence[Chain], origin: Array) -> Tree:
    """Return base and chains as one tree about ``origin`` (3,) [m]."""
    count = len(chains)
    first = first_links(chains)
    carrier = np.full(count, ON_BASE, dtype=np.int64)
    mount, at = np.zeros((count, 3, 3)), np.zeros((count, 3))
    carry = np.zeros((count, 6, 6))
    structure = _stacked(chains, "structure", (6, 6))
    fluid = _stacked(chains, "fluid", (6, 6))
    for c, chain in enumerate(chains):
        axes, place = np.eye(3), origin
        if chain.carrier != ON_BASE:
            bearer = chains[chain.carrier]
            axes, place = bearer.natural_frame[chain.link], bearer.natural_hinge[chain.link]
            carrier[c] = first[chain.carrier] + chain.link
            half_solid, half_fluid = _about(chain.root, axes, place)
            structure[carrier[c]] += half_solid
            fluid[carrier[c]] += half_fluid
        mount[c] = axes.T @ chain.rod.frame
        at[c] = axes.T @ (chain.rod.root - place)
        carry[c] = carry_of(mount[c], at[c])
    rods = [chain.rod for chain in chains]
    return Tree(
        base=base,
        first=first,
        carrier=carrier,
        carry=carry,
        mount=mount,
        mount_at=at,
        inflow=np.array([chain.inflow for chain in chains]).reshape(count, 2),
        length=_stacked(chains, "length", ()),
        span=_stacked(chains, "span", ()),
        stiffness=_stacked(chains, "stiffness", (3,)),
        natural=_stacked(chains, "natural", (3,)),
        kelvin_voigt=np.array([rod.kelvin_voigt for rod in rods], dtype=np.float64),
        structure=structure,
        fluid=fluid,
        added=_stacked(chains, "added", (3,)),
        added_gain=_stacked(chains, "added_gain", (2,)),
        reactive=np.array([rod.reactive for rod in rods], dtype=np.float64),
        drag=_stacked(chains, "drag", (4,)),
        weight=_with_roots(chains, first),
        follower=np.array([rod.follower for rod in rods], dtype=np.float64).reshape(count, 3),
        tip_moment=np.array([rod.tip_moment for rod in rods], dtype=np.float64).reshape(count, 3),
        paddles=_paddles([rod.paddle for rod in rods]),
    )


def _stacked(chains: Sequence[Chain], name: str, shape: tuple[int, ...]) -> Array:
    rows = [np.asarray(getattr(chain.rod, name), dtype=np.float64) for chain in chains]
    return np.ascontiguousarray(np.concatenate([np.zeros((0, *shape)), *rows]))


def _with_roots(chains: Sequence[Chain], first: Integers) -> Array:
    """Return the weights at the nodes; a link that carries a chain bears its root half too."""
    weight = _stacked(chains, "weight", (3,))
    for chain in chains:
        if chain.carrier != ON_BASE:
            weight[first[chain.carrier] + chain.link] += chain.rod.root_weight
    return weight


def _about(piece: Component, axes: Array, place: Array) -> tuple[Array, Array]:
    """Return a piece's inertia and added mass about ``place`` (3,) [m] in other axes (3, 3)."""
    return (
        turned(inertia_from_point(piece.solid, -place), axes.T),
        turned(inertia_from_point(piece.added, -place), axes.T),
    )


def carry_of(mount: Array, at: Array) -> Array:
    """Return the matrix (6, 6) that takes the carrier's twist to that of a clamp on it."""
    x, y, z = at
    cross = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
    result = np.zeros((6, 6))
    result[:3, :3] = result[3:, 3:] = mount.T
    result[3:, :3] = -mount.T @ cross
    return result


def _paddles(paddles: Sequence[Paddle]) -> Paddles:
    count = len(paddles)
    number = np.array([[getattr(p, name) for name in PADDLE_NUMBERS] for p in paddles])
    return Paddles(
        centre=np.array([p.centre for p in paddles], dtype=np.float64).reshape(count, 3),
        axes=np.array([p.axes for p in paddles], dtype=np.float64).reshape(count, 3, 3),
        added_rotary=np.array([p.added_rotary for p in paddles]).reshape(count, 2),
        steady_turning=np.array([p.steady_turning for p in paddles]).reshape(count, 2),
        weight=np.array([p.weight for p in paddles], dtype=np.float64).reshape(count, 3),
        number=np.asarray(number, dtype=np.float64).reshape(count, len(PADDLE_NUMBERS)),
    )
