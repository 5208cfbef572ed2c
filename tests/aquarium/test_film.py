"""Clips with known truth, as real files: right where clear, flagged where not."""

import base64
import dataclasses
import math

import av
import numpy as np
import pytest
from bad_files import broken
from drawn import tail

from simsoft.aquarium.files.read import Options, measure_files
from simsoft.aquarium.video.clip import read_clip
from simsoft.aquarium.video.film import Setting, measure_film
from simsoft.aquarium.video.optics import marker_length, out_of_plane, scale_of_points, two_markers
from simsoft.aquarium.video.overlay import marked, write_overlay
from simsoft.aquarium.video.passage import followed, measure_passage, passage
from simsoft.cli.film import ClipOptions, measure_clip, write_pictures
from simsoft.cli.main import main
from simsoft.cli.said import written_in
from simsoft.core.errors import InputError
from simsoft.report.figures.tank import kymograph_figure
from simsoft.validate.studies.film_clip import Tank, encode, render
from simsoft.validate.studies.film_rows import clip_of, filmed, row

BELOW = Setting(view="below", scale=0.2e-3)


def words(found):
    return {flag.word for flag in found.flags}


@pytest.fixture(scope="module")
def clean(tmp_path_factory):
    """A clean clip of a tail that beats at 5 Hz and sweeps 16 mm."""
    path = tmp_path_factory.mktemp("clip") / "clean.mp4"
    frames, time = render(tail(), Tank(seconds=1.6))
    return encode(frames, time, path)


def test_a_clean_clip_gives_beat_and_stroke(clean):
    film = measure_film(read_clip(clean), BELOW)
    beat, stroke = film.measured[:2]
    assert beat.clear
    assert stroke.clear
    assert beat.value == pytest.approx(5.0, rel=5e-3)
    assert stroke.value == pytest.approx(0.016, rel=0.03)
    assert film.scene.downstream == "right"
    assert film.used == "outline"


def test_a_paddle_is_followed_at_its_centre():
    motion = tail(length=0.02, sweep=0.004, plate=0.012, thickness=2.5e-3)
    found = filmed(motion, Tank(seconds=1.6), BELOW)
    assert found[1].clear
    assert found[1].value == pytest.approx(motion.stroke(), rel=0.03)


@pytest.mark.parametrize(
    "changes",
    [
        {"noise": 14.0},
        {"bubbles": 0.8},
        {"glare": 1.0},
        {"ripples": 0.8},
        {"jitter": 0.3},
        {"rate": 60.0},
        {"contrast": 25.0},
    ],
    ids=str,
)
def test_nuisances_leave_a_right_number_or_a_flag(changes):
    assert row("tail", "", tail(), dataclasses.replace(Tank(seconds=1.5), **changes)).honest


@pytest.mark.parametrize(("true", "rate"), [(22.0, 24.0), (28.0, 30.0), (20.0, 48.0)])
def test_a_beat_too_fast_for_the_frames_is_never_clear(true, rate):
    found = filmed(tail(frequency=true), Tank(rate=rate, seconds=2.0), BELOW)
    assert not found[0].clear
    assert words(found[0]) & {"alias", "few-frames"}


def test_an_open_shutter_is_flagged_and_spoils_the_stroke_alone():
    found = filmed(tail(), Tank(rate=60.0, shutter=0.95, seconds=1.6), BELOW)
    assert "blur" in words(found[1])
    assert not found[1].clear
    assert found[0].clear
    assert found[0].value == pytest.approx(5.0, rel=0.01)


def test_from_the_side_foreshortening_is_halved_to_the_beat():
    """A wide sweep towards the camera shortens the tail twice a beat."""
    motion = tail(frequency=4.0, sweep=0.022, lag=0.0)
    tank = Tank(view="side", scale=0.2e-3, seconds=2.0)
    found = filmed(motion, tank, Setting(view="side", scale=0.2e-3))
    assert found[0].value == pytest.approx(4.0, rel=0.02)
    assert "halved" in words(found[0])
    assert found[1].value is None
    wrongly = filmed(motion, tank, Setting(view="below", scale=0.2e-3))
    assert not wrongly[0].clear
    assert "along" in words(wrongly[0])


def test_a_claw_that_flaps_up_and_down_is_not_halved():
    motion = tail(frequency=4.0)
    upright = dataclasses.replace(motion, shapes=motion.shapes[:, :, [0, 2, 1]])
    setting = Setting(view="side", sweep="vertical", scale=0.2e-3)
    found = filmed(upright, Tank(view="side", seconds=1.6), setting)
    assert found[0].value == pytest.approx(4.0, rel=0.01)
    assert found[1].value == pytest.approx(0.016, rel=0.04)
    assert found[0].clear


