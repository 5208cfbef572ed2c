"""Baits of known sizes, modelled from loftings and plain solids; lengths in mm.

Nose at the origin, x to the tail, y to the left, z up, as in a case.
"""

from dataclasses import dataclass, field

import numpy as np
from manifold3d import Manifold, Mesh64

from simsoft.case.shapes.body import FAMILIES


@dataclass(frozen=True)
class Bait:
    """A solid and the sizes it was made from."""

    name: str
    solid: Manifold
    truth: dict = field(default_factory=dict)


def solid_of(points, faces):
    mesh = Mesh64(np.ascontiguousarray(points, float), np.ascontiguousarray(faces, np.uint64))
    made = Manifold(mesh)
    assert not made.is_empty(), made.status()
    return made if made.volume() > 0 else solid_of(points, np.asarray(faces)[:, ::-1])


def arrays(solid):
    mesh = solid.to_mesh64()
    return np.array(mesh.vert_properties)[:, :3], np.array(mesh.tri_verts).astype(int)


def loft(rings):
    """Return the solid through closed rings (n, m, 3) of the same number of points."""
    rings = np.asarray(rings)
    n, m, _ = rings.shape
    here = np.arange(n * m).reshape(n, m)
    ahead = np.roll(here, -1, axis=1)
    a, b, c, d = here[:-1], ahead[:-1], ahead[1:], here[1:]
    sides = np.concatenate([np.stack([a, b, c], -1), np.stack([a, c, d], -1)]).reshape(-1, 3)
    points = np.vstack([rings.reshape(-1, 3), rings[0].mean(0), rings[-1].mean(0)])
    first = np.column_stack([ahead[0], here[0], np.full(m, n * m)])
    last = np.column_stack([here[-1], ahead[-1], np.full(m, n * m + 1)])
    return solid_of(points, np.vstack([sides, first, last]))


def oval(height, width, corners=48, power=2.0):
    """Return a superellipse (m, 2) in y, z."""
    turn = (np.arange(corners) + 0.5) * 2 * np.pi / corners
    c, s = np.cos(turn), np.sin(turn)
    y = 0.5 * width * np.sign(c) * np.abs(c) ** (2 / power)
    z = 0.5 * height * np.sign(s) * np.abs(s) ** (2 / power)
    return np.column_stack([y, z])


def body(family, length, height, width=None, ribs=None, power=2.0, stations=61):
    """Return a body by the shares of its family; ``ribs`` is (depth, pitch)."""
    shares = FAMILIES[family]
    width = shares.width_share * height if width is None else width
    at = np.unique(np.concatenate([np.linspace(0, 1, stations), shares.at]))
    if ribs is not None:
        pitch = ribs[1] / length
        edges = np.arange(0.0, 1.0, 0.5 * pitch)
        at = np.unique(np.concatenate([at, edges, np.clip(edges + 1e-4, 0, 1)]))
    rings = []
    for u in at:
        h = height * np.interp(u, shares.at, shares.height)
        w = width * np.interp(u, shares.at, shares.width)
        if ribs is not None and int(u * length / (0.5 * ribs[1]) + 1e-6) % 2 == 1:
            h, w = h - 2 * ribs[0], w - 2 * ribs[0]
        rings.append(np.column_stack([np.full(48, u * length), oval(h, w, power=power)]))
    return loft(rings)


def strip(centres, wide, deep, width, thickness, round_=False):
    """Return a strip along centres (n, 3): unit axes, widths and thicknesses at each."""
    rings = []
    for centre, a, b, w, t in zip(centres, wide, deep, width, thickness, strict=True):
        outline = oval(w, t) if round_ else 0.5 * np.array([[t, -w], [t, w], [-t, w], [-t, -w]])
        rings.append(centre + outline[:, :1] * b + outline[:, 1:] * a)
    return loft(rings)


def straight(root, direction, wide, length, width, thickness, round_=False, at=None, lead=1.0):
    """Return a straight strip; it reaches ``lead`` back into the body in front of its root."""
    direction, wide = (np.asarray(v, float) / np.linalg.norm(v) for v in (direction, wide))
    at = np.linspace(0, 1, len(width)) if at is None else np.asarray(at, float)
    stations = np.unique(np.concatenate([np.linspace(0, 1, 25), at]))
    w, t = np.interp(stations, at, width), np.interp(stations, at, thickness)
    along = stations * length
    if lead:
        along, w, t = np.r_[-lead, along], np.r_[w[0], w], np.r_[t[0], t]
    centres = np.asarray(root, float) + along[:, None] * direction
    n = len(along)
    deep = np.cross(wide, direction)
    return strip(centres, np.tile(wide, (n, 1)), np.tile(deep, (n, 1)), w, t, round_)


def spread(s, values, at=None):
    """Return sizes at shares of the length, evenly spaced where ``at`` says nothing."""
    return np.interp(s, np.linspace(0, 1, len(values)) if at is None else at, values)


