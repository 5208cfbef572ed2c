"""The case that a mesh becomes: it runs at once, weighs what the mesh weighs, says its doubt."""

import tomllib

import baits
import pytest
from click.testing import CliRunner

from simsoft.case.read import load, loads
from simsoft.cli.main import commands
from simsoft.core.errors import InputError
from simsoft.drawn.balance import balance_text, mesh_balance
from simsoft.drawn.case_text import case_text
from simsoft.drawn.export import write_mesh, write_triangles
from simsoft.lure.assembly import assemble_whole, mass_properties
from simsoft.lure.parts import assemble

ALL = [bait.name for bait in baits.all_baits()]
FEW = ["kicker", "hook", "minnow", "craw", "pennant", "slotted", "rings"]


def whole(case):
    return mass_properties(assemble_whole(case, assemble(case)))


def told(understood):
    return case_text(understood, "page.html", "body.stl")


def weighs_the_same(bait, understood):
    case = loads(told(understood), bait.name)
    assert not [w for w in case.warnings if "width" not in w], case.warnings
    assert whole(case).volume == pytest.approx(1e-9 * bait.solid.volume(), rel=0.01)


@pytest.mark.parametrize("name", FEW)
def test_the_case_weighs_what_the_mesh_weighs(bait, read_bait, name):
    weighs_the_same(bait(name), read_bait(name))


@pytest.mark.parametrize("name", [*FEW, "swept", "crescent", "pincer"])
def test_the_case_is_as_long_as_its_mesh_from_tip_to_tip(bait, read_bait, name):
    box = bait(name).solid.bounding_box()
    told_length = whole(loads(told(read_bait(name)), name)).length
    assert 1e3 * told_length == pytest.approx(box[3] - box[0], abs=0.05)


@pytest.mark.slow
@pytest.mark.parametrize("name", ALL)
def test_every_case_weighs_what_its_mesh_weighs(bait, read_bait, name):
    weighs_the_same(bait(name), read_bait(name))


def test_the_file_says_where_and_how_sure_and_what_to_check(read_bait):
    understood = read_bait("kicker")
    text = told(understood)
    tables = tomllib.loads(text)
    assert tables["drawn"] == {
        "mesh": "kicker-plain.stl", "digest": understood.digest, "unit": "mm"
    }  # fmt: skip
    for key in ("temperature", "durometer", "family", "speed"):
        (line,) = [line for line in text.splitlines() if line.startswith(key)]
        assert "# CHECK" in line
    sizes = [line for line in text.splitlines() if line.startswith(("thickness", "paddle_diam"))]
    assert all("+-" in line for line in sizes)
    assert "narrowest by stiffness at x =" in text
    (part,) = tables["parts"]
    assert (part["thickness"], part["length"]) == ("2.000 mm", "11.00 mm")
    assert (part["paddle_angle"], part["paddle_offset"]) == ("88 deg", "5.00 mm")


def test_names_cannot_break_the_file(read_bait):
    import dataclasses

    odd = dataclasses.replace(read_bait("kicker"), name='a"b\\c.stl')
    assert tomllib.loads(told(odd))["title"] == "a b c"


def test_what_differs_is_flagged(read_bait):
    understood = read_bait("kicker")
    case = loads(told(understood), "kicker")
    assert not [row.name for row in mesh_balance(understood, case) if row.flagged]
    thinner = loads(told(understood), "kicker", ["parts.tail.paddle_diameter=20 mm"])
    rows = mesh_balance(understood, thinner)
    assert {"area end on", "volume"} <= {row.name for row in rows if row.flagged}
    assert "CHECK" in balance_text(rows)


@pytest.fixture
def folder(tmp_path, bait):
    write_triangles(*baits.arrays(bait("kicker").solid), tmp_path / "bait.stl")
    return tmp_path


def test_new_from_a_mesh_writes_case_page_and_trunk(folder):
    words = ["new", "--from", str(folder / "bait.stl")]
    done = CliRunner().invoke(commands, words)
    assert done.exit_code == 0, done.output
    assert {p.name for p in folder.iterdir()} == {
        "bait.stl", "bait.toml", "bait.html", "bait_body.stl"
    }  # fmt: skip
    assert load(folder / "bait.toml").parts[0].kind == "paddle-tail"
    page = (folder / "bait.html").read_text(encoding="utf-8")
    assert page.count("<svg") == 3
    assert "Mesh and case side by side" in page


@pytest.mark.parametrize(
    ("there", "out", "typed"),
    [
        (["bait.toml"], None, "bait2.toml"),
        (["bait.html", "bait2_body.stl"], None, "bait3.toml"),
        (["bait.toml", "bait2.toml"], "bait2.toml", "bait3.toml"),
        (["run_7.toml"], "run_7.toml", "run_72.toml"),
    ],
)
def test_a_second_round_is_told_what_to_type(tmp_path, there, out, typed):
    """The refusal comes before the mesh is read, and its name is free."""
    for name in ("bait.stl", *there):
        (tmp_path / name).touch()
    words = ["new", "--from", str(tmp_path / "bait.stl")]
    words += ["--out", str(tmp_path / out)] if out else []
    done = CliRunner().invoke(commands, words)
    assert isinstance(done.exception, InputError)
    taken = tmp_path / (out or there[0])
    (line,) = done.exception.problems
    assert line == f"{taken}: exists already; say --out {tmp_path / typed}"


def test_answers_belong_to_a_mesh():
    done = CliRunner().invoke(commands, ["new", "strip", "--nose", "+x"])
    assert done.exit_code == 2


def test_a_mesh_may_be_the_body(folder, read_bait):
    understood = read_bait("slotted")
    text = told(understood)
    write_mesh(understood.trunk.solid, folder / "body.stl")
    path = folder / "a.toml"
    path.write_text(text.replace("# mesh = ", "mesh = "), encoding="utf-8")
    found, tables = whole(load(path)), whole(loads(text))
    assert found.volume == pytest.approx(1e-9 * understood.solid.volume(), rel=1e-3)
    assert found.volume == pytest.approx(tables.volume, rel=2e-3)
    assert found.projected_areas == pytest.approx(tables.projected_areas, rel=0.03)
    assert found.centre_of_mass == pytest.approx(tables.centre_of_mass, abs=5e-4)
    with pytest.raises(InputError, match="leave `mesh` out"):
        load(path, ['body.height="9 mm"'])


@pytest.mark.parametrize("name", ["../body.stl", "/elsewhere/body.stl", "a\\b.stl", ".hidden.stl"])
def test_a_mesh_lies_beside_its_case(read_bait, name):
    text = told(read_bait("kicker")).replace('# mesh = "body.stl"', f"mesh = '{name}'")
    with pytest.raises(InputError, match="plain file name"):
        loads(text)
