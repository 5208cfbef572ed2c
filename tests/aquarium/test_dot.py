"""A dot on a lively paddle, by place or colour; a coin for the scale; wrong words in one line."""

import json
import math

import av
import numpy as np
import pytest

from simsoft.aquarium.files.read import Options, measure_files
from simsoft.aquarium.video.coin import coin_scale
from simsoft.aquarium.video.dot import follow_dot
from simsoft.cli import main as cli
from simsoft.cli.film import ClipOptions, measure_clip

RATE, BEAT, AMPLITUDE, COIN = 120.0, 6.0, 40.0, 30.0  # frames/s, Hz, px, px


def paddle(count=150, noise=6.0, colour=(230, 230, 230), hidden=(), seed=0):
    """Return RGB frames of a paddle that turns and sweeps, a dot on it, and the dot's place."""
    rng = np.random.default_rng(seed)
    y, x = np.mgrid[0:240, 0:320]
    frames, true = [], []
    for i in range(count):
        phase = 2.0 * math.pi * BEAT * i / RATE
        cx, cy = 210.0 + 6.0 * math.cos(2.0 * phase), 110.0 + AMPLITUDE * math.sin(phase)
        turn = 0.9 * math.cos(phase)
        u = (x - cx) * math.cos(turn) + (y - cy) * math.sin(turn)
        v = (y - cy) * math.cos(turn) - (x - cx) * math.sin(turn)
        grey = np.full(x.shape, 190.0)
        grey[(x > 60) & (x < cx) & (abs(y - 110 - (cy - 110) * ((x - 60) / 150) ** 2) < 4)] = 80
        grey[(abs(u) < 14) & (abs(v) < 26)] = 80
        grey[np.hypot(x - 40, y - 205) < COIN / 2.0] = 60
        picture = np.repeat(grey[:, :, None], 3, axis=2)
        if i not in hidden:
            dot = 1.0 / (1.0 + np.exp(2.0 * (np.hypot(x - cx, y - cy) - 4.0)))
            picture += (np.array(colour) - picture) * dot[:, :, None]
        picture += noise * rng.normal(size=x.shape)[:, :, None]
        frames.append(np.clip(picture, 0, 255).astype(np.uint8))
        true.append((cx, cy))
    return np.stack(frames), np.array(true)


def write(path, frames):
    """Write RGB frames as a clip of RATE frames a second."""
    with av.open(str(path), "w") as container:
        stream = container.add_stream("mpeg4", rate=int(RATE))
        stream.width, stream.height, stream.pix_fmt = 320, 240, "yuv420p"
        stream.bit_rate = 8_000_000
        for picture in frames:
            for packet in stream.encode(av.VideoFrame.from_ndarray(picture, format="rgb24")):
                container.mux(packet)
        for packet in stream.encode():
            container.mux(packet)
    return path


@pytest.mark.parametrize("noise", [0.0, 6.0, 15.0])
def test_a_dot_is_followed_and_no_corner_is_taken_for_it(noise):
    frames, true = paddle(noise=noise)
    path = follow_dot(frames[..., 1], tuple(true[0] + 2.0)).place
    away = np.hypot(*(path - true).T)
    assert np.isfinite(away).all()
    assert away.max() < 0.4


def test_frames_that_hide_the_dot_are_gaps_and_no_other_place():
    hidden = (40, 41, 90)
    frames, true = paddle(hidden=hidden)
    path = follow_dot(frames[..., 1], tuple(true[0])).place
    away = np.hypot(*(path - true).T)
    assert np.nanmax(away) < 0.5
    assert set(np.flatnonzero(np.isnan(away))) >= set(hidden)
    assert np.isnan(away).sum() <= 5


@pytest.fixture(scope="module")
def clips(tmp_path_factory):
    folder = tmp_path_factory.mktemp("dots")
    write(folder / "white.mp4", paddle()[0])
    write(folder / "red.mp4", paddle(colour=(220, 40, 40))[0])
    return folder


