"""Shapes that a simple rule would take for something else."""

import baits
import measures
import numpy as np
import pytest
from manifold3d import CrossSection, Manifold
from scipy.spatial.transform import Rotation

from simsoft.case.read import loads
from simsoft.drawn.case_text import case_text
from simsoft.drawn.export import write_triangles
from simsoft.drawn.understand import understand


@pytest.fixture
def reading(tmp_path):
    def read(solid, **answers):
        write_triangles(*baits.arrays(solid), tmp_path / "a.stl")
        found = understand(tmp_path / "a.stl", **answers)
        loads(case_text(found, "a.html", "b.stl"), "a.toml")
        return found

    return read


def smooth_fish(length=95.0, stem=14.0):
    """Return a fish with a deep belly whose tail runs smoothly into its stem."""
    u = np.linspace(0.0, 1.0, 80)
    merge = np.clip((u - 0.6) / 0.4, 0.0, 1.0)
    merge = merge * merge * (3.0 - 2.0 * merge)
    height = (20.0 * np.sin(np.pi * (0.93 * u + 0.05)) ** 0.8 + 1.0) * (1 - merge) + 5.0 * merge
    width = (13.0 * np.sin(np.pi * (0.9 * u + 0.07)) ** 0.9 + 1.0) * (1 - merge) + 2.6 * merge
    low = -2.5 * np.sin(np.pi * u) * (1 - merge)
    rows = np.column_stack([np.r_[u * length, length + stem], np.r_[height, 4.6],
                            np.r_[width, 2.4], np.r_[low, 0.0]])  # fmt: skip
    rings = [
        np.column_stack([np.full(64, x), baits.oval(h, w, 64) + np.array([0.0, z])])
        for x, h, w, z in rows
    ]
    return baits.loft(rings) + baits.paddle([length + stem, 0, 0], "boot", 14, 20, 3, 84, 6)


TURN = np.linspace(0.0, 0.48 * np.pi, 12)
ROUNDED = [
    *zip([0, 10, 28, 50], [3, 12, 18, 13], [2.5, 8, 11, 8], strict=True),
    *zip(68 + np.sin(TURN), 6 * np.cos(TURN), 5 * np.cos(TURN), strict=True),
]  # x, height, width


@pytest.mark.parametrize("seed", [None, 3])
def test_a_trunk_that_runs_smoothly_into_its_stem(reading, seed):
    solid = smooth_fish()
    if seed is not None:
        turn = Rotation.random(rng=seed).as_matrix()
        solid = solid.transform(np.column_stack([turn, [1.0, 2.0, 3.0]]))
    found = reading(solid)
    assert [part.kind for part in found.parts] == ["paddle-tail"]
    plate = found.parts[0].plate
    assert (plate.width, plate.height, plate.thickness) == pytest.approx((14, 20, 3), abs=0.05)
    assert plate.angle == pytest.approx(84.0, abs=2.0)
    assert plate.offset == pytest.approx(6.0, abs=0.3)
    assert any("middle line rises" in note for note in found.trunk.notes)
    part = found.parts[0]
    assert part.root_doubt > 3.0
    assert "no shoulder" in part.notes[0]
    assert f"+-{part.root_doubt:.2g} mm, stem" in case_text(found, "a.html", "b.stl")


@pytest.mark.parametrize("thin", [2.2, 1.9])
def test_a_stem_that_tapers_from_its_shoulder_is_read_from_there(reading, thin):
    """At its root it is six to nine times as stiff as at its thinnest; the taper is no shoulder."""
    root, at = [78.0, 0, 0], [0, 0.55, 1]
    stem = baits.straight(root, [1, 0, 0], [0, 0, 1], 13.0, [5, 5, 5], [4, thin, 2.6], at=at)
    solid = baits.body("grub", 78, 17, width=12) + stem
    part = reading(solid + baits.paddle([90, 0, 0], "boot", 10, 13, 2.5, 90, 2)).parts[0]
    assert part.length == pytest.approx(12.0, abs=0.2)
    assert part.thickness[0] == pytest.approx(3.9, abs=0.1)
    assert part.root_doubt == 0.0
    assert part.notes == ()


@pytest.mark.parametrize("thick", [1.8, 2.4, 3.0])
def test_a_rounded_shoulder_is_a_shoulder_however_thick_the_stem(reading, thick):
    """A trunk that ends within 1 mm, as a ball's quarter does; a thicker stem moves no root."""
    rings = [np.column_stack([np.full(48, x), baits.oval(h, w)]) for x, h, w in ROUNDED]
    stem = baits.straight([69, 0, 0], [1, 0, 0], [0, 0, 1], 12.4, [4.6, 4.6], [thick] * 2)
    solid = baits.loft(rings) + stem + baits.paddle([81, 0, 0], "disc", 14, 14, 2.8, 88, 2.5)
    part = reading(solid).parts[0]
    assert part.length == pytest.approx(12.0, abs=0.6)
    assert part.notes == ()


