"""Sizes read from meshes of known baits, as they are and after what happens to meshes."""

import baits
import damages
import measures
import numpy as np
import pytest
from sizes import ALLOWED

NAMES = [bait.name for bait in baits.all_baits()]
FEW = [("kicker", "turned"), ("booted", "plain"), ("hook", "inches"), ("minnow", "torn"),
       ("pincer", "inside_out"), ("pennant", "soup"), ("finesse", "doubled")]  # fmt: skip


def check(bait, understood):
    found = measures.errors(bait, understood)
    off = {name: float(v) for name, v in found.items() if not abs(v) <= ALLOWED[name]}
    assert not off


@pytest.mark.parametrize(("name", "damage"), FEW)
def test_sizes_of_a_few_baits(bait, read_bait, name, damage):
    check(bait(name), read_bait(name, damage))


@pytest.mark.slow
@pytest.mark.parametrize("damage", damages.ALL)
@pytest.mark.parametrize("name", NAMES)
def test_sizes_of_thirty_baits_after_eight_damages(bait, read_bait, name, damage):
    check(bait(name), read_bait(name, damage))


def test_the_measures_see_a_wrong_size(bait, read_bait):
    wrong = bait("kicker")
    wrong.truth["thickness"] += 0.1
    try:
        with pytest.raises(AssertionError):
            check(wrong, read_bait("kicker", "turned"))
    finally:
        wrong.truth["thickness"] -= 0.1


def test_the_narrowest_section_is_the_softest_not_the_smallest():
    """A stem with a flat, wide waist and a thin round one: the flat one bends."""
    from simsoft.drawn.stem import narrowest, second_moment

    flat = baits.straight([0, 0, 0], [1, 0, 0], [0, 0, 1], 5, [9, 9], [1.2, 1.2], lead=0)
    thin = baits.straight([15, 0, 0], [1, 0, 0], [0, 0, 1], 5, [2.4, 2.4], [2.4, 2.4], lead=0)
    thick = [
        baits.straight([a, 0, 0], [1, 0, 0], [0, 0, 1], b, [8, 8], [8, 8], lead=0)
        for a, b in ((-40, 40), (5, 10), (20, 10))
    ]
    solid = (flat + thin + sum(thick[1:], thick[0])).translate([40, 0, 0])
    x = np.linspace(0.6, 69.6, 139)
    k = narrowest(x, second_moment(solid, x))
    assert 40 < x[k] < 45
    areas = [section.area() for section in _sections(solid, x)]
    assert 55 < x[int(np.argmin(areas))] < 60


def _sections(solid, x):
    from simsoft.case.shapes.slices import slices

    return slices(solid, x)


def test_ribs_and_a_hook_slot_are_noticed(read_bait):
    rings = read_bait("rings").trunk
    assert rings.rib_depth == pytest.approx(1.5, abs=0.1)
    assert rings.rib_pitch == pytest.approx(4.0, abs=0.1)
    wide, tall, start, end = read_bait("slotted").trunk.slot
    assert (wide, start, end) == pytest.approx((2.5, 25.0, 60.0), abs=0.3)
    assert tall == pytest.approx(8.1, abs=0.5)
    assert read_bait("plank").trunk.slot == ()
    assert read_bait("plank").trunk.rib_depth == 0.0


def test_legs_and_claws_are_pairs(read_bait):
    parts = read_bait("craw").parts
    assert {part.kind for part in parts} == {"claw", "leg"}
    assert all(part.mirrored for part in parts)
    leg = measures.nearest_part(read_bait("craw"), "leg")
    assert leg.width == pytest.approx(np.full(len(leg.width), 1.8), abs=0.03)
    assert leg.direction[:2] == pytest.approx([0.5, 0.866], abs=0.01)


@pytest.mark.parametrize(
    ("name", "family"),
    [("kicker", "swim-bait"), ("hook", "grub"), ("pincer", "creature"), ("finesse", "worm"),
     ("rings", "stick-worm"), ("plank", "flat-sided")],
)  # fmt: skip
def test_families(read_bait, name, family):
    damage = {"kicker": "turned", "hook": "inches", "pincer": "inside_out", "finesse": "doubled"}
    assert read_bait(name, damage.get(name, "plain")).trunk.family == family
