"""Mesh files: kinds, units, questions, and everything hostile as one line."""

import io
import os
import re
import struct
import zipfile

import baits
import numpy as np
import pytest
import trimesh
from manifold3d import Manifold
from scipy.spatial import ConvexHull

from simsoft.core.errors import InputError
from simsoft.drawn import understand as understanding
from simsoft.drawn.export import write_triangles
from simsoft.drawn.understand import understand


def refusal(path, **answers):
    with pytest.raises(InputError) as caught:
        understand(path, **answers)
    (line,) = caught.value.problems
    assert "\n" not in line
    assert line.startswith(str(path))
    return line


def packed(path, model, name="3D/3dmodel.model", more=0):
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr(name, model)
        for k in range(more):
            archive.writestr(f"x{k}", "")
    return path


def binary(count, body):
    return b" " * 80 + struct.pack("<I", count) + body


BAD = {
    "ten_million.stl": (binary(10_000_000, bytes(500)), "announces 10000000 faces but holds 10"),
    "empty.stl": (b"", "is empty"),
    "words.stl": (b"hello, this is no mesh " * 20, "it is cut off or no STL"),
    "noise.stl": (b"\x89PNG" + bytes(range(256)) * 20, "no STL"),
    "nan.stl": (binary(10, struct.pack("<f", float("nan")) * 125), "no sane numbers"),
    "zero.stl": (binary(10, bytes(500)), "has no size"),
    "text.stl": (b"solid x\nendsolid x\n", "holds no triangles"),
    "missing.obj": (b"v 0 0 0\nf 1 2 3\n", "cannot be read as OBJ"),
    "noise.obj": (bytes(range(256)) * 40, "holds no triangles"),
    "huge.obj": (b"\nf 1 2 3" * 410_000, "at most 400000 are allowed"),
    "far.obj": (b"v 1e999 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 3\n", "no sane numbers"),
    "huge.ply": (b"ply\nformat ascii 1.0\nelement vertex 1000000000000\nend_header\n", "announces"),
    "no.ply": (b"nothing", "is no PLY file"),
    "no.3mf": (b"PK no archive", "is a damaged archive"),
    "no.step": (b"nothing", "is no STEP file"),
    "no.gltf": (b"nothing", "is no mesh file by its name"),
}


@pytest.mark.parametrize("name", BAD)
def test_a_bad_file_is_one_line(tmp_path, name):
    data, words = BAD[name]
    (tmp_path / name).write_bytes(data)
    assert words in refusal(tmp_path / name)


CUBE = (
    "<mesh><vertices>"
    + "".join(f'<vertex x="{x}" y="{y}" z="0"/>' for x in (0, 100) for y in (0, 9))
    + "</vertices><triangles>"
    + '<triangle v1="0" v2="1" v3="2"/>' * 12
    + "</triangles></mesh>"
)  # fmt: skip
NEST = "".join(
    f'<object id="{k}"><components>' + f'<component objectid="{k - 1}"/>' * 50
    + "</components></object>" for k in range(2, 8)
)  # fmt: skip
BOMBS = {
    "blank": (b"<model>" + b" " * 90_000_000, "unpacks to"),
    "laughs": (b'<!DOCTYPE x [<!ENTITY a "b">]><model>&a;</model>', "declares a document type"),
    "itself": (
        '<model><resources><object id="1"><components><component objectid="1"/></components>'
        '</object></resources><build><item objectid="1"/></build></model>',
        "more than 8 deep",
    ),
    "copies": (
        f'<model><resources><object id="1">{CUBE}</object>{NEST}</resources>'
        '<build><item objectid="7"/></build></model>',
        "builds more faces than are read",
    ),
    "no_xml": ("x", "no valid XML"),
}


@pytest.mark.parametrize("name", BOMBS)
def test_a_bomb_in_3mf_is_one_line(tmp_path, name):
    model, words = BOMBS[name]
    assert words in refusal(packed(tmp_path / f"{name}.3mf", model))


