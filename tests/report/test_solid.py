"""Pictures show a part with its thickness, no panel of nothing, and one picture of a pair."""

import dataclasses

import numpy as np
import pytest
from matplotlib.figure import Figure

from simsoft.case.read import loads
from simsoft.report.figures.beat import stroboscope, tip_trace
from simsoft.report.figures.hook import hook_pictures
from simsoft.report.figures.run import response
from simsoft.report.figures.solid import draw_solid
from simsoft.report.thickness import Thickness, thickness_of
from simsoft.results.result import RunResult

SOFT = loads(
    """\
title = "Soft bait"
[material]
durometer = "50 OO"
[body]
family = "swim-bait"
length = "80 mm"
height = "15 mm"
width = { at = [0, 0.5, 1], value = ["5 mm", "12 mm", "4 mm"] }
[[parts]]
name = "tail"
kind = "paddle-tail"
length = "10 mm"
width = "5 mm"
thickness = "3 mm"
paddle_diameter = "14 mm"
paddle_thickness = "3 mm"
position = ["80 mm", "0 mm", "0 mm"]
"""
)


def filled(line, edges, paddle, thick, up):
    """Return the outlines that are filled."""
    axes = Figure().subplots()
    draw_solid(axes, line, edges, paddle, thick, up, "k")
    return [patch.get_xy() for patch in axes.patches]


def straight(count=5):
    line = np.zeros((count, 3))
    line[:, 0] = np.linspace(0.0, 0.01, count)
    half = np.array([0.0, 0.0, 0.002])
    return line, np.stack([line - half, line + half], axis=1)


def test_a_stem_from_above_is_as_thick_as_it_tapers():
    thick = Thickness(np.array([0.0, 1.0]), np.array([1e-3, 0.5e-3]), 0.0)
    (outline,) = filled(*straight(), np.zeros((0, 3)), thick, 1)
    assert np.abs(outline[outline[:, 0] < 0.1, 1]) == pytest.approx(1.0)
    assert np.abs(outline[outline[:, 0] > 9.9, 1]) == pytest.approx(0.5)


def test_a_paddle_seen_on_edge_is_as_thick_as_its_plate():
    angle = np.linspace(0.0, 2.0 * np.pi, 24, endpoint=False)
    disc = 0.007 * np.stack([0.0 * angle, np.cos(angle), np.sin(angle)], axis=-1) + [0.01, 0, 0]
    thick = Thickness(np.array([0.0, 1.0]), np.array([1e-3, 1e-3]), 1.5e-3)
    _, plate = filled(*straight(), disc, thick, 2)
    assert np.ptp(plate[:, 0]) == pytest.approx(3.0)
    assert np.ptp(plate[:, 1]) == pytest.approx(14.0)


def test_thickness_is_that_of_the_part_also_for_its_lobes(synthetic_result):
    part = synthetic_result.case.parts[0]
    for name in (part.name, f"{part.name}/left"):
        found = thickness_of(synthetic_result, name, np.array(part.position))
        assert 2.0 * found.values == pytest.approx(np.array(part.thickness.values))
    assert thickness_of(synthetic_result, "other", np.zeros(3)) is None


def test_a_tail_clamped_in_the_body_is_as_thick_as_the_body_there():
    case = SOFT
    result = RunResult(case=case, records=(), warnings=())
    found = thickness_of(result, "tail", np.array([0.04, 0.0, 0.0]))
    assert found.stations[0] == 0.0
    assert found.stations[-1] == 1.0
    body = np.interp(0.5, case.body.width.stations, case.body.width.values)
    assert 2.0 * found.values[0] == pytest.approx(body)
    assert 2.0 * found.values[-1] == case.parts[0].thickness.values[-1]
    own = thickness_of(result, "tail", np.array([0.08, 0.0, 0.0]))
    assert 2.0 * own.values == pytest.approx(np.array(case.parts[0].thickness.values))


def test_pictures_of_a_beat_hold_the_body(synthetic_result):
    trace = synthetic_result.traces[0]
    with_body = stroboscope(trace, (), "", thickness_of(synthetic_result, trace.part, trace.root))
    without = stroboscope(trace)
    for one, other in zip(with_body.axes, without.axes, strict=True):
        assert len(one.patches) > len(other.patches)


def test_a_tip_that_rests_has_no_spectrum(synthetic_result):
    trace = synthetic_result.traces[0]
    assert len(tip_trace(trace, 2.0).axes) == 2
    still = dataclasses.replace(trace, tip=0.0 * trace.tip)
    assert len(tip_trace(still).axes) == 1


def test_a_start_beyond_the_asked_speeds_is_told_at_the_edge(synthetic_result):
    far = tuple(
        dataclasses.replace(r, value=9.0, low=8.0, high=10.0)
        if r.quantity == "start_speed" else r
        for r in synthetic_result.records
    )  # fmt: skip
    figure = response(dataclasses.replace(synthetic_result, records=far), "tail")
    speeds = [r.at["speed"] for r in far if "speed" in r.at]
    assert figure.axes[-1].get_xlim()[1] == pytest.approx(1.05 * max(speeds))
    assert any("start 9 m/s" in text.get_text() for text in figure.axes[0].texts)


def test_what_is_nothing_at_every_speed_has_no_panel(synthetic_result):
    still = tuple(
        dataclasses.replace(r, value=0.0, low=0.0, high=0.0)
        if r.quantity == "stroke" and r.value is not None else r
        for r in synthetic_result.records
    )  # fmt: skip
    figure = response(dataclasses.replace(synthetic_result, records=still), "tail")
    assert not [axes for axes in figure.axes if "Stroke" in axes.get_ylabel()]


def test_a_pair_that_comes_equally_near_has_one_hook_picture(synthetic_result):
    from pages import whole_lure

    lure = whole_lure(synthetic_result)
    left = dataclasses.replace(lure.closest[0], part="claw/left")
    pair = (left, dataclasses.replace(left, part="claw/right"))
    names = [words for words, _ in hook_pictures(dataclasses.replace(lure, closest=pair))]
    assert names == [("hook", "stream", "claw/left")]
    nearer = (left, dataclasses.replace(left, part="claw/right", margin=0.001))
    assert len(hook_pictures(dataclasses.replace(lure, closest=nearer))) == 2
