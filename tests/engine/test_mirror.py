"""A mirrored part is two strips, each the reflection of the other in y = 0."""

from dataclasses import replace

import numpy as np
import pytest
from physics import case_of, close, strip_part

from simsoft.geometry.stations import lobes, mirror_image
from simsoft.lure.parts import Specimen, assemble, values_of
from simsoft.lure.rod_model import build_rod
from simsoft.mechanics.kinematics import place
from simsoft.mechanics.rotation import quaternion_from_vector

REFLECTION = np.array([1.0, -1.0, 1.0])
ASIDE = {
    "position": (0.05, 0.004, 0.001),
    "direction": (0.8, 0.6, 0.0),
    "width_axis": (0.0, 0.0, 1.0),
    "mirrored": True,
}


def nodes_of(part):
    """Return the moulded node positions (N, 3) [m]."""
    lure = assemble(case_of(part))
    strip = lure.strips[0]
    rod = build_rod(Specimen(strip, lure.water, values_of(strip), gravity=False, elements=16))
    turn = np.zeros((16, 4))
    for k in range(16):
        quaternion_from_vector(rod.natural[k], turn[k])
    node = np.zeros((16, 3))
    place(rod, turn, np.zeros((16, 3, 3)), np.zeros((16, 3, 3)), np.zeros((16, 3)), node)
    return node


@pytest.mark.parametrize(
    "bends",
    [
        {"arc_angle": 1.2},
        {"arc_angle": 3.0, "curl": "in-plane"},
        {"arc_angle": -3.0, "curl": "in-plane"},
        {"set_angle": 0.8, "set_fraction": 0.5},
        {"direction": (0.6, 0.48, 0.64), "width_axis": (-0.8, 0.36, 0.48), "arc_angle": 1.0},
    ],
)
def test_the_second_strip_is_the_mirror_image(bends):
    (_, stated), (_, image) = lobes(strip_part(**(ASIDE | bends)))
    assert nodes_of(image) == close(nodes_of(stated) * REFLECTION, rel=1e-12)


def test_names_say_the_side_seen_from_the_nose_downstream():
    pair = strip_part(**ASIDE)
    (left, stated), (right, image) = lobes(pair)
    assert (left, right) == ("strip/left", "strip/right")
    assert stated == replace(pair, mirrored=False)
    assert (image.position, image.direction) == ((0.05, -0.004, 0.001), (0.8, -0.6, 0.0))
    assert image.width_axis == (0.0, 0.0, 1.0)
    names = [name for name, _ in lobes(mirror_image(pair))]
    assert names == ["strip/right", "strip/left"]
    central = replace(pair, position=(0.0, 0.0, 0.0), direction=(0.8, -0.6, 0.0))
    assert [name for name, _ in lobes(central)] == ["strip/right", "strip/left"]


def test_loads_on_the_tip_are_reflected_and_twice_is_none():
    part = strip_part(
        tip_force=(1.0, 2.0, 3.0), tip_moment=(1.0, 2.0, 3.0), follower_force=(1.0, 2.0, 3.0)
    )
    image = mirror_image(part)
    assert image.tip_force == (1.0, -2.0, 3.0)
    assert image.tip_moment == (-1.0, 2.0, -3.0)
    assert image.follower_force == (-1.0, 2.0, 3.0)
    assert mirror_image(image) == part


def test_a_pair_of_forks_is_four_lobes():
    pair = strip_part(kind="fork-tail", fork_angle=0.5, **ASIDE)
    found = lobes(pair)
    assert [name for name, _ in found] == [
        "strip/left/upper",
        "strip/left/lower",
        "strip/right/upper",
        "strip/right/lower",
    ]
    for (_, stated), (_, image) in zip(found[:2], found[2:], strict=True):
        assert image.direction == pytest.approx(tuple(stated.direction * REFLECTION))


def test_a_part_alone_stays_alone():
    assert lobes(strip_part()) == [("strip", strip_part())]