def test_names_in_an_archive_lead_nowhere(tmp_path):
    path = packed(tmp_path / "a.3mf", "<model/>", name="../../outside.model")
    assert "builds no mesh" in refusal(path)
    assert os.listdir(tmp_path) == ["a.3mf"]
    path = packed(tmp_path / "b.3mf", "<model/>", more=1500)
    assert "holds 1501 entries" in refusal(path)


def test_loose_faces_and_open_meshes_are_one_line(tmp_path, bait):
    rng = np.random.default_rng(1)
    path = tmp_path / "soup.stl"
    write_triangles(rng.normal(size=(9000, 3)) * 30, np.arange(9000).reshape(-1, 3), path)
    assert "edges belong to one face only" in refusal(path)
    points, faces = baits.arrays(bait("kicker").solid)
    path = tmp_path / "open.stl"
    write_triangles(points, faces[points[faces].mean(axis=1)[:, 0] < 70.0], path)
    assert "a hole with a rim of" in refusal(path)


def test_several_baits_and_a_mould_half_are_refused_in_words(tmp_path, bait):
    solid = bait("kicker").solid
    three = Manifold.compose([solid, solid.translate([0, 40, 0]), solid.translate([0, 80, 0])])
    write_triangles(*baits.arrays(three), tmp_path / "three.stl")
    assert "holds 3 separate baits" in refusal(tmp_path / "three.stl")
    block = Manifold.cube([120, 40, 20]).translate([-10, -20, 0]) - solid.translate([0, 0, 20])
    write_triangles(*baits.arrays(block), tmp_path / "half.stl")
    assert "such as a mould half" in refusal(tmp_path / "half.stl")


def test_only_what_cannot_be_known_is_asked(tmp_path, bait):
    points, faces = baits.arrays(bait("kicker").solid)
    path = tmp_path / "small.stl"
    write_triangles(points / 25.4, faces, path)
    assert "say --unit inch or cm" in refusal(path)
    assert "is not known" in refusal(path, unit="furlong")
    assert "say another --unit" in refusal(path, unit="m")
    assert "is no axis" in refusal(path, unit="inch", nose="q")
    assert "does not run along the bait" in refusal(path, unit="inch", nose="+z")
    assert understand(path, unit="inch").length == pytest.approx(92.43, abs=0.01)
    path = tmp_path / "stick.stl"
    write_triangles(*baits.arrays(bait("stick").solid), path)
    assert "say --nose +x or --nose -x" in refusal(path)
    assert understand(path, nose="-x").trunk.length == pytest.approx(127.0, abs=0.01)


@pytest.mark.parametrize("kind", ["stl", "obj", "ply", "3mf", "ascii"])
def test_kinds_of_file(tmp_path, bait, kind):
    points, faces = baits.arrays(bait("chunk").solid)
    path = tmp_path / f"a.{'stl' if kind == 'ascii' else kind}"
    mesh = trimesh.Trimesh(points, faces, process=False)
    if kind == "3mf":
        corners = "".join(f'<vertex x="{x}" y="{y}" z="{z}"/>' for x, y, z in points / 25.4)
        sides = "".join(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in faces)
        packed(
            path,
            '<model unit="inch" xmlns="urn:any">'
            f'<resources><object id="1"><mesh><vertices>{corners}</vertices><triangles>{sides}'
            '</triangles></mesh></object></resources><build><item objectid="1"/></build></model>',
        )
    else:
        data = mesh.export(file_type="stl_ascii" if kind == "ascii" else kind)
        path.write_bytes(data.encode() if isinstance(data, str) else data)
    found = understand(path)
    assert found.unit == ("inch" if kind == "3mf" else "mm")
    assert found.solid.volume() == pytest.approx(bait("chunk").solid.volume(), rel=1e-4)


def test_a_missing_extra_is_said_with_its_name(tmp_path, monkeypatch, bait):
    from simsoft.case.shapes import mesh_file

    write_triangles(*baits.arrays(bait("chunk").solid), tmp_path / "a.stl")
    monkeypatch.setattr(mesh_file, "find_spec", lambda name: None)
    assert "pip install 'simsoft[mesh]'" in refusal(tmp_path / "a.stl")
    (tmp_path / "a.step").write_bytes(b"ISO-10303-21;")
    assert "pip install 'simsoft[step]'" in refusal(tmp_path / "a.step")