def sickle(root, length, arc, width, thickness, at=None, lead=1.0, n=61):
    """Return a strip curved in the x-z plane by ``arc`` [deg], turning upward, flat upright."""
    s = np.linspace(0, 1, n)
    turn = np.radians(arc) * s
    radius = length / np.radians(arc)
    centres = np.column_stack(
        [root[0] + radius * np.sin(turn), np.zeros(n), root[2] + radius * (1 - np.cos(turn))]
    )
    wide = np.column_stack([-np.sin(turn), np.zeros(n), np.cos(turn)])
    w, t = spread(s, width, at), spread(s, thickness)
    centres = np.vstack([[root[0] - lead, 0, root[2]], centres])
    wide, w, t = np.vstack([wide[:1], wide]), np.r_[w[0], w], np.r_[t[0], t]
    return strip(centres, wide, np.tile([0.0, 1.0, 0.0], (n + 1, 1)), w, t)


def paddle(end, shape, width, height, thickness, angle, offset):
    """Return the plate behind a stem that ends at ``end``."""
    c, s = np.cos(np.radians(angle)), np.sin(np.radians(angle))
    up, normal = np.array([-c, 0.0, s]), np.array([s, 0.0, c])
    centre = np.asarray(end) - offset * up + 0.5 * thickness * normal
    if shape == "disc":
        turn = np.arange(96) * 2 * np.pi / 96
        rim = 0.5 * np.column_stack([width * np.cos(turn), height * np.sin(turn)])
    else:
        rim = 0.5 * np.array(
            [[-width, -height], [width, -height], [width, height], [-width, height]]
        )
    side = np.array([0.0, 1.0, 0.0])
    face = centre + rim[:, :1] * side + rim[:, 1:] * up
    return loft([face - 0.5 * thickness * normal, face + 0.5 * thickness * normal])


def paddle_bait(
    name, family, length, height, stem, plate, *, width=None, section="rectangle", ribs=None
):
    """Return a bait with stem (length, width, thickness) and plate (shape, w, h, t, angle, off)."""
    trunk = body(family, length, height, width, ribs)
    long, wide, thick = stem
    axis = [1.0, 0.0, 0.0]
    # the stem runs half into the plate, whose front face ends it on the axis
    tail = straight(
        [length, 0, 0], axis, [0, 0, 1], long + 0.4 * plate[3], [wide, wide], [thick, thick],
        round_=section == "ellipse",
    )  # fmt: skip
    solid = trunk + tail + paddle([length + long, 0, 0], *plate)
    truth = {
        "kind": "paddle-tail", "family": family, "body_length": length, "body_height": height,
        "body_width": width, "ribs": ribs, "length": long, "width": wide,
        "thickness": thick, "section": section, "shape": plate[0], "paddle_width": plate[1],
        "paddle_height": plate[2], "paddle_thickness": plate[3], "angle": plate[4],
        "offset": plate[5],
    }  # fmt: skip
    return Bait(name, solid, truth)


def curl_bait(name, length, height, tail, arc, width, thickness, at=None):
    solid = body("grub", length, height) + sickle([length, 0, 0], tail, arc, width, thickness, at)
    truth = {
        "kind": "curl-tail", "family": "grub", "body_length": length, "body_height": height,
        "body_width": None, "length": tail, "arc_angle": arc,
        "width": width, "at": at, "thickness": thickness,
    }  # fmt: skip
    return Bait(name, solid, truth)


def ribbon_bait(name, family, length, height, tail, width, thickness):
    solid = body(family, length, height)
    solid += straight([length, 0, 0], [1, 0, 0], [0, 0, 1], tail, width, thickness)
    truth = {
        "kind": "ribbon", "family": family, "body_length": length, "body_height": height,
        "body_width": None, "length": tail, "width": width,
        "thickness": thickness,
    }  # fmt: skip
    return Bait(name, solid, truth)


def fork_bait(name, family, length, height, width, lobe, wide, thick, angle):
    solid = body(family, length, height, width)
    c, s = np.cos(np.radians(angle)), np.sin(np.radians(angle))
    for sign in (1, -1):
        solid += straight([length, 0, 0], [c, 0, sign * s], [-sign * s, 0, c], lobe, wide, thick)
    truth = {
        "kind": "fork-tail", "family": family, "body_length": length, "body_height": height,
        "body_width": width, "length": lobe, "width": wide,
        "thickness": thick, "fork_angle": angle,
    }  # fmt: skip
    return Bait(name, solid, truth)


def creature_bait(name, length, height, claw, splay, *, legs=None, neck=0.2):
    """Return a creature with claws (length, width, thickness, neck width, neck thickness)."""
    trunk = body("creature", length, height)
    long, wide, thick, thin_wide, thin = claw
    share = (0, neck, neck + 0.1, 0.9, 1.0)
    c, s = np.cos(np.radians(splay)), np.sin(np.radians(splay))
    root = np.array([length - 1.0, 0.22 * height, 0.0])
    solid = trunk
    for sign in (1, -1):
        place = root * [1, sign, 1]
        solid += straight(
            place, [c, sign * s, 0], [0, 0, 1], long,
            [thin_wide, thin_wide, wide, wide, 0.6 * wide],
            [thin, thin, thick, thick, thick], at=share,
        )  # fmt: skip
        if legs is not None:
            side = np.array([0.6 * length, sign * 0.3 * height, 0.0])
            solid += straight(
                side, [0.5, sign * 0.866, 0], [0, 0, 1], legs[0], [legs[1]] * 2, [legs[1]] * 2,
                round_=True,
            )  # fmt: skip
    truth = {
        "kind": "claw", "family": "creature", "body_length": length, "body_height": height,
        "body_width": None, "length": long, "width": wide,
        "thickness": thick, "neck_width": thin_wide, "neck_thickness": thin, "splay": splay,
        "legs": legs, "root": root, "neck": neck,
    }  # fmt: skip
    return Bait(name, solid, truth)


