"""Which side is up: told by the mesh, or asked; never rolled wrong without a word."""

import re

import baits
import flat_baits
import numpy as np
import pytest
import sizes
from scipy.spatial.transform import Rotation

from simsoft.core.errors import InputError
from simsoft.drawn.axes import axis_word, direction
from simsoft.drawn.export import write_triangles
from simsoft.drawn.understand import understand

UP, NOSE = np.array([0.0, 0.0, 1.0]), np.array([-1.0, 0.0, 0.0])
AS_DRAWN, ON_EDGE = np.eye(3), Rotation.from_euler("x", 90, degrees=True).as_matrix()
OBLIQUE = Rotation.from_euler("xyz", [130, 25, 70], degrees=True).as_matrix()
MIRRORED = np.diag([1.0, 1.0, -1.0])
TURNS = {
    "as drawn": AS_DRAWN, "on edge": ON_EDGE, "oblique": OBLIQUE, "mirrored": OBLIQUE @ MIRRORED
}  # fmt: skip
SIGNED = (
    "hanging paddle", "hanging paddle of a fish", "hanging a little", "slot alone",
    "slot and claws", "upright curl",
)  # fmt: skip
ROUND = ("stick", "finesse", "rings")  # of the thirty: every side may be up
SQUARE = np.cos(np.radians(3.0))


class Maker:
    """Whoever is asked: answers with one of the words that the question holds, and remembers."""

    def __init__(self, path, turn, either):
        self.path, self.turn, self.either, self.asked = path, turn, either, []

    def reads(self):
        answers = {}
        for _ in range(3):
            try:
                return understand(self.path, **answers)
            except InputError as question:
                (line,) = question.problems
            assert "\n" not in line
            key = "nose" if "which end is the nose?" in line else "up"
            assert key not in answers, line
            self.asked.append(key)
            if key == "nose":
                answers[key] = axis_word(self.turn @ NOSE)
            else:
                assert "which side is up?" in line, line
                words = re.findall(r"--up (\S+)", line)
                assert len(words) == 2
                answers[key] = max(words, key=self.near)
        raise AssertionError("asked without end")

    def near(self, word):
        along = float(direction(word) @ self.turn @ UP)
        return abs(along) if self.either else along


def placed(tmp_path, solid, turn, either=True, roughness=0.0):
    """Return what is understood of a turned bait, and what was asked for."""
    points, faces = baits.arrays(solid)
    if roughness:
        points, faces = baits.arrays(solid.refine_to_length(1.0))
        points = points + np.random.default_rng(1).normal(scale=roughness, size=points.shape)
    faces = faces if np.linalg.det(turn) > 0.0 else faces[:, ::-1]
    write_triangles(points @ turn.T + [3.0, -2.0, 1.0], faces, tmp_path / "a.stl")
    maker = Maker(tmp_path / "a.stl", turn, either)
    return maker.reads(), maker.asked


def lies_right(found, turn, either):
    up = float(found.axes[2] @ turn @ UP)
    return (abs(up) if either else up) > SQUARE and found.axes[0] @ turn @ NOSE < -SQUARE


def each_turned():
    """Return every flat bait's name with one turn of the four in its turn."""
    names = [*flat_baits.KNOWN, *flat_baits.ROLLED, *flat_baits.OVER]
    return [(name, list(TURNS)[k % len(TURNS)]) for k, name in enumerate(names)]


def judged(tmp_path, name, turn, roughness=0.0):
    """Read a flat bait; it lies right, and was asked for where its mesh cannot tell."""
    either = name not in SIGNED and name not in flat_baits.OVER
    made = {**flat_baits.KNOWN, **flat_baits.ROLLED, **flat_baits.OVER}[name]()
    found, asked = placed(tmp_path, made, turn, either, roughness)
    assert ("up" in asked) == (name not in flat_baits.KNOWN)
    assert lies_right(found, turn, either)


@pytest.mark.parametrize(("name", "turn"), each_turned())
def test_a_flat_bait_is_rolled_right_or_asked_for(tmp_path, name, turn):
    judged(tmp_path, name, TURNS[turn])


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("name", dict(each_turned()))
def test_no_flat_bait_is_rolled_wrong_however_it_lies_and_scanned(tmp_path, name, seed):
    turn = Rotation.random(rng=seed).as_matrix() @ (MIRRORED if seed % 2 else AS_DRAWN)
    judged(tmp_path, name, turn, 0.02 * (seed > 2))


def thirty_asked(tmp_path, names):
    """Return which of the thirty baits are asked for; all of them lie right."""
    asked = set()
    for bait in baits.all_baits():
        if bait.name in names:
            found, questions = placed(tmp_path, bait.solid, OBLIQUE)
            asked |= {bait.name} if "up" in questions else set()
            shows = any(bait.truth.get(key) for key in ("offset", "arc_angle", "slot"))
            assert lies_right(found, OBLIQUE, either=not shows), bait.name
    return asked


def test_of_a_few_of_thirty_only_the_plain_plank_is_asked_for(tmp_path):
    few = ("kicker", "centred", "hook", "streamer", "flat", "craw", "slotted", "plank")
    assert thirty_asked(tmp_path, few) == {"plank"}


@pytest.mark.slow
def test_of_thirty_only_the_plain_plank_is_asked_for(tmp_path):
    names = {bait.name for bait in baits.all_baits()} - set(ROUND)
    assert thirty_asked(tmp_path, names) == set(sizes.ASKED_UP) == {"plank"}


def test_a_note_says_what_is_assumed_of_up(tmp_path):
    tails = {
        "curl": baits.curl_bait("", 34, 11, 44, 170, [7, 9, 5], [1.3, 0.7], (0, 0.6, 1)),
        "flat": baits.ribbon_bait("", "worm", 80, 8, 65, [7, 7], [0.9, 0.6]),
        "fork": baits.fork_bait("", "swim-bait", 75, 15, None, 24, [7, 4], [1.8, 1.0], 30),
    }
    words = {"curl": "is taken to turn up", "flat": "flat tail is taken to stand upright",
             "fork": "its fork stands upright"}  # fmt: skip
    for name, bait in tails.items():
        found, _ = placed(tmp_path, bait.solid, AS_DRAWN)
        (note,) = [note for note in found.notes if note.startswith("CHECK up: ")]
        assert words[name] in note


@pytest.mark.parametrize("word", ["0.5,0.87", "q", "+-z", "0,0,0", "1e9,0,0", "nan,0,1", ""])
def test_a_direction_is_an_axis_or_three_numbers(word):
    with pytest.raises(ValueError, match="is no axis of the file; allowed are"):
        direction(word)


@pytest.mark.parametrize("vector", [[0, 0, -1], [0.6, -0.8, 0], [0.36, 0.48, 0.8]])
def test_a_word_comes_back_as_its_direction(vector):
    assert direction(axis_word(np.array(vector, float))) == pytest.approx(vector, abs=0.01)