def test_damaged_step_is_one_line_and_prints_nothing(tmp_path, capfd):
    pytest.importorskip("cascadio")
    (tmp_path / "a.step").write_bytes(b"ISO-10303-21;\nDATA;\n#1=x(;\nENDSEC;\nEND-ISO-10303-21;\n")
    assert "cannot be read as STEP" in refusal(tmp_path / "a.step")
    assert capfd.readouterr() == ("", "")


def test_step_that_runs_away_is_ended_and_one_line(tmp_path, monkeypatch):
    pytest.importorskip("cascadio")
    from simsoft.case.shapes import mesh_step

    (tmp_path / "a.step").write_bytes(b"ISO-10303-21;")
    spin = "while True: pass"
    monkeypatch.setattr(mesh_step, "CHILD", spin)
    monkeypatch.setattr(mesh_step, "PATIENCE", 1.0)
    assert "export it as STL or 3MF" in refusal(tmp_path / "a.step")
    monkeypatch.setattr(mesh_step, "CHILD", "import os; os.kill(os.getpid(), 9)")
    monkeypatch.setattr(mesh_step, "PATIENCE", 60.0)
    assert "export it as STL or 3MF" in refusal(tmp_path / "a.step")


def test_step_of_no_bait_is_refused_by_its_size(tmp_path, monkeypatch, bait):
    pytest.importorskip("cascadio")
    from simsoft.case.shapes import mesh_step

    (tmp_path / "a.step").write_bytes(b"ISO-10303-21;")
    points, faces = baits.arrays(bait("chunk").solid)
    monkeypatch.setattr(mesh_step, "_cut", lambda *_, **__: (points * 1e4, faces))
    assert "check the unit of the export" in refusal(tmp_path / "a.step")


def test_a_file_in_a_pipe_is_no_file(tmp_path):
    if hasattr(os, "mkfifo"):
        os.mkfifo(tmp_path / "a.stl")
        assert "is not a plain file" in refusal(tmp_path / "a.stl")


def test_stl_is_written_as_it_is_read(tmp_path, bait):
    points, faces = baits.arrays(bait("chunk").solid)
    for name in ("a.stl", "a.obj"):
        write_triangles(points, faces, tmp_path / name)
        with open(tmp_path / name, "rb") as file:
            kind = name[-3:]
            mesh = trimesh.load_mesh(io.BytesIO(file.read()), file_type=kind)
        assert mesh.volume == pytest.approx(bait("chunk").solid.volume(), rel=1e-4)


def test_remarks_of_an_obj_may_be_of_any_code_page(tmp_path):
    body = trimesh.creation.icosphere(subdivisions=2)
    body.apply_scale([30.0, 6.0, 8.0])
    path = tmp_path / "bait.obj"
    path.write_bytes(b"# na\xefve f\xe4rg\n" + str(body.export(file_type="obj")).encode())
    assert understand(path, unit="mm", nose="-x", up="+z").length == pytest.approx(60.0, abs=0.5)