def plain_bait(name, family, length, height, width=None, ribs=None, slot=None):
    """Return a body alone; ``slot`` is (width, height, from, to)."""
    solid = body(family, length, height, width, ribs)
    if slot is not None:
        wide, tall, start, end = slot
        box = Manifold.cube([end - start, wide, tall + height])
        solid -= box.translate([start, -0.5 * wide, -0.5 * height - height])
    truth = {"kind": None, "family": family, "body_length": length, "ribs": ribs, "slot": slot}
    return Bait(name, solid, truth)


def all_baits():
    """Return thirty baits of every family."""
    disc, boot, oval_ = "disc", "boot", "ellipse"
    made = [
        paddle_bait("kicker", "swim-bait", 78, 19, (11, 4, 2), (disc, 15, 15, 3, 88, 5)),
        paddle_bait(
            "slim", "swim-bait", 60, 14, (9, 3.6, 2.4), (disc, 12, 12, 2.4, 90, 3), section=oval_
        ),
        paddle_bait("booted", "swim-bait", 90, 22, (12, 5, 3), (boot, 14, 18, 3.5, 85, 5)),
        paddle_bait(
            "swept", "swim-bait", 100, 26, (14, 6, 3.4), (disc, 20, 20, 4, 78, 6), section=oval_
        ),
        paddle_bait("forward", "swim-bait", 70, 17, (10, 4.2, 2.6), (boot, 12, 15, 3, 100, 3.5)),
        paddle_bait("chunk", "grub", 45, 11, (9, 4.5, 2.2), (disc, 12, 12, 2.5, 90, 2.4)),
        paddle_bait("centred", "swim-bait", 80, 20, (12, 5, 2.8), (disc, 14, 14, 3, 90, 0)),
        paddle_bait("micro", "grub", 24, 8, (6, 2.4, 1.8), (disc, 8, 8, 1.8, 92, 2)),
        paddle_bait(
            "ringed", "grub", 60, 14, (10, 4.4, 2.4), (disc, 13, 13, 2.6, 86, 3.5), ribs=(1.5, 4)
        ),
        paddle_bait("big", "swim-bait", 150, 34, (20, 9, 5.5), (boot, 24, 30, 6, 90, 8)),
        curl_bait("sickle", 34, 11, 44, 170, [7, 9, 5], [1.3, 0.7], (0, 0.6, 1)),
        curl_bait("hook", 40, 12, 55, 240, [6, 8, 4], [1.6, 0.8], (0, 0.7, 1)),
        curl_bait("jay", 50, 13, 40, 150, [8, 8], [1.5, 1.0]),
        curl_bait("crescent", 28, 8, 30, 200, [5, 6, 3], [1.2, 0.6], (0, 0.5, 1)),
        ribbon_bait("streamer", "worm", 80, 8, 65, [7, 7], [0.9, 0.6]),
        ribbon_bait("pennant", "worm", 95, 7, 80, [6, 8], [1.2, 0.8]),
        ribbon_bait("band", "stick-worm", 100, 9, 90, [8, 5], [1.3, 0.7]),
        ribbon_bait("short", "grub", 40, 11, 35, [6, 9], [1.1, 0.7]),
        fork_bait("minnow", "swim-bait", 75, 15, None, 24, [7, 4], [1.8, 1.0], 30),
        fork_bait("flat", "flat-sided", 46, 24, 7, 17, [5, 3], [1.4, 0.9], 30),
        fork_bait("shad", "swim-bait", 90, 16, None, 30, [8, 4], [2.0, 1.1], 25),
        fork_bait("wide", "swim-bait", 65, 14, None, 20, [6, 4], [1.6, 1.0], 40),
        creature_bait("pincer", 55, 13, (36, 16, 1.6, 5, 1.5), 35),
        creature_bait("craw", 60, 14, (30, 13, 1.5, 5, 1.3), 25, legs=(18, 1.8)),
        creature_bait("beaver", 50, 12, (34, 14, 1.4, 5, 1.3), 20),
        plain_bait("stick", "stick-worm", 127, 10),
        plain_bait("finesse", "worm", 90, 5.2),
        plain_bait("rings", "stick-worm", 100, 11, ribs=(1.5, 4)),
        plain_bait("slotted", "swim-bait", 90, 20, slot=(2.5, 9, 25, 60)),
        plain_bait("plank", "flat-sided", 80, 28),
    ]  # fmt: skip
    assert len(made) == 30
    return made