def test_no_contrast_is_not_measured_as_if_it_were_there():
    found = filmed(tail(), Tank(contrast=6.0, noise=6.0, seconds=1.2), BELOW)
    assert not found[0].clear or found[0].value == pytest.approx(5.0, rel=0.02)
    assert not found[1].clear or found[1].value == pytest.approx(0.016, rel=0.05)


def test_a_tail_that_leaves_the_picture_is_said_to():
    found = filmed(tail(length=0.05), Tank(seconds=1.2), BELOW)
    assert "leaves" in words(found[0])
    assert not found[1].clear


def test_a_still_tail_has_no_beat():
    motion = dataclasses.replace(tail(), shapes=np.repeat(tail().shapes[:1], 16, axis=0))
    found = filmed(motion, Tank(seconds=1.2), BELOW)
    assert found[0].value is None
    assert "no beat" in found[0].reason


def test_without_view_or_scale_nothing_is_claimed(clean):
    found = measure_film(read_clip(clean), Setting()).measured
    assert "view" in words(found[0])
    assert found[1].value is None
    assert "no scale" in found[1].reason


@pytest.mark.parametrize(("suffix", "codec"), [(".mov", "libx264"), (".avi", "mpeg4")])
def test_other_containers(tmp_path, suffix, codec):
    frames, time = render(tail(), Tank(seconds=1.2, rate=60.0))
    path = encode(frames, time, tmp_path / f"clip{suffix}", codec=codec, rate=60)
    found = measure_film(read_clip(path), BELOW).measured
    assert found[0].value == pytest.approx(5.0, rel=0.01)


def test_slow_motion_is_timed_by_the_rate_it_was_filmed_at(tmp_path):
    frames, time = render(tail(frequency=10.0), Tank(seconds=1.2, rate=240.0))
    path = encode(frames, time * 8.0, tmp_path / "slow.mp4", rate=30)
    found = measure_film(read_clip(path, recorded_rate=240.0), BELOW).measured
    assert found[0].value == pytest.approx(10.0, rel=0.01)
    assert "slow-motion" in words(found[0])


@pytest.mark.parametrize("turns", [1, 2, 3])
def test_downstream_is_found_whichever_way_the_tail_points(tmp_path, turns):
    frames, time = render(tail(), Tank(seconds=1.2, rate=60.0))
    turned = np.ascontiguousarray(np.rot90(frames, turns, axes=(1, 2)))
    path = encode(turned, time, tmp_path / "turned.mp4", rate=60)
    film = measure_film(read_clip(path), BELOW)
    assert film.scene.downstream == {1: "up", 2: "left", 3: "down"}[turns]
    assert film.measured[1].value == pytest.approx(0.016, rel=0.03)


def moving_clip(path, down=False, speed=0.3, scale=0.5e-3, rate=60.0):
    """Write a clip of a dark bar that crosses the picture at a speed [m/s]."""
    time = np.arange(0.0, 0.28 / speed, 1.0 / rate)
    y, x = np.mgrid[0:240, 0:640] if not down else np.mgrid[0:640, 0:240]
    frames = []
    for t in time:
        go = speed * t / scale
        column, row = (120.0, 60.0 + go) if down else (60.0 + go, 120.0)
        inside = (np.abs(x - column) < 40) & (np.abs(y - row - 0.1 * (x - column)) < 8)
        noise = 3.0 * np.random.default_rng(int(1e4 * t)).normal(size=x.shape)
        frames.append(np.clip(190.0 - 120.0 * inside + noise, 0, 255).astype(np.uint8))
    return encode(np.stack(frames), time, path, rate=round(rate))


def test_tow_speed_and_sink_rate_with_attitude(tmp_path):
    setting = Setting(view="side", scale=0.5e-3)
    clip = read_clip(moving_clip(tmp_path / "tow.mp4"))
    speed = measure_passage(clip, passage(clip), setting, sinking=False)[0]
    assert speed.value == pytest.approx(0.3, rel=0.02)
    assert followed(clip, passage(clip)).frames.shape[0] >= 12
    clip = read_clip(moving_clip(tmp_path / "sink.mp4", down=True))
    rate, attitude = measure_passage(clip, passage(clip), setting, sinking=True)
    assert rate.value == pytest.approx(0.3, rel=0.02)
    assert abs(attitude.value) == pytest.approx(math.degrees(math.atan(0.1)), abs=1.5)