def test_a_flat_bent_across_itself_is_no_paddle(reading):
    turn = np.radians(200.0) * np.linspace(0.0, 1.0, 61)
    radius = 40.0 / np.radians(200.0)
    line = np.column_stack([34 + radius * np.sin(turn), radius * (1 - np.cos(turn)), 0 * turn])
    deep = np.column_stack([-np.sin(turn), np.cos(turn), 0 * turn])
    line, deep = np.vstack([[33.0, 0.0, 0.0], line]), np.vstack([deep[:1], deep])
    wide = np.tile([0.0, 0.0, 1.0], (62, 1))
    thick = np.linspace(1.4, 0.8, 62)
    curl = baits.strip(line, wide, deep, np.full(62, 8.0), thick)
    found = reading(baits.body("grub", 34, 11) + curl)
    part = measures.nearest_part(found, "curl-tail")
    assert part.curl == "across"
    assert abs(part.arc_angle) == pytest.approx(200.0, abs=2.0)
    assert part.length == pytest.approx(40.0, abs=0.2)


def test_two_sickles_are_no_fork(reading):
    one = baits.sickle([34, 0, 2], 30, 150, [5, 5], [1.2, 0.8])
    found = reading(baits.body("grub", 34, 11) + one + one.mirror([0, 0, 1]))
    assert [part.kind for part in found.parts] == ["curl-tail"] * 2
    arcs = sorted(part.arc_angle for part in found.parts)
    assert arcs == pytest.approx([-150.0, 150.0], abs=2.0)


def test_claws_that_lie_flat_are_a_pair_to_the_sides(reading):
    solid = baits.body("creature", 55, 13)
    for sign in (1, -1):
        solid += baits.straight(
            [54, sign * 2.5, 0], [0.9, sign * 0.43, 0], [-0.43 * sign, 0.9, 0], 32,
            [4, 4, 13, 13, 8], [1.4] * 5, at=(0, 0.2, 0.3, 0.9, 1),
        )  # fmt: skip
    (part,) = reading(solid).parts
    assert part.kind == "claw"
    assert part.mirrored
    assert abs(part.width_axis[1]) > 0.8


def pincer(side):
    """Return a flat claw that ends in two pincers of unlike length, splayed to a side."""
    rim = [(0, -2), (9, -2), (16, -7), (34, -5), (38, 0), (30, 1), (34, 5), (16, 7), (9, 2), (0, 2)]
    claw = CrossSection([np.array(rim, float)]).extrude(1.6).translate([0, 0, -0.8])
    return claw.rotate([0, 0, 28 * side]).translate([47, 5 * side, 0])


def test_a_claw_with_pincers_is_said_to_be_no_strip(reading):
    found = reading(baits.body("creature", 52, 11, 21) + pincer(1) + pincer(-1))
    (part,) = found.parts
    assert part.mirrored
    assert "CHECK its outline is no strip of one middle line" in part.notes[-1]
    assert (part.width > 0.0).all()
    straight = baits.creature_bait("", 55, 13, (36, 16, 1.6, 5, 1.5), 35).solid
    assert not any(part.notes for part in reading(straight).parts)


def test_a_hollow_tube_is_a_trunk_and_said_to_be_hollow(reading):
    tube = Manifold.cylinder(80, 7, 7, 64) - Manifold.cylinder(70, 5, 5, 64).translate([0, 0, 15])
    found = reading(tube.rotate([0, 90, 0]), nose="-x")
    assert found.parts == ()
    assert found.trunk.length == pytest.approx(80.0, abs=0.01)
    assert any("hollow" in note for note in found.trunk.notes)


def test_eyes_and_a_back_fin_stay_with_the_trunk(reading):
    solid = smooth_fish()
    for side in (1, -1):
        solid += Manifold.sphere(1.5, 32).translate([12, side * 4.5, 0])
    fin = Manifold.cube([25, 1, 22]).translate([35, -0.5, -5])
    found = reading(solid + fin)
    assert [part.kind for part in found.parts] == ["paddle-tail"]


def test_an_even_sickle_whose_end_faces_aft_is_no_paddle(reading):
    """Two ends of an arc face fore and aft, square to the long axis: they make no plate."""
    tail = baits.sickle([38, 0, 0], 42, 150, [6.5, 6.5], [1.2, 1.2])
    part = measures.nearest_part(reading(baits.body("grub", 38, 11.6) + tail), "curl-tail")
    assert part.arc_angle == pytest.approx(150.0, abs=2.0)
    assert part.length == pytest.approx(42.0, abs=0.2)
