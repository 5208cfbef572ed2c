"""Parts that are many times as long as what their weight in water bends are refused in one line."""

import re

import numpy as np
import pytest

from simsoft.bodies.rod.setup import prepare_rod
from simsoft.case.limits import TYPICAL_BY_KIND, TYPICAL_HARDNESS
from simsoft.case.read import load, loads
from simsoft.cli.main import main
from simsoft.core.errors import InputError
from simsoft.design.sweep.row import REFUSED
from simsoft.design.sweep.task import BaseCase, Task, solve_task
from simsoft.engine.run import run
from simsoft.lure.limp import MOST_BENDS, bending_lengths, check_limp, slow_parts
from simsoft.lure.parts import GRAVITY, Specimen, assemble, values_of

LIMP = """
title = "Limp ribbon"
[water]
temperature = "22 degC"
salinity = "0 g/kg"
[material]
durometer = "1 OO"
density = "1020 kg/m^3"
[[parts]]
name = "tail"
kind = "ribbon"
length = "300 mm"
width = "4 mm"
thickness = "0.36 mm"
[[scenarios]]
name = "swim"
kind = "retrieve"
speed = ["0.3 m/s"]
"""
STATED = LIMP.replace('durometer = "1 OO"', 'youngs_modulus = "1e-6 kPa"')


def count_of(text, *overrides):
    lure = assemble(loads(text, "c.toml", overrides))
    (strip,) = lure.strips
    return bending_lengths(strip, lure.water, values_of(strip))


def test_the_bending_length_is_that_of_a_rectangle():
    stated = ("material.youngs_modulus=100 kPa", 'parts.tail.bending="beam"')
    lure = assemble(loads(STATED, "c.toml", stated))
    values = values_of(lure.strips[0])
    weight = (values["density"] - lure.water.density) * GRAVITY * 4e-3 * 0.36e-3
    stiffness = 1e5 * 4e-3 * 0.36e-3**3 / 12.0
    by_hand = 0.3 * np.cbrt(weight / stiffness)
    assert count_of(STATED, *stated) == pytest.approx(by_hand, rel=1e-9)


def test_a_run_that_takes_long_says_so_before_it_starts(tmp_path, monkeypatch, capfd):
    (tmp_path / "c.toml").write_text(LIMP.replace("300 mm", "180 mm"))

    def started(*_):
        raise InputError("started")

    monkeypatch.setattr("simsoft.engine.run.run", started)
    monkeypatch.setattr("simsoft.cli.main.compile_all", lambda *_: None)
    with pytest.raises(SystemExit):
        main(["run", str(tmp_path / "c.toml")])
    lines = [line for line in capfd.readouterr().err.splitlines() if line]
    assert re.fullmatch(
        r"warning: parts.tail: is 1\d.\d times as long as .* takes minutes.*", lines[0]
    )
    assert lines[-1].endswith("started")
    assert slow_parts(loads(LIMP.replace("300 mm", "60 mm"), "c.toml")) == []


def refusal(text, *overrides):
    with pytest.raises(InputError) as refused:
        run(loads(text, "c.toml", overrides), bands=False)
    (line,) = refused.value.problems
    return line


def test_a_limp_ribbon_is_refused_and_every_way_out_is_one():
    line = refusal(LIMP)
    said = r"parts\.tail\.length: is 300 mm, .* mm that its weight in water bends; at most 20 times"
    assert re.search(said, line)
    ways = dict(re.findall(r"`([\w.]+)` (?:up to|from) ([\d.]+)", line))
    assert "31.0 times the 9.7 mm" in line
    assert set(ways) == {"length", "thickness", "material.durometer"}
    for out in (
        f"parts.tail.length={ways['length']} mm",
        f"parts.tail.thickness={ways['thickness']} mm",
        f"material.durometer={ways['material.durometer']} OO",
    ):
        case = loads(LIMP, "c.toml", (out,))
        check_limp(case, assemble(case))
        assert 0.9 * MOST_BENDS < count_of(LIMP, out) <= MOST_BENDS


def test_each_size_that_the_trade_pours_is_taken_but_not_all_ends_at_once():
    for kind in ("strip", "ribbon"):
        sizes = {key: TYPICAL_BY_KIND[kind, key] for key in ("length", "width", "thickness")}
        middle = [f"parts.tail.{key}={sum(ends) / 2} mm" for key, ends in sizes.items()]
        ends = [
            f"material.durometer={TYPICAL_HARDNESS['OO'][0]:g} OO",
            "material.density=1300 kg/m^3",
            f"parts.tail.length={sizes['length'][1]} mm",
            f"parts.tail.width={sizes['width'][0]} mm",
            f"parts.tail.thickness={sizes['thickness'][0]} mm",
        ]
        text = LIMP.replace("ribbon", kind)
        usual = ["material.durometer=46 OO", *middle]
        assert max(count_of(text, *usual, end) for end in ends) < MOST_BENDS
        if kind == "ribbon":
            assert count_of(text, *ends) > MOST_BENDS


def test_without_weight_nothing_is_too_limp():
    case = loads(LIMP, "c.toml", ("scenarios.swim.gravity=false",))
    check_limp(case, assemble(case))


def test_a_row_of_a_sweep_is_refused_with_the_reason():
    import tomllib

    base = BaseCase("c.toml", LIMP, tomllib.loads(LIMP))
    for mode in ("fast", "full"):
        row = solve_task(base, Task((), mode=mode), "k")
        assert row.status == REFUSED
        assert "its weight in water bends" in row.reason


def test_the_command_line_names_the_file_and_ends_with_two(tmp_path, capsys):
    path = tmp_path / "limp.toml"
    path.write_text(LIMP)
    load(path)
    with pytest.raises(SystemExit) as ended:
        main(["run", str(path), "--quiet"])
    assert ended.value.code == 2
    told = capsys.readouterr().err.strip().splitlines()
    assert len(told) == 1
    assert told[0].startswith(f"error: {path}: parts.tail.length: is 300 mm")


def test_a_stated_modulus_is_tried_and_the_reason_says_what_to_change():
    lure = assemble(loads(STATED, "c.toml"))
    (strip,) = lure.strips
    ready = prepare_rod(Specimen(strip, lure.water, values_of(strip), gravity=True))
    assert not ready.still.found
    assert "too limp: its weight in water bends each 0.037 mm of its 300 mm" in ready.still.message
    assert "give a stiffer material, more thickness or less length" in ready.still.message
