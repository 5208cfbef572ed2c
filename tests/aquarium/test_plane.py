"""A camera off the sweep: its stroke is short by a cosine, and is never called clear."""

import dataclasses
import math

import numpy as np
import pytest
from drawn import tail

from simsoft.aquarium.video.clip import read_clip
from simsoft.aquarium.video.facing import SeenSection
from simsoft.aquarium.video.film import Setting, measure_film
from simsoft.aquarium.video.optics import crossed
from simsoft.cli.film import _of_points, _section
from simsoft.core.errors import InputError
from simsoft.validate.studies.film_clip import Tank, _disc, encode, render

SMALL = dataclasses.replace(tail(sweep=0.003), width=6e-3)  # sweeps 30 px: its length tells nothing
SCALE = 0.2e-3


def filmed(motion, tmp_path, *settings, scale=SCALE):
    """Return stroke and its flags of one clip for every setting."""
    frames, time = render(motion, Tank(scale=scale, seconds=1.2))
    clip = read_clip(encode(frames, time, tmp_path / "clip.mp4"))
    found = []
    for more in settings:
        setting = Setting(view="below", scale=scale, **more)
        stroke = measure_film(clip, setting).measured[1]
        found.append((stroke, {flag.word for flag in stroke.flags}))
    return found


@pytest.mark.parametrize("degrees", [0.0, 10.0, 20.0, 30.0])
def test_a_small_sweep_is_clear_only_where_its_section_says_so(degrees, tmp_path):
    """The stroke of a strip 6 mm wide and 1.2 mm thick; without its section nothing tells."""
    section = {"section": SeenSection(1.2e-3, 6e-3)}
    motion = SMALL.turned(math.radians(degrees))
    (said, flags), (unsaid, others) = filmed(motion, tmp_path, section, {})
    assert not unsaid.clear
    assert others & {"plane", "out-of-plane"}
    if degrees <= 10.0:
        assert said.clear
        assert said.value == pytest.approx(SMALL.stroke(), rel=0.05)
    if degrees >= 20.0:
        assert "out-of-plane" in flags
        assert not said.clear


def test_the_angle_said_is_that_of_the_camera(tmp_path):
    motion = SMALL.turned(math.radians(30.0))
    ((stroke, _),) = filmed(motion, tmp_path, {"section": SeenSection(1.2e-3, 6e-3)})
    text = next(flag.text for flag in stroke.flags if flag.word == "out-of-plane")
    assert "broad side" in text
    assert float(text.split("about ")[1].split(" degrees")[0]) == pytest.approx(30.0, abs=4.0)


@pytest.mark.parametrize(("degrees", "droop"), [(0.0, 0.25), (25.0, 0.25), (30.0, 0.0)])
def test_a_paddle_opens_where_its_sweep_leaves_the_picture(degrees, droop, tmp_path):
    """A drooping paddle shows its face all the time; only its change from end to end tells."""
    motion = tail(length=0.02, sweep=0.004, plate=0.012, thickness=2.5e-3)
    shapes = motion.shapes.copy()
    shapes[..., 2] = droop * shapes[..., 0]
    motion = dataclasses.replace(motion, shapes=shapes)
    ((stroke, flags),) = filmed(motion.turned(math.radians(degrees)), tmp_path, {})
    across = np.ptp(shapes[:, -1, 1])
    assert stroke.value == pytest.approx(across * math.cos(math.radians(degrees)), rel=0.06)
    if degrees:
        assert not stroke.clear
        assert flags & {"out-of-plane", "plane"}
    else:
        assert stroke.clear
        assert stroke.value == pytest.approx(across, rel=0.03)


def test_a_drawn_disc_is_its_projection():
    """Edge on a bar, face on a circle, between an ellipse with the cosine for its short axis."""
    edge = _disc(np.array([1.0, 0.0, 0.0]), 40.0, 4.0)
    assert np.ptp(edge, axis=0) == pytest.approx([4.0, 40.0], rel=0.01)
    face = _disc(np.array([0.0, 0.0, 1.0]), 40.0, 4.0)
    assert np.ptp(face, axis=0) == pytest.approx([40.0, 40.0], rel=0.01)
    half = _disc(np.array([math.sqrt(0.75), 0.0, 0.5]), 40.0, 0.0)
    assert np.ptp(half, axis=0) == pytest.approx([20.0, 40.0], rel=0.01)


def test_two_markers_across_each_other_tell_the_camera(tmp_path):
    along, across = (0.2e-3, 0.003, 0.0), (0.2e-3, 0.003, 1.55)
    assert crossed([along, (0.21e-3, 0.003, 0.3)]) is None
    assert crossed([along, across]).squared == 0.0
    leaning = (0.2e-3 / math.cos(math.radians(20.0)), 0.003, 1.55)
    found = crossed([along, leaning])
    assert found.squared == pytest.approx(math.tan(math.radians(20.0)) ** 2, rel=0.01)
    square = _of_points("0,0 300,0=60 mm; 0,0 0,200=40 mm").cross
    (stroke, _), (off, flags) = filmed(SMALL, tmp_path, {"cross": square}, {"cross": found})
    assert stroke.clear
    assert "out-of-plane" in flags
    assert not off.clear


@pytest.mark.parametrize("words", ["2.4 mm x 5 mm", "2.4 x 5 mm", "0.24 cm x 5mm"])
def test_a_section_is_thickness_by_width(words):
    found = _section(words)
    assert (found.thickness, found.width) == pytest.approx((2.4e-3, 5e-3))


@pytest.mark.parametrize("words", ["5 mm", "5 mm x 2 mm", "2 x 5", "a x b", "0 mm x 5 mm", "x"])
def test_a_wrong_section_is_one_line(words):
    with pytest.raises(InputError, match="--section") as caught:
        _section(words)
    assert len(caught.value.problems) == 1