def boxes(size, count):
    """Return boxes on a lattice of 2 mm."""
    box = trimesh.creation.box(extents=[size] * 3)
    number = np.arange(count)
    place = 2.0 * np.column_stack([number % 40, number // 40 % 20, number // 800])
    points = (box.vertices[None] + place[:, None]).reshape(-1, 3)
    return points, (box.faces[None] + 8 * number[:, None, None]).reshape(-1, 3)


def test_crumbs_shells_and_crowded_points_are_one_line(tmp_path):
    path = tmp_path / "a.stl"
    write_triangles(*boxes(1.0, 1200), path)
    assert "holds 1200 shells that do not hang together" in refusal(path)
    write_triangles(*boxes(1.0, 900), path)
    assert "holds 900 separate baits" in refusal(path)
    points = np.random.default_rng(1).random((60_000, 3)) * 0.1
    points[-3:, 0] += 500.0
    write_triangles(points, np.arange(len(points)).reshape(-1, 3), path)
    assert "crowded in a spot" in refusal(path)


def test_a_surface_that_crosses_itself_or_is_all_spikes_is_refused_at_once(tmp_path, bait):
    points, faces = baits.arrays(bait("kicker").solid)
    path, rng = tmp_path / "a.stl", np.random.default_rng(2)
    points = points[np.argsort(points[:, 0])]
    order = np.argsort(np.argsort(baits.arrays(bait("kicker").solid)[0][:, 0]))
    blocks = np.array_split(points, 9)
    mixed = np.vstack([blocks[k] for k in rng.permutation(9)])
    write_triangles(mixed, order[faces], path)
    assert re.search("crosses itself: its sections add up to|is torn or rough", refusal(path))
    fine = bait("kicker").solid.refine_to_length(0.5)
    points, faces = baits.arrays(fine)
    write_triangles(points + rng.normal(scale=0.4, size=points.shape), faces, path)
    assert re.search(r"is torn or rough: a section has \d+ loops", refusal(path))


def test_no_sound_bait_looks_torn(bait):
    """Scanned or not; the corners of a skirt of 40 tails too."""
    for name in ("kicker", "rings", "craw", "slotted", "streamer"):
        understanding._refuse_torn(bait(name).solid)
        points, faces = baits.arrays(bait(name).solid.refine_to_length(1.0))
        rough = points + np.random.default_rng(1).normal(scale=0.02, size=points.shape)
        understanding._refuse_torn(baits.solid_of(rough, faces))
    skirt = baits.body("grub", 40, 12)
    for turn in 2 * np.pi * np.arange(40) / 40:
        tail = Manifold.cylinder(45, 0.3, 0.3, 12).rotate([0, 90, 0])
        skirt += tail.translate([36, 4 * np.cos(turn), 4 * np.sin(turn)])
    understanding._refuse_torn(skirt)


def test_the_most_of_a_box_that_a_hull_may_fill_is_no_less_than_it_fills():
    rng = np.random.default_rng(1)
    for _ in range(300):
        points = rng.random((12, 3)) if rng.random() < 0.5 else rng.normal(size=(30, 3))
        filled = ConvexHull(points).volume / np.prod(np.ptp(points, axis=0))
        assert filled <= understanding._most_of_box(points) + 1e-9
    cube = np.array([[x, y, z] for x in (0, 3) for y in (0, 1) for z in (0, 2)], float)
    assert understanding._most_of_box(cube) == 1.0


def test_points_of_a_ply_are_not_counted_as_faces(tmp_path):
    points, faces = boxes(1.5, 1)
    mesh = trimesh.Trimesh(points, faces, process=False).export(file_type="ply", encoding="ascii")
    text = mesh.decode().replace("element vertex 8", "element vertex 450000")
    more = "0 0 0\n" * (450_000 - 8)
    (tmp_path / "a.ply").write_text(text.replace("end_header\n", "end_header\n" + more))
    assert "has no size" in refusal(tmp_path / "a.ply")


def test_a_library_says_nothing_of_a_damaged_mesh(tmp_path, capfd, caplog, recwarn):
    text = trimesh.creation.box(extents=[60, 9, 9]).export(file_type="stl_ascii")
    (tmp_path / "a.stl").write_text(text.replace("normal 1.0", "normal one"))
    with pytest.raises(InputError):
        understand(tmp_path / "a.stl")
    packed(
        tmp_path / "b.3mf", f"<model><resources>{CUBE.replace('100', 'inf')}</resources></model>"
    )
    with pytest.raises(InputError):
        understand(tmp_path / "b.3mf")
    assert (capfd.readouterr(), caplog.records, list(recwarn)) == (("", ""), [], [])


def test_a_text_of_any_code_page_may_be_stl(tmp_path):
    body = trimesh.creation.icosphere(subdivisions=2)
    body.apply_scale([30.0, 6.0, 8.0])
    text = "\n".join(str(body.export(file_type="stl_ascii")).splitlines()[1:])
    (tmp_path / "a.stl").write_bytes(b"solid na\xefve\n" + text.encode() + b"\n")
    found = understand(tmp_path / "a.stl", nose="-x", up="+z")
    assert found.length == pytest.approx(60.0, abs=0.5)
