"""Pairs of claws: found whichever way the mesh lies, and where both leave one root."""

import baits
import numpy as np
import pytest
from flat_baits import chunk, claws
from scipy.spatial.transform import Rotation

from simsoft.case.read import loads
from simsoft.drawn.case_text import case_text
from simsoft.drawn.export import write_triangles
from simsoft.drawn.rear import cut_behind
from simsoft.drawn.thin import thin_parts
from simsoft.drawn.understand import understand

SEEDS = (0, 1, 2)
NECK, PAD, THICK, LENGTH = 4.0, 12.0, 1.4, 30.0  # mm, of the claws that `claws` makes


def turned(seed):
    return np.eye(3) if seed is None else Rotation.random(rng=seed).as_matrix()


def reads(folder, solid, turn, told=True, roughness=0.0):
    """Return what is understood of a turned bait whose maker says which side is up, or not."""
    points, faces = baits.arrays(solid)
    if roughness:
        points, faces = baits.arrays(solid.refine_to_length(1.0))
        points = points + np.random.default_rng(1).normal(scale=roughness, size=points.shape)
    write_triangles(points @ turn.T + [3.0, -2.0, 1.0], faces, folder / "a.stl")
    up = ",".join(f"{v:.4f}" for v in turn @ [0, 0, 1]) if told else None
    found = understand(folder / "a.stl", up=up)
    loads(case_text(found, "a.html", "b.stl"), "a.toml")
    return found


def only_pair(found):
    (part,) = found.parts
    assert (part.kind, part.mirrored) == ("claw", True)
    return part


@pytest.mark.parametrize("seed", [None, *SEEDS])
@pytest.mark.parametrize("rise", [0.3, -0.2])
def test_raised_claws_are_a_pair_however_they_lie(tmp_path, seed, rise):
    solid = chunk() + claws([54, 4, 8.0 * rise], rise=rise)
    part = only_pair(reads(tmp_path, solid, turned(seed)))
    way = np.array([np.cos(np.radians(25)), np.sin(np.radians(25)), rise])
    assert part.direction == pytest.approx(way / np.linalg.norm(way), abs=0.01)
    assert part.length == pytest.approx(LENGTH - 1.2, abs=0.3)
    assert part.width.max() == pytest.approx(PAD, abs=0.1)
    assert np.median(part.thickness) == pytest.approx(THICK, abs=0.03)
    assert part.notes == ()


def test_raised_claws_of_a_scan_are_a_pair(tmp_path):
    solid = chunk() + claws([54, 4, 2.5], rise=0.3)
    only_pair(reads(tmp_path, solid, turned(0), roughness=0.02))


@pytest.mark.parametrize("lean", [0.0, 0.002, 0.02])
def test_a_film_of_a_leaning_end_joins_no_claws(lean):
    solid = (chunk() + claws([54, 4, 2.5], rise=0.3)).rotate([0, np.degrees(lean), 0])
    cuts = cut_behind(solid, thin_parts(solid))[1]
    assert len(cuts) == 2
    assert sorted(cut.root[1] for cut in cuts) == pytest.approx([-4.5, 4.5], abs=0.2)


@pytest.mark.parametrize("seed", [None, *SEEDS[:2]])
@pytest.mark.parametrize(("wide", "splay"), [("flat", 40), ("upright", 25)])
def test_claws_of_one_root_are_a_pair_and_said_to_share_it(tmp_path, seed, wide, splay):
    solid = chunk() + claws([54, 0, 0], splay=splay, wide=wide)
    part = only_pair(reads(tmp_path, solid, turned(seed)))
    found = np.degrees(np.arctan2(part.direction[1], part.direction[0]))
    assert found == pytest.approx(splay, abs=2.0)
    assert part.width.max() == pytest.approx(PAD, abs=0.2)
    assert np.median(part.thickness) == pytest.approx(THICK, abs=0.05)
    assert "CHECK two that share one root" in part.notes[0]
    assert 0.3 < part.root_doubt < 3.0


def test_claws_of_one_root_on_a_round_trunk_lie_to_the_sides(tmp_path):
    solid = baits.body("creature", 55, 13) + claws([54, 0, 0], splay=40)
    for seed in SEEDS[:2]:
        found = reads(tmp_path, solid, turned(seed), told=False)
        only_pair(found)
        assert any(note.startswith("CHECK up") and "claws" in note for note in found.notes)


@pytest.mark.parametrize("rise", [0.0, 0.3])
def test_pads_that_hang_together_are_said_to_be_cut_apart(tmp_path, rise):
    """At 25 deg the pads of one root lie over each other to half their length."""
    (part,) = reads(tmp_path, chunk() + claws([54, 0, 0], rise=rise), turned(1)).parts
    assert part.mirrored
    assert "CHECK two that hang together over 4" in part.notes[0]


def test_a_level_fork_is_a_pair_of_strips_of_its_lobes_sizes(tmp_path):
    c, s = np.cos(np.radians(30)), np.sin(np.radians(30))
    solid = chunk()
    for sign in (1, -1):
        flat = [-sign * s, c, 0]
        solid += baits.straight([55, 0, 0], [c, sign * s, 0], flat, 30, [8, 4], [1.6, 1.0])
    (part,) = reads(tmp_path, solid, turned(2)).parts
    assert (part.kind, part.mirrored) == ("strip", True)
    assert part.length == pytest.approx(30.0, abs=0.2)
    at = np.linspace(0.1, 0.9, 5)
    assert np.interp(at, part.at, part.width) == pytest.approx(8 - 4 * at, abs=0.1)
    assert np.interp(at, part.at, part.thickness) == pytest.approx(1.6 - 0.6 * at, abs=0.05)
    assert part.direction == pytest.approx([c, s, 0.0], abs=0.01)


def test_an_upright_fork_whose_lobes_have_pads_wants_a_look(tmp_path):
    solid = chunk(55, 13, 13) + claws([54, 0, 0], splay=40).rotate([90, 0, 0])
    (part,) = reads(tmp_path, solid, np.eye(3)).parts
    assert part.kind == "fork-tail"
    assert "are they claws? Then read it again with --up" in part.notes[-1]
