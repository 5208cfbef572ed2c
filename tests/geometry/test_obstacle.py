"""Bare wire of a hook: its spots by the turn of the wire, what a body covers."""

import numpy as np
import pytest

from simsoft.case.model import BodyInput, HookInput, Taper
from simsoft.case.shapes.hook import hook_path
from simsoft.geometry.bare_wire import PIECE, SPOTS, bare_wire, covered, wire_spots

PATH = hook_path(0.015, 0.040, offset=0.004)
HOOK = HookInput(0.0012, PATH)
ROUND = BodyInput("worm", 0.1, Taper((0.0, 1.0), (0.01, 0.01)), Taper((0.0, 1.0), (0.006, 0.006)))


def total(wire, name):
    mine = wire.spot == SPOTS.index(name)
    return float(np.linalg.norm(wire.end[mine] - wire.start[mine], axis=1).sum())


def test_a_hook_is_shank_bend_and_point():
    """The shank lies at the bottom, the point leg one gap above it, the bend behind both."""
    spots = wire_spots(np.asarray(PATH))
    assert (spots[0], spots[-1]) == (SPOTS.index("shank"), SPOTS.index("point"))
    assert (np.diff(spots) >= 0).all()
    wire = bare_wire(HOOK, None)
    middle = 0.5 * (wire.start + wire.end)
    bend = middle[wire.spot == SPOTS.index("bend")]
    assert bend[:, 0].min() >= 0.040
    assert bend[:, 0].max() == pytest.approx(0.0475, abs=1e-4)
    point = middle[wire.spot == SPOTS.index("point")]
    assert point[:, 2].max() == pytest.approx(0.011, abs=1e-4)
    assert np.linalg.norm(wire.end - wire.start, axis=1).max() <= PIECE * (1.0 + 1e-12)
    assert sum(total(wire, name) for name in SPOTS) == pytest.approx(
        float(np.linalg.norm(np.diff(np.asarray(PATH), axis=0), axis=1).sum())
    )


def test_a_straight_wire_is_all_shank():
    assert (wire_spots(np.array([[0.0, 0, 0], [0.01, 0, 0], [0.02, 0, 0]])) == 0).all()


def test_wire_inside_the_body_is_not_bare():
    """A shank 4 mm below the axis of a body 5 mm deep lies inside it, the point does not."""
    wire = bare_wire(HOOK, ROUND)
    assert total(wire, "shank") < 0.01
    assert total(wire, "point") == pytest.approx(total(bare_wire(HOOK, None), "point"))


def test_sections_cover_what_lies_inside_their_outline():
    inside = np.array([[0.05, 0.0, 0.0049], [0.05, 0.0029, 0.0], [0.0, 0.0, 0.0]])
    outside = np.array(
        [[0.05, 0.0, 0.0051], [0.05, 0.0025, 0.0035], [-0.001, 0.0, 0.0], [0.101, 0.0, 0.0]]
    )
    assert covered(ROUND, inside).all()
    assert not covered(ROUND, outside).any()
    box = BodyInput(**{**ROUND.__dict__, "section": "rectangle"})
    assert covered(box, outside[1:2]).all()


def test_a_hook_inside_a_thick_body_leaves_no_bare_wire():
    thick = Taper((0.0, 1.0), (0.05, 0.05))
    assert len(bare_wire(HOOK, BodyInput("worm", 0.1, thick, thick)).spot) == 0
