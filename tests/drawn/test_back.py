"""The way back to CAD: parameters as JSON, the tail as triangles, the mesh with new thicknesses."""

import json
import tomllib

import baits
import measures
import numpy as np
import pytest
from click.testing import CliRunner

from simsoft.case.model import PaddleInput, Part, Taper
from simsoft.case.read import loads
from simsoft.cli.main import commands
from simsoft.design.cad import json_text, parameters
from simsoft.drawn.case_text import case_text
from simsoft.drawn.changed import changed
from simsoft.drawn.export import write_triangles
from simsoft.drawn.loft import tail
from simsoft.drawn.understand import file_points, understand
from simsoft.results.result import Shape


def case_of(understood, *overrides):
    return loads(case_text(understood, "a.html", "a_body.stl"), "a.toml", overrides)


def again(understood, made, folder):
    path = folder / "changed.stl"
    write_triangles(file_points(understood, made.points), made.faces, path)
    return understand(path, unit=understood.unit)


def test_parameters_as_json_carry_value_unit_and_expression(read_bait):
    tables = tomllib.loads(case_text(read_bait("kicker"), "a.html", "b.stl"))
    found = json.loads(json_text(parameters(tables)))
    assert found["tail_thickness"]["value"] == 2.0
    assert found["tail_thickness"]["expression"] == "2 mm"
    assert found["tail_paddle_angle"]["unit"] == "deg"


def test_a_mesh_whose_case_was_not_changed_stays(read_bait):
    made = changed(read_bait("kicker"), case_of(read_bait("kicker")))
    assert not made.moved
    assert made.told == ()


@pytest.mark.parametrize("damage", ["plain", "turned", "inches"])
def test_a_thicker_stem_and_a_thinner_paddle_come_round(read_bait, tmp_path, damage):
    understood = read_bait("kicker", damage)
    case = case_of(
        understood, 'parts.tail.thickness="2.6 mm"', 'parts.tail.paddle_thickness="2.5 mm"'
    )
    made = changed(understood, case)
    assert made.moved
    part = measures.nearest_part(again(understood, made, tmp_path), "paddle-tail")
    assert part.thickness[-1] == pytest.approx(2.6, abs=0.03)
    assert part.plate.thickness == pytest.approx(2.5, abs=0.03)
    assert part.length == pytest.approx(11.0, abs=0.2)
    assert part.plate.offset == pytest.approx(5.0, abs=0.1)


def test_claws_of_a_pair_change_alike(read_bait, tmp_path):
    understood = read_bait("craw")
    case = case_of(
        understood, 'parts.claw.thickness="1.8 mm"', 'parts.claw.neck_thickness="1.56 mm"'
    )
    found = again(understood, changed(understood, case), tmp_path)
    part = measures.nearest_part(found, "claw")
    assert part.mirrored
    assert np.median(part.thickness[part.at > 0.4]) == pytest.approx(1.8, abs=0.03)


def test_lobes_of_a_fork_change_alike(read_bait, tmp_path):
    understood = read_bait("wide")
    case = case_of(understood, 'parts.fork.thickness=["2 mm", "1.25 mm"]')
    found = again(understood, changed(understood, case), tmp_path)
    part = measures.nearest_part(found, "fork-tail")
    assert part.thickness[-1] == pytest.approx(1.25, abs=0.04)
    assert part.fork_angle == pytest.approx(40.0, abs=1.0)


def test_what_a_changed_mesh_leaves_out_is_said(read_bait):
    case = case_of(
        read_bait("kicker"), 'parts.tail.thickness="2.4 mm"', 'parts.tail.paddle_offset="4 mm"',
        'parts.tail.paddle_angle="80 deg"', 'parts.tail.paddle_diameter="13 mm"',
        'body.height="20 mm"',
    )  # fmt: skip
    told = changed(read_bait("kicker"), case).told
    assert told[0] == "body: its sizes changed, which needs CAD"
    assert "tail: thickness times 1.200" in told
    words = ("paddle_angle", "paddle_offset", "paddle's width", "paddle's height")
    assert all(f"tail: {word} changed, which needs CAD" in told for word in words)


def test_another_length_needs_cad(read_bait):
    case = case_of(read_bait("kicker"), 'parts.tail.length="14 mm"')
    made = changed(read_bait("kicker"), case)
    assert not made.moved
    assert made.told == ("tail: its length or width changed, which needs CAD",)


def strip_shape(points=25):
    line = np.column_stack([np.linspace(0, 0.03, points), np.zeros(points), np.zeros(points)])
    half = np.array([0.0, 0.0, 0.002])
    edges = np.stack([line - half, line + half], axis=1)
    turn = np.linspace(0, 2 * np.pi, 48, endpoint=False)
    rim = np.column_stack([np.full(48, 0.0312), 0.006 * np.cos(turn), 0.006 * np.sin(turn)])
    return Shape("tank", "tail", 0.0, line, edges, rim, "moulded", np.array([0.05, 0.0, 0.0]))


def test_a_tail_is_as_large_as_its_sections_say():
    from simsoft.case.shapes.mesh_repair import signed_volume

    plate = PaddleInput("disc", 0.012, 0.012, 0.0024, np.pi / 2, 0.0)
    even = Taper((0.0, 1.0), (0.003, 0.001))
    part = Part("tail", "paddle-tail", 0.03, Taper((0.0,), (0.004,)), even, paddle=plate)
    points, faces = tail(strip_shape(), part)
    disc = 0.5 * 48 * np.sin(2 * np.pi / 48) * 36.0 * 2.4
    assert abs(signed_volume(points, faces)) == pytest.approx(30 * 4 * 2 + disc, rel=1e-6)
    assert points[:, 0].min() == pytest.approx(50.0)
    edges = np.sort(np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]]), 1)
    assert set(np.unique(edges, axis=0, return_counts=True)[1]) == {2}


@pytest.mark.slow
def test_cad_writes_shapes_and_the_changed_mesh(bait, tmp_path):
    write_triangles(*baits.arrays(bait("kicker").solid), tmp_path / "bait.stl")
    done = CliRunner().invoke(commands, ["new", "--from", str(tmp_path / "bait.stl")])
    assert done.exit_code == 0
    out = tmp_path / "cad"
    words = ["cad", str(tmp_path / "bait.toml"), "--shapes", "--out", str(out)]
    done = CliRunner().invoke(commands, [*words, "--set", "parts.tail.thickness=2.4 mm"])
    assert done.exit_code == 0, done.output
    names = {path.name for path in out.iterdir()}
    assert {"tail_moulded.obj", "tail_deflected.obj", "changed.stl", "parameters.json"} <= names
    part = measures.nearest_part(understand(out / "changed.stl"), "paddle-tail")
    assert part.thickness[-1] == pytest.approx(2.4, abs=0.03)