@pytest.mark.parametrize(
    ("kind", "said"),
    [
        ("empty", "0 bytes"),
        ("text", "no video that can be read"),
        ("truncated", "no video that can be read"),
        ("sound", "sound only"),
        ("short", "only 6 frames"),
        ("missing", "no such file"),
    ],
)
def test_what_is_no_clip_is_one_clear_line(tmp_path, kind, said, clean):
    with pytest.raises(InputError, match=said) as caught:
        read_clip(broken(tmp_path, kind, clean))
    assert len(caught.value.problems) == 1


def test_a_clip_cut_in_a_stream_keeps_what_can_be_read(tmp_path):
    frames, time = render(tail(), Tank(seconds=1.5, rate=60.0))
    whole = encode(frames, time, tmp_path / "a.mkv", rate=60)
    cut = tmp_path / "cut.mkv"
    cut.write_bytes(whole.read_bytes()[: int(0.6 * whole.stat().st_size)])
    clip = read_clip(cut)
    assert 12 <= len(clip.time) < 90


def test_a_region_must_lie_in_the_frame(clean):
    assert read_clip(clean, region=(80, 40, 200, 160)).frames.shape[1:] == (160, 200)
    with pytest.raises(InputError, match="does not lie in frames of 320 x 240"):
        read_clip(clean, region=(200, 0, 200, 100))


def test_refraction_is_that_of_the_formula():
    """Camera 600 mm, tank 150 mm: 5, 20, 50 and 150 mm are 0.5, 2.1, 5.3 and 15.8 % (derived)."""
    for offset, share in ((5e-3, 0.005), (20e-3, 0.021), (50e-3, 0.053), (150e-3, 0.158)):
        found = out_of_plane(offset, 0.6, 0.15)
        assert 1.0 - 1.0 / (1.0 + found) == pytest.approx(share, abs=5e-4)
    with pytest.raises(InputError, match="behind the camera"):
        out_of_plane(1.0, 0.6, 0.15)


def test_a_marker_is_measured_along_its_axis():
    patch = np.full((60, 200), 180, np.uint8)
    patch[25:33, 30:150] = 40
    assert marker_length(patch) == pytest.approx(120.0, abs=1.5)
    assert scale_of_points((0.0, 0.0), (30.0, 40.0), 0.05)[0] == pytest.approx(1e-3)
    with pytest.raises(InputError, match="no marker"):
        marker_length(np.full((40, 40), 100, np.uint8))


def test_pictures_and_track_round_trip(clean, tmp_path):
    said = ClipOptions(points="0,0 100,0=20 mm", speed="0.4 m/s", temperature="18 degC")
    seen = measure_clip(str(clean), Options(view="below"), said)
    names = write_pictures(seen, tmp_path, "clean")
    assert sorted(p.name for p in tmp_path.iterdir()) == sorted(names)
    with av.open(str(tmp_path / "clean_overlay.mp4")) as container:
        assert sum(1 for _ in container.decode(video=0)) == len(seen.film.clip.time)
    again = measure_files([tmp_path / "clean_track.csv"])
    assert again[0].value == pytest.approx(seen.measured[0].value, rel=1e-4)
    assert again[1].value == pytest.approx(seen.measured[1].value, rel=1e-3)
    assert seen.measured[0].at["speed"] == 0.4
    picture = marked(seen.film, 5)
    assert (picture == (255, 120, 20)).all(axis=2).any()
    assert write_overlay(seen.film, tmp_path / "b.mp4").stat().st_size > 1000


def test_what_spoils_the_stroke_of_a_clip_spoils_it_in_its_track(tmp_path):
    motion = tail(sweep=0.003)
    frames, time = render(motion, Tank(seconds=0.9))
    path = encode(frames, time, tmp_path / "small.mp4")
    seen = measure_clip(str(path), Options(view="below", scale=0.2e-3), ClipOptions())
    write_pictures(seen, tmp_path, "small")
    beat, stroke = measure_files([tmp_path / "small_track.csv"])[:2]
    assert beat.clear
    assert "plane" in words(stroke) & words(seen.measured[1])
    assert not stroke.clear


def test_a_clip_without_scale_is_not_said_to_be_in_another_unit(clean):
    beat = measure_film(read_clip(clean), Setting(view="below")).measured[0]
    assert beat.clear
    assert "units" not in words(beat)