@pytest.mark.parametrize(("name", "point"), [("white", "212,112"), ("red", "red")])
def test_the_stroke_of_a_lively_paddle_is_clear_with_a_dot_and_a_coin(clips, name, point):
    path = str(clips / f"{name}.mp4")
    coin = ClipOptions(coin="40,205=24 mm")
    plain = measure_clip(path, Options(view="below"), coin).measured[1]
    assert not plain.clear
    said = ClipOptions(coin="40,205=24 mm", point=point)
    seen = measure_clip(path, Options(view="below"), said)
    beat, stroke = seen.measured[:2]
    assert seen.film.used == "dot"
    assert beat.clear
    assert beat.value == pytest.approx(BEAT, rel=0.01)
    assert stroke.clear, [flag.word for flag in stroke.flags]
    assert stroke.value == pytest.approx(2.0 * AMPLITUDE * 24e-3 / COIN, rel=0.04)
    assert stroke.method.endswith("tip by dot")


def test_a_coin_tells_scale_and_tilt():
    y, x = np.mgrid[0:240, 0:320]
    noise = 8.0 * np.random.default_rng(1).normal(size=x.shape)
    for squeeze in (1.0, 0.87):
        disc = np.hypot((x - 100) / squeeze, y - 80) < 40
        picture = np.clip(180.0 - 100.0 * disc + noise, 0, 255).astype(np.uint8)
        scale, u, tilt = coin_scale(picture, (105.0, 75.0), 0.024)
        assert scale == pytest.approx(0.024 / 80.0, rel=2.0 * u)
        assert tilt.squared == pytest.approx(squeeze**-2 - 1.0, abs=0.05)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--point", "here"), "--point is `here`"),
        (("--point", "20,20"), "no dot stands out"),
        (("--point", "5000,20"), "outside the picture"),
        (("--point", "green"), "no dot stands out"),
        (("--point", "212,112", "--motion", "towed"), "--motion is towed"),
        (("--coin", "40,205"), "--coin is `40,205`"),
        (("--coin", "300,20=24 mm"), "no coin stands out"),
        (("--coin", "209,130=24 mm"), "--coin is"),
        (("--scale", "0,0 100,0=9"), "--points is"),
        (("--scale", "0,0 100,0=9 mm", "--points", "0,0 9,9=3 mm"), "one of them is needed"),
    ],
)
def test_wrong_words_are_one_line(clips, capsys, words, said):
    with pytest.raises(SystemExit) as caught:
        cli.main(["measure", str(clips / "white.mp4"), "--view", "below", *words])
    assert caught.value.code == 2
    err = capsys.readouterr().err
    assert said in err
    assert len(err.strip().splitlines()) == 1


def test_a_scale_may_be_two_points(clips, capsys):
    with pytest.raises(SystemExit) as caught:
        cli.main(["measure", str(clips / "white.mp4"), "--view", "below", "--json",
                  "--point", "212,112", "--scale", "0,0 100,0=80 mm"])  # fmt: skip
    assert caught.value.code == 0
    records = json.loads(capsys.readouterr().out)["records"]
    assert records[1]["value"] == pytest.approx(0.8e-3 * 2.0 * AMPLITUDE, rel=0.03)


def test_runs_name_view_scale_and_point_of_clips(clips, tmp_path, capsys):
    listed = "run_id,view,speed_mps,scale_mm_per_px,point\nwhite,below,0.5,0.8,212 112\n"
    (tmp_path / "runs.csv").write_text(listed)
    clip = clips / "white.mp4"
    (stroke,) = (m for m in measure_files([tmp_path / "runs.csv", clip]) if m.quantity == "stroke")
    assert stroke.value == pytest.approx(0.8e-3 * 2.0 * AMPLITUDE, rel=0.03)
    assert (stroke.at["speed"], stroke.at["view"]) == (0.5, "below")
    assert stroke.method.endswith("tip by dot")
    with pytest.raises(SystemExit):
        cli.main(["measure", str(clip), str(tmp_path / "runs.csv"), "--json"])
    told = json.loads(capsys.readouterr().out)["records"][1]
    assert told["value"] == pytest.approx(stroke.value)
    assert told["at"]["speed"] == 0.5
