"""Lures and bases that the tests of free motion start from."""

import numpy as np

from simsoft.case.read import loads
from simsoft.hydrodynamics.rigid_base import CONSTANT
from simsoft.lure.assembly import assemble_whole
from simsoft.lure.chains import stack
from simsoft.lure.free_lure import FreeLure, build_free
from simsoft.lure.parts import assemble
from simsoft.mechanics.inertia import inertia_from_point
from simsoft.mechanics.multibody import Base

STICK = """\
title = "Stick"
[material]
durometer = "55 OO"
[body]
family = "stick-worm"
length = "127 mm"
height = "10 mm"
salt_fraction = "20 %"
[rig.hook]
wire_diameter = "1.2 mm"
gap = "15 mm"
shank = "44 mm"
"""

CREATURE = """\
title = "Creature"
[material]
durometer = "55 OO"
density = "1060 kg/m^3"
[body]
family = "creature"
length = "55 mm"
height = "13 mm"
[rig.hook]
wire_diameter = "1.2 mm"
gap = "15 mm"
shank = "40 mm"
[[parts]]
name = "claw"
kind = "claw"
mirrored = true
length = "36 mm"
width = "12 mm"
thickness = ["1.6 mm", "1.1 mm"]
position = ["54 mm", "3 mm", "0 mm"]
direction = [0.82, 0.57, 0.0]
[[parts]]
name = "leg"
kind = "leg"
length = "20 mm"
diameter = "1.5 mm"
position = ["30 mm", "0 mm", "-4 mm"]
direction = [0.5, 0.0, -0.8]
"""

WORM = (
    STICK
    + """\
[[parts]]
name = "tail"
kind = "ribbon"
length = "30 mm"
width = "6 mm"
thickness = "0.8 mm"
position = ["120 mm", "0 mm", "0 mm"]
"""
)


def whole_of(text):
    """Return the whole lure of a case text."""
    case = loads(text)
    return assemble_whole(case, assemble(case))


def free(text, **options):
    """Return the free lure of a case text."""
    return build_free(whole_of(text), **options)


def bare_base(
    mass, inertia, *, added=(0.0,) * 6, drag=0.0, weight=0.0, buoyancy=0.0, centre=(0, 0, 0)
):
    """Return a base about its eye: a mass with one isotropic-in-axes drag element at its centre."""
    centre = np.asarray(centre, dtype=float)
    own = np.diag([*inertia, mass, mass, mass]).astype(float)
    axes = np.column_stack([[1.0, 0, 0], [0, 0, 1], [0, 1, 0]])  # across x and z, along y
    return Base(
        structure=inertia_from_point(own, centre),
        fluid=inertia_from_point(np.diag(np.asarray(added, dtype=float)), centre),
        weight=weight,
        buoyancy=buoyancy,
        weight_at=centre,
        buoyancy_at=centre,
        drag_at=centre[None],
        drag_axes=axes[None],
        drag=np.array([[drag, drag, 0.0, 0.0, 0.0]]),
        drag_scale=np.zeros(1),
        drag_law=np.array([CONSTANT]),
    )


def alone(base, length=0.05):
    """Return a free lure that is nothing but its base."""
    centre = base.weight_at
    mass = float(base.structure[3, 3])
    tree = stack(base, [], np.zeros(3))
    return FreeLure(
        tree, (), (), np.zeros(1, dtype=np.int64), np.zeros(3), centre, centre, mass,
        base.buoyancy / 9.80665, length, np.zeros(3),
    )  # fmt: skip
