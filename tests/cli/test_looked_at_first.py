"""Files are looked at before anything heavy is loaded: a wrong path is told at once."""

import subprocess
import sys

import pytest

from simsoft.case.starter import starter

ASK = """
import sys
from simsoft.cli.main import main
try:
    main(sys.argv[1:])
except SystemExit as end:
    print("status", end.code, "loaded", sorted({"numba", "scipy"} & set(sys.modules)))
"""
COMMANDS = (
    ("run", "none.toml"),
    ("run", "broken.toml"),
    ("sweep", "none.toml", "--vary", "parts.tail.length=1:2:1 mm", "--out", "out"),
    ("compare", "none.toml", "track.csv"),
    ("compare", "case.toml", "none.csv"),
    ("compare", "none.csv"),
    ("measure", "none.csv"),
    ("measure", "none.mp4"),
    ("calibrate", "none.csv"),
    ("plan", "none.toml"),
    ("tolerance", "none.toml", "--out", "out"),
    ("cad", "none.toml", "--out", "out"),
    ("pick", "none.toml", "--out", "out"),
    ("resolve", "none.toml", "--out", "out"),
)


@pytest.mark.parametrize("words", COMMANDS, ids=" ".join)
def test_a_wrong_file_is_told_before_the_engine_is_loaded(tmp_path, words):
    (tmp_path / "case.toml").write_text(starter("paddle-tail"))
    (tmp_path / "broken.toml").write_text("a = [")
    (tmp_path / "track.csv").write_text("t_s,x_mm\n")
    found = subprocess.run(
        [sys.executable, "-c", ASK, *words], cwd=tmp_path, capture_output=True, text=True
    )
    assert found.stdout == "status 2 loaded []\n", found.stdout + found.stderr
    assert found.stderr.startswith("error: ")
    assert len(found.stderr.splitlines()) == 1
    assert not (tmp_path / "out").exists()
