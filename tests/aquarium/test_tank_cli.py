"""The aquarium's commands: exit status, streams, files, one clear line for a user's mistake."""

import json
import subprocess
import sys

import pytest
from bench import STRIP, ringdown_text, sine_rows, track_text

from simsoft.cli import main as cli


@pytest.fixture
def command(capsys, tmp_path, monkeypatch):
    """Run the command line in a fresh directory; return status, stdout, stderr."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "strip.toml").write_text(STRIP)
    (tmp_path / "ring.csv").write_text(ringdown_text(6.5, 0.08, 3.0, 30.0))
    (tmp_path / "weigh.csv").write_text("part_id,mass_g,mass_sub_g,water_C\na,10,0.25,20\n")
    time, y = sine_rows(5.0, 10.0, 2.0, 120)
    (tmp_path / "track.csv").write_text(track_text(time, 0 * y, y))
    (tmp_path / "flick.csv").write_text(
        "run_id,quantity,value,u_68,unit,method,n\nf1,natural_frequency,3.3,0.05,Hz,flick,6\n"
    )

    def call(*words):
        with pytest.raises(SystemExit) as caught:
            cli.main([str(word) for word in words])
        streams = capsys.readouterr()
        return caught.value.code, streams.out, streams.err

    return call


def test_measure_prints_and_writes(command, tmp_path):
    status, out, err = command("measure", "track.csv", "weigh.csv", "ring.csv", "--out", "seen")
    assert status == 0
    assert "rate" in out
    assert "results.csv" in err
    again = command("measure", "seen/results.csv", "--json")
    body = json.loads(again[1])
    names = {r["quantity"] for r in body["records"]}
    assert {"flap_frequency", "stroke", "density", "youngs_modulus", "loss_factor"} <= names
    assert all(r["basis"].startswith("measured") for r in body["records"])


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["measure", "none.csv"], "none.csv: there is no such file"),
        (["measure", "none.mp4"], "none.mp4: there is no such file"),
        (["measure", "track.csv", "--view", "under"], "--view is `under`"),
        (["measure", "track.csv", "--scale", "0.2"], "--scale is `0.2`"),
        (["measure", "track.csv", "--fastest", "fast"], "--fastest is `fast`"),
        (["compare", "strip.toml"], "at least one measurement"),
        (["compare", "strip.toml", "track.csv", "--lock", "l.json"], "give no measurements"),
        (["compare", "strip.toml", "track.csv", "--locked", "strip.toml"], "not a locked"),
        (["calibrate", "strip.toml"], "at least one measurement"),
        (["calibrate", "track.csv"], "give it before them"),
        (["plan", "strip.toml"], "a retrieve scenario is needed"),
        (["plan", "strip.toml", "--scatter", "7"], "--scatter is 7"),
    ],
)
def test_a_mistake_is_one_line_and_status_2(command, words, said):
    status, out, err = command(*words)
    assert status == 2
    assert out == ""
    assert said in err
    assert len(err.strip().splitlines()) == 1


def test_lock_then_compare(command, tmp_path):
    assert command("compare", "strip.toml", "--lock", "lock.json")[0] == 0
    status, out, _ = command("compare", "strip.toml", "flick.csv", "--locked", "lock.json")
    assert status == 0
    assert "Prediction: locked" in out
    assert command("compare", "strip.toml", "--lock", "lock.json")[0] == 2
    body = json.loads(command("compare", "strip.toml", "flick.csv", "--json")[1])
    assert body["comparisons"][0]["normalised_error"] >= 0.0
    assert body["prediction"] == ""


def test_bench_to_profile_to_a_narrower_prediction(command, tmp_path):
    status, out, _ = command(
        "calibrate", "strip.toml", "weigh.csv", "ring.csv", "flick.csv", "--profile", "shop.toml"
    )
    assert status == 0
    assert "Band of the natural frequency" in out
    before, after = (float(x.split()[0]) for x in out.split("x/: ")[-2:])
    assert after < before
    assert str(tmp_path) not in (tmp_path / "shop.toml").read_text()
    (tmp_path / "own.toml").write_text('profile = "shop.toml"\n' + STRIP)
    assert command("compare", "own.toml", "flick.csv")[0] == 0
    assert command("calibrate", "weigh.csv", "--profile", "shop.toml")[0] == 2


def test_a_run_without_its_case_is_not_dropped_in_silence(command):
    status, _, err = command("calibrate", "flick.csv")
    assert status == 2
    assert "give it before them" in err
    status, out, _ = command("calibrate", "weigh.csv", "flick.csv")
    assert status == 0
    assert "not used; a run needs its case" in out


def test_pages_fit_80_columns(command):
    for words in (
        ("measure", "weigh.csv", "ring.csv", "flick.csv"),
        ("compare", "strip.toml", "flick.csv", "ring.csv"),
        ("calibrate", "strip.toml", "weigh.csv", "ring.csv", "flick.csv"),
    ):
        status, out, _ = command(*words)
        assert status == 0
        assert max(map(len, out.splitlines())) <= 80


def test_many_designs(command, tmp_path):
    (tmp_path / "two.toml").write_text(
        STRIP.replace("Lockside", "Millpond").replace("2 mm", "3 mm")
    )
    (tmp_path / "flick2.csv").write_text(
        "run_id,quantity,value,u_68,unit,method,n\nf2,natural_frequency,5.5,0.1,Hz,flick,6\n"
    )
    (tmp_path / "designs.csv").write_text(
        "case,measurement\nstrip.toml,flick.csv\ntwo.toml,flick2.csv\n"
    )
    status, out, _ = command("compare", "designs.csv")
    assert status == 0
    assert "2 designs" in out
    assert "bias x" in out
    status, out, _ = command("calibrate", "designs.csv")
    assert status == 0
    assert "predicted from the others" in out


PATHS = """
import sys
from simsoft.cli import main as cli
try:
    cli.main(sys.argv[1:])
finally:
    heavy = [n for n in ("simsoft.engine", "numba", "simsoft.aquarium.compare") if n in sys.modules]
    print("loaded:", *heavy)
"""


@pytest.mark.parametrize(
    ("words", "missing"),
    [
        (("compare", "strip.toml", "none.csv", "gone.csv"), ["none.csv", "gone.csv"]),
        (("compare", "none.toml", "flick.csv"), ["none.toml"]),
        (("compare", "strip.toml", "flick.csv", "--locked", "no.json"), ["no.json"]),
        (("compare", "designs.csv"), ["absent.csv", "two.toml"]),
        (("calibrate", "strip.toml", "none.csv"), ["none.csv"]),
        (("plan", "none.toml"), ["none.toml"]),
        (("measure", "none.csv", "none.mp4"), ["none.csv", "none.mp4"]),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, tuple) else "",
)
def test_paths_are_looked_at_before_the_engine_is_loaded(command, tmp_path, words, missing):
    (tmp_path / "designs.csv").write_text(
        "case,measurement\nstrip.toml,absent.csv\ntwo.toml,flick.csv\n"
    )
    found = subprocess.run(
        [sys.executable, "-c", PATHS, *words], cwd=tmp_path, capture_output=True, text=True
    )
    assert found.returncode == 2
    lines = found.stderr.strip().splitlines()
    assert len(lines) == len(missing)
    for line, name in zip(lines, missing, strict=True):
        assert line.endswith(f"{name}: there is no such file")
    loaded = found.stdout.strip().removeprefix("loaded:").split()
    assert "simsoft.engine" not in loaded
    assert "simsoft.aquarium.compare" not in loaded
