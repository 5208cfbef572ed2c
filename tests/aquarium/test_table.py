"""Files as they come: encodings, comments, gaps, units; every fault is one clear line."""

import numpy as np
import pytest
from bench import sine_rows, table, track_text

from simsoft.aquarium.files.read import measure_files, measure_table
from simsoft.aquarium.files.table import read_table
from simsoft.aquarium.files.track import read_track
from simsoft.core.errors import InputError


@pytest.fixture
def text():
    time, y = sine_rows(5.0, 10.0, 2.0, 60)
    return track_text(time, 0 * y, y, "# view = below, speed_mps = 0.4\n# temp_C: 18.5\n")


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_encodings_read_alike(tmp_path, text, encoding):
    path = tmp_path / "a.csv"
    path.write_bytes(text.encode(encoding))
    track = read_track(read_table(path))
    assert len(track.time) == 120
    assert track.at["speed"] == 0.4
    assert track.at["temperature"] == pytest.approx(291.65)


@pytest.mark.parametrize("separator", [";", "\t"])
def test_separators_read_alike(text, separator):
    assert len(read_track(table(text.replace(",", separator))).time) == 120


def test_gaps_low_confidence_and_unknown_columns_are_kept_out_not_refused():
    rows = ["0.0,1,2,1,a", "0.1,,2,1,b", "0.2,nan,2,1,c", "0.3,1,2,0.1,d"]
    rows += [f"{0.4 + 0.1 * i:.1f},1,{i % 2},0.9,e" for i in range(9)]
    track = read_track(table("# view = above\nt_s,x_mm,y_mm,conf,note\n" + "\n".join(rows)))
    assert track.dropped == 3
    assert track.longest_gap == pytest.approx(0.4)


def test_pixels_need_a_scale_and_take_it(text):
    pixels = text.replace("_mm", "_px")
    with pytest.raises(InputError, match="scale is needed"):
        read_track(table(pixels))
    track = read_track(table(pixels), scale=0.5e-3)
    assert np.ptp(track.tip[:, 1]) == pytest.approx(0.00975, rel=0.01)
    header = "# scale_mm_per_px = 0.5\n" + pixels
    assert np.ptp(read_track(table(header)).tip[:, 1]) == pytest.approx(0.00975, rel=0.01)


BAD = {
    "t_s,x_mm\n1,2,5\n": "decimal comma",
    't_s,x_mm\n"0,5",2\n': "decimal comma",
    "t_s;x_mm\n0,5;1\n": "decimal comma",
    "0.1,2\n0.2,3\n": "column names",
    "t_s,x_mm,x_mm\n1,2,3\n": "twice",
    "t_s,x\n0,1\n": "fit no layout|no unit",
    "t_s,x_furlong\n0,1\n": "no unit",
    "a,b\n0,1\n": "fit no layout",
    "t_s,x_mm\n0.2,1\n0.1,2\n0.0,2\n": "backwards",
    "t_s,x_mm\n0.0,1\n0.2,2\n0.1,2\n": "line 4",
    "t_s,x_mm\n0.0,1\n,2\n": "line 3",
    "t_s,x_mm\n0.0,word\n": "number is needed",
    "t_s,x_mm\n0.0,1e999\n": "finite",
    "t_s,x_mm\n": "no rows",
    "# only a comment\n": "no rows",
    "t_s,x_mm\n0,1\n1,2\n": "at least 8",
    "# view = under\nt_s,x_mm\n" + "".join(f"{i},{i % 2}\n" for i in range(9)): "view",
}


@pytest.mark.parametrize("text", BAD)
def test_every_fault_is_one_clear_line(text):
    with pytest.raises(InputError, match=BAD[text]) as caught:
        measure_table(table(text))
    assert len(caught.value.problems) == 1
    assert caught.value.problems[0].startswith("file.csv")


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "0 bytes"),
        (b"t_s,x_mm\n0,1\xb5\n", "line 2: is not UTF-8"),
        (b"\x00\x01\x02t_s", "binary"),
        (b"\xff\xfea", "UTF-16"),
    ],
)
def test_bytes_that_are_no_text(tmp_path, data, said):
    path = tmp_path / "a.csv"
    path.write_bytes(data)
    with pytest.raises(InputError, match=said):
        measure_files([path])


def test_a_missing_file_and_a_directory(tmp_path):
    with pytest.raises(InputError, match="no such file"):
        read_table(tmp_path / "none.csv")
    with pytest.raises(InputError, match="directory"):
        read_table(tmp_path)


def test_runs_give_their_conditions_and_results_round_trip(tmp_path, text):
    from simsoft.aquarium.files.read import results_text

    track = tmp_path / "r7.csv"
    track.write_text(text.replace("# view = below, speed_mps = 0.4\n# temp_C: 18.5\n", ""))
    runs = tmp_path / "runs.csv"
    runs.write_text("run_id,view,speed_mps,temp_C\nr7,below,0.4,12\n")
    found = measure_files([runs, track])
    assert found[0].at["speed"] == 0.4
    assert found[0].at["temperature"] == pytest.approx(285.15)
    again = tmp_path / "results.csv"
    again.write_text(results_text(found))
    back = measure_files([again])
    assert [m.quantity for m in back] == [m.quantity for m in found]
    for old, new in zip(found, back, strict=True):
        assert new.value == pytest.approx(old.value, rel=1e-5, abs=1e-9)
        assert new.clear == old.clear
        assert new.at["speed"] == 0.4
