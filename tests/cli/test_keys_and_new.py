"""Starter cases, the table of keys, completion, and values put back into a case."""

import json
import os
import pty
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from simsoft.case.json_schema import FILE, LINE, schema_text
from simsoft.case.keys import all_keys
from simsoft.case.overrides import apply
from simsoft.case.read import loads
from simsoft.case.rewrite import with_values
from simsoft.case.starter import KINDS, demo_files, starter
from simsoft.cli import new as new_command
from simsoft.core.errors import InputError

CASES = Path(__file__).parents[2] / "cases"


def test_new_prints_a_starter_case(command):
    status, out, err = command("new", "paddle-tail")
    assert (status, err) == (0, "")
    assert out.startswith(f"{LINE}\n#")
    assert 'kind = "paddle-tail"' in out


def test_new_writes_a_case_and_its_schema_but_never_over_another_case(command, tmp_path):
    path, schema = tmp_path / "tail.toml", tmp_path / FILE
    status, out, err = command("new", "strip", "--out", path)
    assert (status, out) == (0, "")
    assert err == f"wrote {path} and {schema}; next: simsoft run {path}\n"
    assert schema.read_text(encoding="utf-8") == schema_text()
    text = path.read_text()
    status, _, err = command("new", "leg", "--out", path)
    assert (status, err) == (2, f"error: {path}: exists already; choose another name\n")
    assert path.read_text() == text


def test_new_renews_the_schema_of_an_earlier_version_only(command, tmp_path):
    path, schema = tmp_path / "own.toml", tmp_path / FILE
    schema.write_text("{}")
    assert str(schema) in command("new", "--demo", "paddle_100", "--out", path)[2]
    _, _, err = command("new", "leg", "--out", tmp_path / "leg.toml")
    assert err == f"wrote {tmp_path / 'leg.toml'}; next: simsoft run {tmp_path / 'leg.toml'}\n"
    demo = (CASES / "paddle_100.toml").read_text("utf-8")
    assert path.read_text(encoding="utf-8") == f"{LINE}\n{demo}"


def test_new_of_an_unknown_kind_is_wrong_input(command):
    status, out, err = command("new", "paddletail")
    assert (status, out) == (2, "")
    assert "paddle-tail" in err


def test_an_unknown_demo_case_lists_those_there_are(command):
    status, out, err = command("new", "--demo", "paddel_100")
    assert (status, out) == (2, "")
    assert "`paddel_100` is no demo case (did you mean `paddle_100`?); allowed are claw_95," in err
    assert err.count("\n") == 1


@pytest.mark.parametrize("words", [(), ("strip", "--demo", "paddle_100")])
def test_new_wants_a_kind_or_a_demo_case_where_nobody_can_be_asked(command, monkeypatch, words):
    monkeypatch.setattr(new_command, "is_terminal", lambda: False)
    status, out, err = command("new", *words)
    assert (status, out) == (2, "")
    assert "say the KIND of part, --demo NAME, or --from MESH" in err


def test_new_alone_on_a_terminal_asks_and_asks_again_what_is_wrong(tmp_path):
    answers = [
        "paddle-tail", "Own kicker", "68 degF", "48", "48 OO", "", "", "2.2 mm, 1.9 mm", "", "",
        "0.3 m/s, 0.5 m/s", "own.toml",
    ]  # fmt: skip
    ours, theirs = pty.openpty()
    with subprocess.Popen(
        [sys.executable, "-m", "simsoft", "new"], stdin=theirs, stdout=theirs, stderr=theirs,
        cwd=tmp_path,
    ) as process:  # fmt: skip
        os.close(theirs)
        os.write(ours, ("\n".join(answers) + "\n").encode())
        said = b""
        while True:
            try:
                more = os.read(ours, 4096)
            except OSError:  # the other end is closed
                break
            if not more:
                break
            said += more
        assert process.wait(timeout=60) == 0
    os.close(ours)
    assert b"`48` is not a durometer reading" in said
    text = (tmp_path / "own.toml").read_text(encoding="utf-8")
    case = loads(text)
    assert case.title == "Own kicker"
    assert case.material.hardness == 48
    assert case.water.temperature == pytest.approx(293.15)
    assert case.parts[0].thickness.values == pytest.approx((0.0022, 0.0019))
    assert case.scenarios[1].speeds == pytest.approx((0.3, 0.5))
    assert "# of the finished compound" in text


def test_keys_lists_every_key(command):
    status, out, err = command("keys")
    assert (status, err) == (0, "")
    for key in all_keys():
        assert (key.example if key.form in ("table", "list") else key.path) in out
    assert max(map(len, out.splitlines())) <= 100


def test_keys_of_one_key_says_what_it_may_be(command):
    status, out, _ = command("keys", "parts.paddle_angle")
    assert status == 0
    for word in ("0 to 180 deg", "70 to 110 deg", 'paddle_angle = "90 deg"', "none"):
        assert word in out


def test_keys_of_a_word_of_the_trade_lists_the_keys_about_it(command):
    status, out, err = command("keys", "stem")
    assert (status, err) == (0, "")
    assert out.startswith("No key is called stem. These are about it:")
    listed = {line.split()[0] for line in out.splitlines() if line.startswith("  parts.")}
    assert "parts.paddle_offset" in listed
    assert len(listed) < len(all_keys()) / 4


