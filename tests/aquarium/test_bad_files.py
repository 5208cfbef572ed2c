"""What a user may hand over by mistake: one clear line, exit status 2, nothing half written."""

import numpy as np
import pytest
from bad_files import broken
from bench import sine_rows, track_text
from drawn import tail

from simsoft.aquarium.video.clip import read_clip
from simsoft.cli import main as cli
from simsoft.validate.studies.film_clip import Tank, encode, render


@pytest.fixture(scope="module")
def clean(tmp_path_factory):
    frames, time = render(tail(), Tank(seconds=0.6))
    return encode(frames, time, tmp_path_factory.mktemp("clip") / "clean.mp4")


@pytest.fixture
def measured(capsys, tmp_path, monkeypatch):
    """Run ``simsoft measure`` on files; return status, stdout, stderr and the files written."""
    monkeypatch.chdir(tmp_path)

    def call(*words):
        with pytest.raises(SystemExit) as caught:
            cli.main(["measure", *map(str, words), "--view", "below", "--out", "seen"])
        streams = capsys.readouterr()
        seen = tmp_path / "seen"
        files = sorted(p.name for p in seen.iterdir()) if seen.exists() else []
        return caught.value.code, streams.out, streams.err, files

    return call


def one_line(answer, *said):
    status, out, err, files = answer
    assert status == 2
    assert out == ""
    assert files == []
    assert len(err.strip().splitlines()) == 1
    for words in said:
        assert words in err


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
def test_no_clip(measured, tmp_path, clean, kind, said):
    one_line(measured(broken(tmp_path, kind, clean)), said, f"{kind}.mp4")


def test_a_bad_clip_beside_a_good_one_leaves_nothing_behind(measured, tmp_path, clean):
    one_line(measured(clean, broken(tmp_path, "sound", clean)), "sound only")


def rows(columns="t_s,x_mm,y_mm", header="# view = below\n", factor=1.0, backwards=False):
    time, y = sine_rows(5.0, 8.0, 2.0, 120)
    time = time[::-1] if backwards else time
    return track_text(factor * time, 0 * y, y, header, columns)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (b"", "is empty (0 bytes)"),
        (b"t_s,x_mm,y_mm\n", "no rows"),
        (rows("time,left,right"), "columns time, left, right fit no layout"),
        (rows("t_s,x_furlong,y_furlong"), "column `x_furlong` has no unit that can be read"),
        (rows("t_s,x_px,y_px"), "a scale is needed"),
        (rows("t_s,x_mm,x_mm"), "appears twice"),
        (rows(backwards=True), "time runs backwards"),
        (rows().replace(",", ";").replace(".", ","), "decimal comma"),
        (rows(header="# \u00e9\n").encode("latin-1"), "is not UTF-8 text"),
        (bytes(range(256)) * 8, "is a binary file"),
        (b"t_s,x_mm,y_mm\n0,1,2\n1,a,3\n", "line 3: x_mm is `a`"),
        (b"run_id,quantity,value,unit\na,stroke,-3,mm\n", "line 2: stroke is -3"),
        (b"run_id,quantity,value,unit\na,stroke,3,stone\n", "unit is `stone`"),
        (b"run_id,quantity,value,unit\na,stroke,3,kg\n", "line 2: stroke has unit `kg`"),
    ],
    ids=lambda value: value[:24] if isinstance(value, str) else "",
)
def test_no_table(measured, tmp_path, text, said):
    (tmp_path / "bad.csv").write_bytes(text if isinstance(text, bytes) else text.encode())
    one_line(measured("bad.csv"), said, "bad.csv")


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16"])
def test_encodings_of_spreadsheets_are_read(measured, tmp_path, encoding):
    (tmp_path / "track.csv").write_text(rows(), encoding=encoding)
    status, out, _, files = measured("track.csv")
    assert status == 0
    assert "5.000 Hz" in out
    assert "results.csv" in files


def test_time_in_the_wrong_unit_is_not_clear(measured, tmp_path):
    (tmp_path / "ms.csv").write_text(rows(factor=1000.0))
    status, out, _, _ = measured("ms.csv")
    assert status == 0
    assert "is the time in another unit?" in out.replace("\n", " ")


def test_a_clip_of_3840_by_2160_is_measured(measured, tmp_path):
    frames, time = render(tail(), Tank(seconds=0.6, rate=30.0, height=180))
    big = np.repeat(np.repeat(frames, 12, axis=1), 12, axis=2)
    assert big.shape[1:] == (2160, 3840)
    path = encode(big, time, tmp_path / "big.avi", codec="mpeg4", rate=30)
    clip = read_clip(path)
    assert clip.frames.shape[2] == 640
    assert clip.shrink == pytest.approx(6.0)
    status, out, _, files = measured(path, "--scale", "0.0166667 mm/px")
    assert status == 0
    assert "beat" in out
    assert "results.csv" in files
