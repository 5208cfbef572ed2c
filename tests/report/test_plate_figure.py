"""Pictures of plates: one panel a mode or a phase, the beat's own positions in them."""

import dataclasses

import numpy as np
from mpl_toolkits.mplot3d.axes3d import Axes3D

from simsoft.report.figures.plates import plate_pictures
from simsoft.results.result import Surface

QUADS = np.array([[0, 2, 3, 1]])
FLAT = np.array([[0.0, -0.01, 0.0], [0.0, 0.01, 0.0], [0.03, -0.01, 0.0], [0.03, 0.01, 0.0]])


def raised(height):
    return FLAT + np.array([0.0, 0.0, height]) * (FLAT[:, :1] > 0.0)


def test_one_picture_of_all_modes_and_one_of_each_beat(synthetic_result):
    modes = [
        Surface("tank", "fin", "mode", f"mode {i}", QUADS, np.stack([FLAT, raised(0.01 * i)]))
        for i in (1, 2)
    ]
    phases = np.stack([raised(h) for h in (0.0, 0.01, 0.0, -0.01)])
    beat = Surface("stream", "fin", "beat", "beat at 0.4 m/s, 5 Hz", QUADS, phases)
    shown = dataclasses.replace(synthetic_result, surfaces=(*modes, beat))
    found = dict(plate_pictures(shown))
    assert set(found) == {("modes", "tank", "fin"), ("beat", "stream", "fin", "0.4")}
    for words, panels in ((("modes", "tank", "fin"), 2), (("beat", "stream", "fin", "0.4"), 4)):
        axes = [a for a in found[words].axes if isinstance(a, Axes3D)]
        assert len(axes) == panels
        low, high = axes[0].get_zlim()
        assert low < -9.0 or words[0] == "modes"
        assert high > 9.0
        assert all(a.get_zlim() == (low, high) for a in axes)


def test_a_run_without_plates_has_none(synthetic_result):
    assert not list(plate_pictures(synthetic_result))