def test_keys_schema_is_json(command, tmp_path):
    assert json.loads(command("keys", "--schema")[1])["title"] == "simsoft case"
    path = tmp_path / "s.json"
    assert command("keys", "--schema", "--out", path)[0] == 0
    assert path.read_text(encoding="utf-8") == schema_text()


@pytest.mark.parametrize("words", [("gapp",), ("gap", "--schema")])
def test_keys_of_nothing_is_wrong_input(command, words):
    status, out, err = command("keys", *words)
    assert (status, out, err.count("\n")) == (2, "", 1)


@pytest.mark.parametrize(
    ("line", "offered"),
    [
        ("simsoft new pad", "paddle-tail"),
        ("simsoft new --demo pad", "paddle_100"),
        ("simsoft keys parts.thick", "parts.thickness"),
        ("simsoft validate G0", "G01"),
        ("simsoft run {case} --set parts.tail.thick", "parts.tail.thickness="),
        ("simsoft pick {case} --vary parts.tail.paddle_d", "parts.tail.paddle_diameter="),
        ("simsoft run cas", "file,cas"),
        ("simsoft card res", "dir,res"),
    ],
)
def test_the_shell_completes(line, offered):
    line = line.format(case=CASES / "paddle_100.toml")
    words = {"COMP_WORDS": line, "COMP_CWORD": str(len(line.split()) - 1)}
    environment = {**os.environ, **words, "_SIMSOFT_COMPLETE": "bash_complete"}
    found = subprocess.run(
        [sys.executable, "-c", "from simsoft.cli.main import main; main([])"],
        capture_output=True, text=True, env=environment, check=False, timeout=60,
    )  # fmt: skip
    assert any(offered in told for told in found.stdout.splitlines())


CHANGES = {
    "paddle_100": ["parts.tail.thickness=1.8 mm", "material.durometer=40 OO", "shop.cavities=2"],
    "claw_95": ['water.temperature="60 degF"', "numerics.elements=20"],
    "curl_grub_75": ['title="A ] # b"'],
}


@pytest.mark.parametrize("name", CHANGES)
def test_values_go_back_and_comments_stay(name):
    text = demo_files()[name].read_text(encoding="utf-8")
    changed = with_values(text, CHANGES[name])
    assert tomllib.loads(changed) == apply(tomllib.loads(text), CHANGES[name])[0]
    notes = [line.partition("#")[2] for line in text.splitlines() if "#" in line]
    assert all(note in changed for note in notes)
    loads(changed)


@pytest.mark.parametrize("kind", KINDS)
def test_a_table_along_the_length_goes_back_in_one_line(kind):
    text = starter(kind)
    part = tomllib.loads(text)["parts"][0]
    size = "diameter" if kind == "leg" else "thickness"
    new = '{ at = [0, 0.5, 1], value = ["3 mm", "2.5 mm", "2 mm"] }'
    changed = with_values(text, [f"parts.{part['name']}.{size}={new}"])
    assert len(changed.splitlines()) == len(text.splitlines())


def test_what_cannot_be_set_is_not_put_back():
    with pytest.raises(InputError, match="no entry of `parts` is named"):
        with_values(starter("claw"), ["parts.tail.thickness=1 mm"])


def test_run_write_without_set_is_wrong_input(command):
    status, _, err = command("run", CASES / "paddle_100.toml", "--write")
    assert status == 2
    assert "there is no --set" in err


STRIP = """
title = "Own strip"
[material]
durometer = "50 OO"       # as poured
[[parts]]
name = "strip"
kind = "strip"
length = "40 mm"
width = "6 mm"
thickness = "2 mm"        # by caliper
[numerics]
elements = 6
[[scenarios]]
name = "tank"
kind = "hold"
"""


def test_run_write_puts_values_back(command, tmp_path):
    path = tmp_path / "own.toml"
    path.write_text(STRIP)
    change = "parts.strip.thickness=2.5 mm"
    status, _, err = command("run", path, "--set", change, "--write")
    assert status == 0
    assert f"wrote {change} back to {path}" in err
    assert path.read_text() == STRIP.replace('"2 mm"', '"2.5 mm"')


def test_what_a_change_does_is_kept_with_its_run(command, tmp_path):
    path, folder = tmp_path / "own.toml", tmp_path / "kept"
    path.write_text(STRIP)
    change = ("--set", "parts.strip.thickness=2.5 mm", "--change")
    status, out, _ = command("run", path, *change, "--json", "--out", folder)
    assert status == 0
    (ring,) = json.loads(out)["changes"]
    assert ring["quantity"] == "natural_frequency"
    assert 1.0 < ring["low"] < ring["ratio"] < ring["high"]
    assert json.loads((folder / "records.json").read_text())["changes"] == [ring]
    told = f"{100 * (ring['ratio'] - 1):+.0f} %"
    assert told in command("run", path, *change)[1]
    assert told in (folder / "report.html").read_text()
    before = (folder / "report.html").read_text()
    assert command("report", folder, "--quiet")[0] == 0
    assert (folder / "report.html").read_text() == before


def test_a_run_that_is_refused_writes_nothing(command, tmp_path):
    path = tmp_path / "own.toml"
    path.write_text(STRIP)
    status, _, _ = command("run", path, "--set", "parts.strip.thickness=-1 mm", "--write")
    assert status == 2
    assert path.read_text() == STRIP
