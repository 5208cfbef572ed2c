"""Pictures: what they show, and that they are written whole."""

import dataclasses
import os

import numpy as np
import pytest

from simsoft.core.errors import OutputError
from simsoft.report.figures import beat
from simsoft.report.figures import run as figures
from simsoft.results.record import Record

PNG = b"\x89PNG\r\n\x1a\n"


def labels(figure):
    return {text.get_text() for legend in figure.legends for text in legend.get_texts()}


def test_stroboscope_has_two_views_with_equal_axes_in_mm(synthetic_result):
    trace, shapes = synthetic_result.traces[1], synthetic_result.shapes
    figure = beat.stroboscope(trace, [shapes[0], shapes[2]], "tail at 0.5 m/s")
    above, side = figure.axes
    assert [axes.get_aspect() for axes in figure.axes] == [1.0, 1.0]
    assert (above.get_ylabel(), side.get_ylabel()) == ("to the side [mm]", "up [mm]")
    assert side.get_xlabel() == "downstream [mm]"
    assert labels(figure) == {"cycle, early to late", "moulded", "rest", "clamp"}
    assert figure.get_suptitle() == "tail at 0.5 m/s"
    frame = above.lines[0].get_xydata()
    np.testing.assert_allclose(frame, trace.strobe[0][:, [0, 1]] * 1e3)


def test_stroboscope_shows_everything_inside_its_axes(synthetic_result):
    trace, shapes = synthetic_result.traces[1], synthetic_result.shapes
    figure = beat.stroboscope(trace, shapes)
    for axes in figure.axes:
        (left, right), (low, high) = axes.get_xlim(), axes.get_ylim()
        for line in axes.lines:
            x, y = np.asarray(line.get_xydata()).T
            assert left <= x.min() <= x.max() <= right
            assert low <= y.min() <= y.max() <= high


def test_hanging_tail_is_drawn_side_by_side(synthetic_result):
    trace = synthetic_result.traces[0]
    hanging = dataclasses.replace(trace, strobe=trace.strobe[..., [2, 1, 0]])
    above, side = beat.stroboscope(hanging).axes
    assert above.get_position().x0 < side.get_position().x0


def test_spectrum_reads_amplitude_and_rate_of_a_sine():
    time = np.arange(0.0, 4.0, 0.002)
    rate, amplitude = beat.spectrum(3.0 * np.sin(2.0 * np.pi * 5.6 * time) + 7.0, 0.002)
    assert amplitude.max() == pytest.approx(3.0, rel=0.01)
    assert rate[amplitude.argmax()] == pytest.approx(5.6, abs=0.05)


def test_tip_trace_marks_the_rate_of_the_beat_on_the_peak(synthetic_result):
    trace = synthetic_result.traces[1]
    left, right = beat.tip_trace(trace, 5.61).axes
    assert right.get_title(loc="left") == "beat 5.61 Hz"
    peak = right.lines[0].get_xydata()
    assert peak[peak[:, 1].argmax(), 0] == pytest.approx(5.61, abs=0.1)
    assert right.lines[1].get_xdata()[0] == 5.61
    assert left.get_title(loc="left") == "settled after 14 cycles"
    assert (left.get_xlabel(), right.get_xlabel()) == ("time [s]", "frequency [Hz]")


def test_unsettled_trace_says_so(synthetic_result):
    trace = dataclasses.replace(synthetic_result.traces[0], settled=False, message="growing")
    assert beat.tip_trace(trace).axes[0].get_title(loc="left") == "NOT settled: growing"


def test_resting_tip_is_not_blown_up_to_noise(synthetic_result):
    trace = synthetic_result.traces[0]
    resting = dataclasses.replace(trace, tip=np.full_like(trace.tip, 0.04))
    low, high = beat.tip_trace(resting).axes[0].get_ylim()
    assert (low, high) == pytest.approx((-0.055, 0.055), rel=0.2)


def test_response_shows_bands_and_the_start_speed(synthetic_result):
    figure = figures.response(synthetic_result, "tail")
    names = [axes.get_ylabel() for axes in figure.axes]
    assert names == ["Rate [Hz]", "Stroke [mm]", "Fold-back [deg]"]
    assert figure.axes[-1].get_xlabel() == "speed of the stream [m/s]"
    assert labels(figure) == {"start speed band", "start speed", "predicted band", "predicted"}
    predicted = figure.axes[1].lines[-1].get_xydata()
    np.testing.assert_allclose(predicted, [[0.3, 8.1], [0.5, 16.3]])


def test_response_of_a_free_lure_is_that_with_its_body_free(synthetic_result):
    """A tow tells every number twice, body free and held; the free one is drawn."""
    told = [
        Record(
            "swim", "fin", "stroke", value, None, None, "m", "test", {"speed": 0.3, "body": body}
        )
        for body, value in (("free", 0.004), ("held", 0.006))
    ]
    figure = figures.response(dataclasses.replace(synthetic_result, records=tuple(told)), "fin")
    (axes,) = figure.axes
    np.testing.assert_allclose(axes.lines[-1].get_xydata(), [[0.3, 4.0]])


def test_response_of_a_part_without_values_says_so(synthetic_result):
    figure = figures.response(synthetic_result, "leg")
    assert [axes.texts[0].get_text() for axes in figure.axes] == ["no value at any speed"]


