"""A changed case as a file of its own, with its ancestry."""

import hashlib
import re

import pytest

from simsoft.case.read import load
from simsoft.case.rewrite import write_values
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


LOOK = '[[seen]]\nquantity = "start_speed"\nvalue = "0.3 m/s"\nby = "eye"\n'
COMMENT = "# a comment of the table below\n"


def looked_at(folder, look=LOOK):
    """Write a case that was looked at, another table below the look."""
    path = folder / "tail.toml"
    path.write_text(f"{starter('paddle-tail')}\n{look}\n{COMMENT}[shop]\ncavities = 2\n")
    return path


def test_what_was_seen_of_the_old_bait_is_left_out_with_a_reason(tmp_path, capsys):
    old, new = looked_at(tmp_path), tmp_path / "thin.toml"
    assert called(old, "--set", "parts.tail.thickness=2.2 mm", "--out", new) == 0
    assert "look at the new one" in capsys.readouterr().err
    text = new.read_text()
    assert not load(new).seen
    assert "# What was seen of tail.toml is left out: it is of that bait, not of this one." in text
    assert '# value = "0.3 m/s"' in text
    assert COMMENT in text
    assert load(new).parts == load(old, ["parts.tail.thickness=2.2 mm"]).parts


@pytest.mark.parametrize("change", ["title=Other", "parts.tail.thickness=2.80 mm"])
def test_the_same_bait_keeps_what_was_seen_of_it(tmp_path, capsys, change):
    old, new = looked_at(tmp_path), tmp_path / "same.toml"
    assert load(old).parts[0].thickness.values == pytest.approx([2.8e-3, 2.8e-3])
    assert called(old, "--set", change, "--out", new) == 0
    assert load(new).seen == load(old).seen
    assert "seen" not in capsys.readouterr().err


def test_a_look_that_names_no_water_is_of_the_water_of_its_case(tmp_path):
    water = "water.temperature=6 degC"
    for name, look, stays in (("a", LOOK, 0), ("b", f'{LOOK}temperature = "18 degC"\n', 1)):
        new = tmp_path / f"{name}.toml"
        assert called(looked_at(tmp_path, look), "--set", water, "--out", new) == 0
        assert len(load(new).seen) == stays


def test_a_look_in_one_line_is_taken_out_too(tmp_path):
    old, new = tmp_path / "tail.toml", tmp_path / "thin.toml"
    old.write_text(
        'seen = [{ quantity = "start_speed", value = "0.3 m/s", by = "eye" }]\n'
        + starter("paddle-tail")
    )
    assert called(old, "--set", "parts.tail.thickness=2.2 mm", "--out", new) == 0
    assert not load(new).seen
    assert "it is of that bait" in new.read_text()


def test_values_put_back_leave_the_look_of_the_bait_before_them(tmp_path):
    old = looked_at(tmp_path)
    write_values(old, ["parts.tail.thickness=2.2 mm"])
    assert not load(old).seen
    assert "it is of the bait as it was before values were put back" in old.read_text()


def test_of_a_family_the_design_that_is_the_file_keeps_its_look(tmp_path, capsys):
    folder = tmp_path / "family"
    assert family(looked_at(tmp_path), "--vary", "parts.tail.thickness=2.2,2.8 mm",
                  "--write", folder) == 0  # fmt: skip
    assert [len(load(path).seen) for path in sorted(folder.glob("*.toml"))] == [0, 1]
    capsys.readouterr()
    assert family(looked_at(tmp_path), "--vary", "parts.tail.thickness=2.8 mm",
                  "--write", tmp_path / "one") == 0  # fmt: skip
    assert "seen" not in capsys.readouterr().err


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