def test_the_ends_of_a_beat_that_many_pixels_show_are_kept():
    """Nearer by a half, the same tail: no frame of the smooth motion is a jump."""
    tank = Tank(scale=0.1e-3, seconds=1.0, width=640, height=480)
    film = measure_film(clip_of(tail(), tank), Setting(view="below", scale=0.1e-3))
    assert film.tips.confidence.mean() > 0.98
    assert film.measured[1].value == pytest.approx(0.016, rel=0.02)


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"motion": "flying"}, "--motion"),
        ({"points": "1,2=3"}, "--points"),
        ({"marker": "x"}, "--marker"),
        ({"region": "1,2"}, "--region"),
        ({"recorded": "240"}, "--recorded"),
        ({"downstream": "east"}, "--downstream"),
        ({"speed": "fast"}, "--speed"),
    ],
)
def test_wrong_words_about_a_clip_are_one_line(clean, changes, said):
    with pytest.raises(InputError, match=said):
        measure_clip(str(clean), Options(view="below"), ClipOptions(**changes))


@pytest.mark.slow
def test_marched_tails_over_all_conditions_are_right_or_flagged():
    """Half of the study's page, from a march: no clip is called clear and wrong."""
    from simsoft.validate.studies.film import study

    rows = study(["paddle"])
    wrong = [(r.tail, r.condition, r.rate_error, r.stroke_error) for r in rows if not r.honest]
    assert not wrong
    assert sum(r.beat.clear for r in rows) > 0.5 * len(rows)


def test_without_the_video_extra_one_line_says_what_to_install(clean, monkeypatch):
    import sys

    monkeypatch.setitem(sys.modules, "av", None)
    with pytest.raises(InputError, match=r"simsoft\[video\]"):
        read_clip(clean)


@pytest.mark.parametrize(
    ("degrees", "said"), [(0.0, False), (4.0, False), (30.0, True), (45.0, True)]
)
def test_a_sweep_out_of_the_picture_is_flagged_and_spoils_the_stroke_alone(degrees, said):
    motion = tail()
    found = filmed(motion.turned(math.radians(degrees)), Tank(seconds=1.2), BELOW)
    assert ("out-of-plane" in words(found[1])) == said
    assert found[0].clear
    assert found[1].clear != said
    if not said:
        assert found[1].value == pytest.approx(motion.stroke(), rel=0.04)
    else:
        text = next(flag.text for flag in found[1].flags if flag.word == "out-of-plane")
        angle = float(text.split("about ")[1].split(" degrees")[0])
        assert angle == pytest.approx(degrees, abs=6.0)


def test_markers_of_two_scales_tell_a_tilted_camera(clean):
    assert two_markers([(0.2e-3, 0.004), (0.201e-3, 0.004)])[2] is None
    scale, u, doubt = two_markers([(0.2e-3, 0.004), (0.24e-3, 0.004)])
    assert scale == pytest.approx(0.22e-3)
    assert u > 0.05
    assert doubt.word == "tilted"
    assert doubt.severe
    pair = "20,20 270,20=50 mm; 20,200 220,200=50 mm"
    seen = measure_clip(str(clean), Options(view="below"), ClipOptions(points=pair)).measured
    assert "tilted" in words(seen[1])
    assert "tilted" not in words(seen[0])


def test_the_page_of_a_clip_holds_its_kymograph(clean, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    words = ("measure", str(clean), "--view", "below", "--scale", "0.25 mm/px", "--quiet")
    with pytest.raises(SystemExit) as caught:
        main([*words, "--out", "seen"])
    assert caught.value.code == 0
    page = (tmp_path / "seen" / "measured.html").read_text(encoding="utf-8")
    picture = base64.b64encode((tmp_path / "seen" / "clean_kymograph.png").read_bytes()).decode()
    assert f'src="data:image/png;base64,{picture}"' in page
    assert "img-src data:" in page
    assert len(page) < 3_000_000


@pytest.mark.parametrize(
    ("texts", "unit"),
    [
        (("0,0 100,0=2 inch",), "inch"), (("0.01 in/px", None), "inch"), (("1 ft", ""), "inch"),
        (("0,0 100,0=20 mm", None), "mm"), ((None,), "mm"), (("in the tank", "2 min"), "mm"),
    ],
)  # fmt: skip
def test_pictures_are_in_the_unit_that_lengths_are_written_in(texts, unit):
    assert written_in(texts) == unit


def test_a_kymograph_says_its_unit():
    still = np.zeros(4)
    for scale, unit, name in ((1e-3, "inch", "inch"), (1e-3, "mm", "mm"), (None, "inch", "px")):
        figure = kymograph_figure(
            np.zeros((6, 4)), np.arange(4) / 10.0, still, still, still == 0.0,
            scale=scale, unit=unit, title="",
        )  # fmt: skip
        above, below = figure.axes
        assert above.get_ylabel() == f"across the tail [{name}]"
        assert below.get_ylabel() == f"tip [{name}]"
