"""A changed case as a file of its own, with its ancestry."""

import hashlib
import re

import pytest

from simsoft.case.read import load
from simsoft.case.starter import starter
from simsoft.cli.main import main


def called(*words):
    with pytest.raises(SystemExit) as end:
        main(["vary", *map(str, words)])
    return end.value.code


def test_a_varied_case_says_what_it_came_from(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    old, new = tmp_path / "tail.toml", tmp_path / "thin.toml"
    old.write_text(starter("paddle-tail"))
    change = "parts.tail.thickness=2.2 mm"
    assert called(old, "--set", change, "--out", new) == 0
    text = new.read_text()
    digest = hashlib.sha256(old.read_bytes()).hexdigest()[:12]
    assert text.startswith(f"# From tail.toml ({digest}):\n#   {change}\n")
    assert load(new).parts == load(old, [change]).parts
    assert "# of the stem, in the direction of the kick" in text  # comments stay
    assert called(old, "--set", change, "--out", new) == 2
    assert "exists already" in capsys.readouterr().err


def test_a_wrong_change_leaves_no_file(tmp_path, capsys):
    old, new = tmp_path / "tail.toml", tmp_path / "thin.toml"
    old.write_text(starter("paddle-tail"))
    assert called(old, "--set", "parts.tail.thickness=2.2", "--out", new) == 2
    assert "has no unit" in capsys.readouterr().err
    assert not new.exists()


def test_what_was_seen_of_the_old_bait_is_warned_of(tmp_path, capsys):
    old, new = tmp_path / "tail.toml", tmp_path / "thin.toml"
    look = '[[seen]]\nquantity = "start_speed"\nvalue = "0.3 m/s"\nby = "eye"\n'
    old.write_text(f"{starter('paddle-tail')}\n{look}")
    assert called(old, "--set", "parts.tail.thickness=2.2 mm", "--out", new) == 0
    assert "it is of the old bait" in capsys.readouterr().err


def family(*words):
    with pytest.raises(SystemExit) as end:
        main(["sweep", *map(str, words)])
    return end.value.code


def test_a_family_of_three_sizes_and_two_pours_keeps_its_proportions(tmp_path):
    old, folder = tmp_path / "tail.toml", tmp_path / "family"
    old.write_text(starter("paddle-tail"))
    sizes = ("--vary", "parts.tail.length=9,12,13 mm", "--vary", "material.durometer=42 OO,50 OO")
    links = ("--keep", "parts.tail.paddle_diameter/parts.tail.length")
    assert family(old, *sizes, *links, "--write", folder) == 0
    files = sorted(folder.glob("*.toml"))
    assert len(files) == 6
    for path in files:
        part = load(path).parts[0]
        assert part.paddle.width / part.length == pytest.approx(14 / 12, rel=1e-4)  # five figures
        assert path.read_text().startswith("# From tail.toml (")
        assert not re.search(r"\d\.\d{5}", path.read_text())
    assert {load(path).material.hardness for path in files} == {42.0, 50.0}
    assert (folder / "tail_9mm_42OO.toml").exists()
    assert family(old, *sizes, *links, "--write", folder) == 2  # nothing is written over


def test_a_family_with_one_refused_design_writes_nothing(tmp_path, capsys):
    old, folder = tmp_path / "tail.toml", tmp_path / "family"
    old.write_text(starter("paddle-tail"))
    assert family(old, "--vary", "parts.tail.length=9 mm,-1 mm", "--write", folder) == 2
    assert "length" in capsys.readouterr().err
    assert not list(folder.glob("*.toml"))
