"""``simsoft new --from``: a mesh to a case, the page to confirm it, and the trunk's own mesh."""

from __future__ import annotations

import shlex
from itertools import count
from pathlib import Path

from simsoft.case.read import loads
from simsoft.case.wording import printable
from simsoft.core.errors import InputError
from simsoft.core.files import whole_file, write_text
from simsoft.drawn.balance import balance_text, mesh_balance
from simsoft.drawn.case_text import case_text
from simsoft.drawn.export import write_mesh
from simsoft.drawn.understand import understand
from simsoft.report.html.bait import bait_page


def new_from_mesh(
    mesh: str, out: str | None, nose: str | None, up: str | None, unit: str | None
) -> tuple[str, list[str]]:
    """Write case, page and the trunk's mesh, and return the text to show and notes.

    Parameters
    ----------
    mesh : str, path of the mesh
    out : str or None, path of the case; None puts it beside the mesh
    nose, up, unit : str or None, answers to what the mesh cannot tell

    Raises
    ------
    InputError
        The mesh cannot be read or understood, or a file is there already.
    """
    source = Path(mesh)
    target = Path(out) if out is not None else source.with_suffix(".toml")
    _, page, body = written = _written(target)
    for path in written:
        if path.exists():
            free = printable(shlex.quote(str(_free(target, source.stem))))
            raise InputError(f"{printable(str(path))}: exists already; say --out {free}")
    if target.parent.resolve() != source.parent.resolve():
        notes = [f"put {source.name} beside {target.name}: simsoft cad looks for it there"]
    else:
        notes = []
    found = understand(source, nose=nose, up=up, unit=unit)
    text = case_text(found, page.name, body.name)
    case = loads(text, str(target))
    rows = mesh_balance(found, case)
    with whole_file(body) as temporary:
        write_mesh(found.trunk.solid, temporary)
    write_text(page, bait_page(found, rows, target.name))
    write_text(target, text)
    parts = ", ".join(f"{p.name} ({p.kind}{' pair' if p.mirrored else ''})" for p in found.parts)
    told = [
        f"{found.name}: {found.trunk.family}, {found.length:.1f} mm long; parts: {parts or 'none'}",
        *(f"  {note}" for note in (*found.notes, *found.trunk.notes)),
        *(f"  {part.name}: {note}" for part in found.parts for note in part.notes),
        balance_text(rows).rstrip(),
    ]
    checks = text.count("# CHECK") + sum(row.flagged for row in rows)
    notes.append(f"wrote {target}, {page.name} and {body.name}; {checks} lines to CHECK")
    notes.append(f"next: open {page}, then simsoft run {target}")
    return "\n".join(told) + "\n", notes


def _written(target: Path) -> tuple[Path, Path, Path]:
    """Return the paths of a case, its page and its trunk's mesh."""
    return target, target.with_suffix(".html"), target.with_name(f"{target.stem}_body.stl")


def _free(target: Path, mesh: str) -> Path:
    """Return the first of NAME2, NAME3, ... beside a taken case of which no file is there yet.

    Parameters
    ----------
    target : Path, the case that is taken
    mesh : str, stem of the mesh: a case that has only a number behind it counts on
    """
    numbered = target.stem.startswith(mesh) and target.stem[len(mesh) :].isdecimal()
    stem = mesh if numbered else target.stem
    names = (target.with_name(f"{stem}{number}.toml") for number in count(2))
    return next(name for name in names if not any(path.exists() for path in _written(name)))
