"""Baits wider than tall, and what their meshes can tell of how they are rolled; lengths in mm.

Nose at the origin, x to the tail, y to the left, z up. ``KNOWN`` baits show which side is up;
of ``ROLLED`` ones two planes serve alike; of ``OVER`` ones back and belly differ without a name.
"""

import numpy as np
from baits import body, loft, oval, paddle, sickle, straight
from manifold3d import Manifold

ACROSS, UP, AFT = [0, 1, 0], [0, 0, 1], [1, 0, 0]
PAD = {"width": [4, 4, 12, 12, 7], "thickness": [1.4] * 5, "at": (0, 0.2, 0.3, 0.9, 1)}


def chunk(length=55, height=11, width=21):
    return body("creature", length, height, width)


def fish(length=70, height=13, width=20):
    return body("swim-bait", length, height, width)


def claws(root, reach=30, splay=25, wide="flat", rise=0.0, sizes=(1.0, 1.0)):
    """Return a pair of claws whose pads lie flat or stand upright."""
    c, s = np.cos(np.radians(splay)), np.sin(np.radians(splay))
    made = Manifold()
    for sign, size in zip((1, -1), sizes, strict=True):
        way = np.array([c, sign * s, rise])
        flat = [-sign * s, c, 0.0] if wide == "flat" else UP
        made += straight(np.asarray(root) * [1, sign, 1], way, flat, reach * size, **PAD)
    return made


def legs(length, height, drop=0.0):
    made = Manifold()
    for sign in (1, -1):
        side = [0.55 * length, sign * 0.3 * height, 0.0]
        made += straight(side, [0.5, sign * 0.87, -drop], UP, 24, [1.8] * 2, [1.8] * 2, round_=True)
    return made


def plated(trunk, end, offset, upright=True, angle=90.0):
    """Return a trunk with a stem, thin to the sides or up and down, and a disc behind it."""
    wide = UP if upright else ACROSS
    stem = straight([end, 0, 0], AFT, wide, 11.0, [4.4] * 2, [2.2] * 2)
    return trunk + stem + paddle([end + 10, 0, 0], "disc", 13, 13, 2.6, angle, offset)


def flat_worm(height=5, width=16, power=2.0, dome=False):
    """Return a worm that tapers to its tail; a domed one is flat below."""
    u = np.linspace(0.0, 1.0, 50)
    size = np.interp(u, [0, 0.1, 0.3, 1], [0.5, 0.9, 1, 0.12])
    rings = []
    for at, share in zip(u, size, strict=True):
        ring = oval(height * share, width * share, 64, power)
        if dome:
            ring[:, 1] = np.maximum(ring[:, 1], -0.1 * height * share)
        rings.append(np.column_stack([np.full(64, 95 * at), ring]))
    return loft(rings)


def planed(solid):
    """Return a solid poured in an open mould: its belly is cut flat."""
    return solid.trim_by_plane((0.0, 0.0, 1.0), -2.5)


def slotted(solid, length):
    return solid - Manifold.cube([0.4 * length, 2.4, 20]).translate([0.25 * length, -1.2, -21.5])


def sideways(solid):
    """Return a bait's tail, modelled upright, lying level."""
    return solid.rotate([90, 0, 0])


KNOWN = {
    "flat claws": lambda: chunk() + claws([54, 4, 0]),
    "upright claws": lambda: chunk() + claws([54, 4, 0], wide="upright"),
    "wide claws": lambda: chunk(50, 10, 25) + claws([48, 8, 0], splay=40),
    "claws and legs": lambda: chunk() + claws([54, 4, 0]) + legs(55, 21),
    "legs alone": lambda: chunk() + legs(55, 21),
    "legs and a flap": lambda: (
        chunk() + legs(55, 21) + straight([55, 0, 0], AFT, ACROSS, 30, [8, 12], [1.5, 1])
    ),
    "hanging paddle": lambda: plated(chunk(), 55, 3.0),
    "hanging paddle of a fish": lambda: plated(fish(), 70, 3.5, angle=86.0),
    "hanging a little": lambda: plated(fish(90, 14, 24), 90, 1.0),
    "slot and claws": lambda: slotted(chunk() + claws([54, 4, 0]), 55),
    "slot alone": lambda: slotted(chunk(), 55),
    "upright curl": lambda: chunk(45, 10, 16) + sickle([44, 0, 0], 35, 140, [5, 5], [1.4, 0.9]),
    "twin tails": lambda: (
        chunk(40, 9, 14)
        + sideways(sickle([39, 0, 3.5], 35, 120, [5, 5], [1.3, 0.8])).mirror([0, 1, 0])
        + sideways(sickle([39, 0, 3.5], 35, 120, [5, 5], [1.3, 0.8]))
    ),
}
ROLLED = {
    "plain worm": flat_worm,
    "thin worm": lambda: flat_worm(3, 14),
    "boxed worm": lambda: flat_worm(6, 13, power=4.0),
    "plain chunk": chunk,
    "plain fish": fish,
    "level flap": lambda: chunk() + straight([55, 0, 0], AFT, ACROSS, 32, [9, 14], [1.6, 1]),
    "level flap of a fish": lambda: (
        fish() + straight([70, 0, 0], AFT, ACROSS, 25, [6, 11], [1.6, 1])
    ),
    "upright flap": lambda: chunk() + straight([55, 0, 0], AFT, UP, 32, [6, 9], [1.6, 1]),
    "level ribbon": lambda: (
        flat_worm(6, 14) + straight([94, 0, 0], AFT, ACROSS, 50, [4, 7], [1, 0.7])
    ),
    "split tail": lambda: (
        chunk()
        + straight([54, 0, 0], [0.9, 0.43, 0], [-0.43, 0.9, 0], 30, [8, 4], [1.6, 1])
        + straight([54, 0, 0], [0.9, -0.43, 0], [0.43, 0.9, 0], 30, [8, 4], [1.6, 1])
    ),
    "centred paddle": lambda: plated(chunk(), 55, 0.0),
    "centred paddle of a fish": lambda: plated(fish(), 70, 0.0),
    "centred paddle that kicks up": lambda: plated(chunk(), 55, 0.0, upright=False),
    "one level curl": lambda: (
        chunk(45, 10, 16) + sideways(sickle([44, 0, 0], 35, 140, [5, 5], [1.4, 0.9]))
    ),
    "unlike claws": lambda: chunk() + claws([54, 4, 0], sizes=(1.0, 0.6)),
}
OVER = {
    "planed claws": lambda: planed(chunk() + claws([54, 4, 0])),
    "planed chunk": lambda: planed(chunk()),
    "domed worm": lambda: flat_worm(6, 16, dome=True),
    "raised claws": lambda: chunk() + claws([54, 4, 2.5], rise=0.3),
    "drooping legs": lambda: chunk() + claws([54, 4, 0]) + legs(55, 21, drop=0.7),
}
