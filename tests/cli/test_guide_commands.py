"""Every command, case and program that README and guide show: it parses, loads, runs."""

import math
import re
import shutil
import subprocess
import sys
import tomllib

import pytest
from click.testing import CliRunner
from guide.pages import PAGES, ROOT, blocks, commands

from simsoft.case.read import loads
from simsoft.case.starter import starter
from simsoft.cli import main as cli

SHELL = ("python3", "pip", "eval", "_SIMSOFT_COMPLETE=fish_source")
QUICK = ("keys", "guide", "about")  # run by default; `new` too, where it writes a starter case
NAMED = re.compile(r"`simsoft ([a-z]+)\b[^`]*`")


def called(path):
    """Return the simsoft commands of a page, without the program's name."""
    return [words[1:] for words in commands(path) if words[0] == "simsoft"]


CALLED = [
    pytest.param(words, id=f"{path.stem}: {' '.join(words)}") for path in PAGES
    for words in called(path)
]  # fmt: skip


@pytest.mark.parametrize("words", CALLED)
def test_a_command_is_one_that_the_program_takes(words):
    with cli.commands.make_context("simsoft", list(words)) as group:
        name, command, rest = cli.commands.resolve_command(group, list(words))
        command.make_context(name, rest, parent=group)


@pytest.mark.parametrize("path", PAGES, ids=lambda path: path.stem)
def test_commands_named_in_the_text_exist(path):
    named = set(NAMED.findall(path.read_text(encoding="utf-8")))
    assert named <= set(cli.commands.commands)
    assert {words[0] for words in commands(path)} <= {"simsoft", *SHELL}


def test_extras_that_are_named_exist():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    named = {
        extra
        for path in PAGES
        for listed in re.findall(r'"simsoft\[([a-z,]+)\]"', path.read_text(encoding="utf-8"))
        for extra in listed.split(",")
    }
    assert named
    assert named <= set(project["optional-dependencies"])


def case_blocks():
    return [block for path in PAGES for block in blocks(path, "toml")]


@pytest.mark.parametrize("block", case_blocks(), ids=lambda block: block.page)
def test_a_piece_of_a_case_loads_below_the_starter_case(block):
    if "outline" in block.text:
        pytest.importorskip("shapely")
    plain = loads(starter("paddle-tail"))
    assert loads(f"{starter('paddle-tail')}\n{block.text}") != plain


@pytest.mark.parametrize(
    "words", [p for p in CALLED if p.values[0][0] in QUICK or p.values[0][:2] == ["new", "claw"]]
)
def test_a_quick_command_runs(words, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    found = CliRunner().invoke(cli.commands, words)
    assert found.exit_code == 0, found.output
    assert found.output.strip()


PROGRAMS = [
    pytest.param(b.text, id=b.page, marks=pytest.mark.slow if "cases/" in b.text else ())
    for path in PAGES
    for b in blocks(path, "python")
]


@pytest.mark.parametrize("text", PROGRAMS)
def test_a_program_runs(text):
    done = subprocess.run(
        [sys.executable, "-c", text], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout.strip()


# What is not run here, and why.
LEFT_OUT = {
    "explore": "waits for a browser; tests/cli/test_explore.py runs it",
    "resolve": "takes hours without a card; tests/resolved run it",
}


def left_out(words):
    asks = words == ["new"]  # of somebody at a terminal; tests/cli/test_keys_and_new.py
    return asks or (words[0] in LEFT_OUT and "--cost" not in words)


def weighed():
    return "part_id,mass_g,mass_sub_g,water_C\na,2.05,0.041,20\nb,2.11,0.045,20\nc,2.07,0.039,20\n"


def rung():
    """Return a flicked strip of 3.3 Hz: 1.2 s at 240 frames/s."""
    head = "# t_mm = 2.0, L_mm = 40, w_mm = 10, temp_C = 22\nt_s,x_mm\n"
    times = [k / 240.0 for k in range(288)]
    waves = [2.0 * math.exp(-1.6 * t) * math.cos(20.7 * t) for t in times]
    return head + "".join(f"{t:.6f},{x:.5f}\n" for t, x in zip(times, waves, strict=True))


def filmed(path):
    """Draw a clip of a tail that beats at 5 Hz."""
    pytest.importorskip("av")
    from aquarium.drawn import tail

    from simsoft.validate.studies.film_clip import Tank, encode, render

    tank = Tank()
    frames, time = render(tail(plate=0.015), tank)
    encode(frames, time, path, rate=round(tank.rate))


def drawn(path):
    pytest.importorskip("trimesh")
    from drawn import baits

    from simsoft.drawn.export import write_mesh

    write_mesh(next(b for b in baits.all_baits() if b.name == "kicker").solid, path)


def prepare(folder, wanted, written):
    """Put the files into a folder that commands want and do not write themselves."""
    shutil.copytree(ROOT / "cases", folder / "cases")
    makers = {
        "tail.toml": lambda path: path.write_text(starter("paddle-tail"), encoding="utf-8"),
        "weigh.csv": lambda path: path.write_text(weighed(), encoding="utf-8"),
        "ringdown.csv": lambda path: path.write_text(rung(), encoding="utf-8"),
        "clip.mp4": filmed,
        "bait.stl": drawn,
        "before": lambda path: run(["run", "tail.toml", "--out", "before"], folder),
    }
    for name, maker in makers.items():
        if name in wanted and name not in written:
            maker(folder / name)


def run(words, folder):
    done = subprocess.run(
        [sys.executable, "-m", "simsoft", *words],
        cwd=folder, capture_output=True, text=True, check=False,
    )  # fmt: skip
    allowed = {"diff": (0, 1)}.get(words[0], (0,))  # 1 says that something differs
    assert done.returncode in allowed, f"{words}: {done.stdout}{done.stderr}"


@pytest.mark.slow
@pytest.mark.parametrize("path", [p for p in PAGES if called(p)], ids=lambda path: path.stem)
def test_the_commands_of_a_page_run_one_after_the_other(path, tmp_path):
    chosen = [words for words in called(path) if not left_out(words)]
    wanted = {word for words in chosen for word in words}
    written = {w[w.index("--out") + 1] for w in chosen if w[0] == "new" and "--out" in w}
    prepare(tmp_path, wanted, written)
    for words in chosen:
        run(words, tmp_path)