def test_every_picture_is_written_whole(synthetic_result, tmp_path):
    paths = figures.save_all(synthetic_result, tmp_path)
    assert [path.name for path in paths] == [
        "shapes-stream-tail-0.3.png",
        "tip-stream-tail-0.3.png",
        "shapes-stream-tail-0.5.png",
        "tip-stream-tail-0.5.png",
        "response-stream-tail.png",
    ]
    assert sorted(os.listdir(tmp_path)) == sorted(path.name for path in paths)
    assert all(path.read_bytes().startswith(PNG) for path in paths)


def test_names_that_look_alike_do_not_overwrite_each_other(synthetic_result, tmp_path):
    trace = synthetic_result.traces[0]
    twins = (trace, dataclasses.replace(trace, part="../tail"), dataclasses.replace(trace))
    result = dataclasses.replace(synthetic_result, traces=twins, records=(), shapes=())
    paths = figures.save_all(result, tmp_path)
    assert len(set(paths)) == 6
    assert len(os.listdir(tmp_path)) == 6


def test_title_with_dollar_signs_is_plain_text(synthetic_result, tmp_path):
    case = dataclasses.replace(synthetic_result.case, title="costs $3 or $4_")
    figure = figures.response(dataclasses.replace(synthetic_result, case=case), "tail")
    figure.savefig(tmp_path / "x.png")
    assert figure.get_suptitle().startswith("costs $3 or $4_\n")


def test_failed_picture_leaves_nothing(synthetic_result, tmp_path, monkeypatch):
    def fail(self, path, **_):
        path.write_bytes(PNG)
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(figures.Figure, "savefig", fail)
    with pytest.raises(OutputError, match=r"shapes-stream-tail-0\.3\.png: cannot write, No space"):
        figures.save_all(synthetic_result, tmp_path)
    assert os.listdir(tmp_path) == []


def test_the_body_that_moves_is_drawn_in_every_frame(synthetic_result):
    trace = synthetic_result.traces[0]
    above, _ = beat.stroboscope(trace).axes
    count = trace.paddle.shape[1]
    rims = [p.get_xy() for p in above.patches if len(p.get_xy()) in (count, count + 1)]
    assert len(rims) == len(trace.strobe)
    np.testing.assert_allclose(rims[3][:count], 1e3 * trace.paddle[3][:, :2])


def test_a_mirrored_pair_has_one_picture(synthetic_result, tmp_path):
    left, right = [], []
    for trace in synthetic_result.traces:
        left.append(dataclasses.replace(trace, part="tail/left"))
        turned = {n: getattr(trace, n) * (1.0, -1.0, 1.0) for n in ("strobe", "edges", "paddle")}
        right.append(dataclasses.replace(trace, part="tail/right", **turned))
    result = dataclasses.replace(synthetic_result, traces=(*left, *right))
    names = [path.name for path in figures.save_all(result, tmp_path)]
    assert [name for name in names if name.startswith("shapes")] == [
        "shapes-stream-tail-left-0.3.png", "shapes-stream-tail-left-0.5.png",
    ]  # fmt: skip
    bent = dataclasses.replace(right[1], strobe=1.01 * right[1].strobe)
    result = dataclasses.replace(result, traces=(*left, right[0], bent))
    assert sum("right" in path.name for path in figures.save_all(result, tmp_path)) == 4


def test_pictures_speak_the_units_of_the_case(synthetic_result):
    """Inch cases: axes in inches and feet a second, the same drawing."""
    trace = synthetic_result.traces[1]
    above, side = beat.stroboscope(trace, unit="inch").axes
    assert (above.get_ylabel(), side.get_xlabel()) == ("to the side [inch]", "downstream [inch]")
    frame = above.lines[0].get_xydata()
    np.testing.assert_allclose(frame, trace.strobe[0][:, [0, 1]] / 0.0254)
    left, right = beat.tip_trace(trace, 5.61, unit="inch").axes
    assert "[inch]" in left.get_ylabel()
    assert "[inch]" in right.get_ylabel()
    case = dataclasses.replace(synthetic_result.case, length_unit="inch")
    figure = figures.response(dataclasses.replace(synthetic_result, case=case), "tail")
    assert figure.axes[-1].get_xlabel() == "speed of the stream [ft/s]"
    predicted = figure.axes[1].lines[-1].get_xydata()
    np.testing.assert_allclose(predicted[:, 0], np.array([0.3, 0.5]) / 0.3048)


def test_lines_are_named_at_their_ends_and_apart(synthetic_result):
    (left, _) = beat.tip_trace(synthetic_result.traces[1], 5.61).axes
    names = {text.get_text(): text.xy[1] for text in left.texts}
    assert set(names) == {"downstream", "to the side", "up"}
    low, high = left.get_ylim()
    heights = sorted(names.values())
    assert np.diff(heights).min() > 0.06 * (high - low)


def test_a_tip_that_rests_has_no_picture_of_its_own(synthetic_result, tmp_path):
    trace = synthetic_result.traces[0]
    still = dataclasses.replace(trace, tip=np.full_like(trace.tip, 0.04))
    records = tuple(r for r in synthetic_result.records if r.quantity != "flap_frequency")
    result = dataclasses.replace(synthetic_result, traces=(still,), records=records)
    assert not [p for p in figures.save_all(result, tmp_path) if p.name.startswith("tip")]
