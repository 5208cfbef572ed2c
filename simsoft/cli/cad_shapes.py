"""What ``simsoft cad --shapes`` adds: the tail as moulded and deflected, the changed mesh."""

from __future__ import annotations

import dataclasses
import hashlib
from pathlib import Path
from typing import Any

from simsoft.case.files import read_bytes
from simsoft.case.model import Case
from simsoft.case.shapes.mesh_file import LARGEST
from simsoft.core.errors import InputError
from simsoft.core.files import whole_file
from simsoft.geometry.stations import lobes
from simsoft.results.result import Shape

TAIL, CHANGED = "tail_{}.obj", "changed.stl"
LABELS = {"moulded": "moulded", "rest": "deflected"}


def write_shapes(case: Case, tables: dict[str, Any], name: str, directory: Path) -> list[str]:
    """Write the tail's shapes and the changed mesh, and return notes.

    Parameters
    ----------
    case : Case
    tables : dict, of the case, with its overrides
    name : str, path of the case file
    directory : Path
    """
    notes = _tails(case, directory) if case.parts else []
    drawn = tables.get("drawn")
    if isinstance(drawn, dict):
        notes += _changed(case, drawn, Path(name).parent, directory)
    return notes


def _tails(case: Case, directory: Path) -> list[str]:
    """Write each part as it is moulded, and as it rests in the fastest stream asked for."""
    from simsoft.drawn.export import write_triangles
    from simsoft.drawn.loft import joined_triangles, tail

    asked = [s for s in case.scenarios if s.kind == "retrieve" and s.speeds]
    if not asked:
        return ["no retrieve scenario: the deflected tail is left out"]
    fastest = max(asked, key=lambda s: max(s.speeds))
    still = dataclasses.replace(
        fastest, onset=False, march=False, free=False, speeds=(max(fastest.speeds),)
    )
    parts = {strip: part for whole in case.parts for strip, part in lobes(whole)}
    notes = []
    found = _shapes(case, still)
    for label, word in LABELS.items():
        shapes = [s for s in found if s.label == label and s.part in parts]
        if shapes:
            solid = joined_triangles([tail(shape, parts[shape.part]) for shape in shapes])
            with whole_file(directory / TAIL.format(word)) as temporary:
                write_triangles(*solid, temporary)
            notes.append(f"wrote {TAIL.format(word)}")
    if len(notes) > 1:
        notes[-1] += f", at rest at {still.speeds[0]:g} m/s, to look at"
    return notes


def _shapes(case: Case, scenario: Any) -> tuple[Shape, ...]:
    from simsoft.engine.run import run

    return run(dataclasses.replace(case, scenarios=(scenario,), brief=()), bands=False).shapes


def _changed(case: Case, drawn: dict[str, Any], folder: Path, directory: Path) -> list[str]:
    """Write the mesh with its thicknesses as the case has them now, where they differ."""
    from simsoft.drawn.changed import changed
    from simsoft.drawn.export import write_triangles
    from simsoft.drawn.understand import file_points, understand

    path = folder / str(drawn["mesh"])
    try:
        data = read_bytes(path, "a mesh file", LARGEST)
    except InputError:
        return [f"{path.name} is not beside the case: the changed mesh is left out"]
    if hashlib.sha256(data).hexdigest() != drawn["digest"]:
        return [f"{path.name} is not the file that was read: the changed mesh is left out"]
    found = understand(path, nose=drawn.get("nose"), up=drawn.get("up"), unit=drawn["unit"])
    made = changed(found, case)
    notes = [f"mesh: {line}" for line in made.told]
    if not made.moved:
        return [*notes, "no thickness differs from the mesh: it is not written again"]
    with whole_file(directory / CHANGED) as temporary:
        write_triangles(file_points(found, made.points), made.faces, temporary)
    return [*notes, f"wrote {CHANGED} in the file's own axes and unit; screening of look only"]
