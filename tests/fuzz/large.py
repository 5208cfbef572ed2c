"""Large files of every kind, and how long each takes to be refused.

``python tests/fuzz/large.py`` prints a table: bytes, seconds of a processor, what was said. Exit
status 1 where one takes more than two seconds, is not refused, or not in one clear line. Sound
meshes are read instead, within ten seconds.
"""

from __future__ import annotations

import os
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import large_meshes

from simsoft.aquarium.files.lock import read_lock
from simsoft.aquarium.files.read import measure_files
from simsoft.case.profile import read_profile
from simsoft.case.read import load
from simsoft.case.shapes.drawing import read_drawing
from simsoft.core.errors import InputError
from simsoft.drawn.understand import understand

SIZE = 10_000_000
LONGEST = 2.0  # [s] of a processor, to be refused
LONGEST_READ = 10.0  # [s] of a processor, for a mesh that is sound
SVG = '<svg xmlns="http://www.w3.org/2000/svg">'
CSV = "t_s,x_mm,y_mm\n"


def filled(piece: str, head: str = "", tail: str = "") -> str:
    """Return a text of ten million characters made of a piece."""
    return head + piece * ((SIZE - len(head) - len(tail)) // len(piece)) + tail


FILES: dict[str, tuple[Callable[[Path], Any], str]] = {
    "keys.toml": (load, filled('a = "1 mm"\n')),
    "parts.toml": (load, filled('[[parts]]\nname = "p"\nknd = "strip"\n', 'title = "x"\n')),
    "parts_of_1_MB.toml": (load, '[[parts]]\nname = "p"\nknd = "strip"\n' * 29_000),
    "tables_of_1_MB.toml": (load, "".join(f"[a{i}]\nb = 1\n" for i in range(64_000))),
    "values_of_1_MB.toml": (load, "".join(f'a{i} = "1 mm"\n' for i in range(55_000))),
    "long_line.toml": (load, filled("[", "a = ")[:999_000]),
    "text.toml": (load, "x" * SIZE),
    "profile.toml": (read_profile, filled('[values.a]\nvalue = "1 kPa"\n')),
    "profile_of_1_MB.toml": (
        read_profile,
        "".join(f'[values.a{i}]\nvalue = "1 kPa"\n' for i in range(28_000)),
    ),
    "track.csv": (lambda p: measure_files([p]), filled("0.1,2,3\n", CSV)),
    "wide.csv": (lambda p: measure_files([p]), filled("a,")),
    "long_cell.csv": (lambda p: measure_files([p]), CSV + "9" * SIZE),
    "blank.csv": (lambda p: measure_files([p]), filled("\n", CSV)),
    "comments.csv": (lambda p: measure_files([p]), filled("# a = 1, b = 2\n")),
    "bytes.csv": (lambda p: measure_files([p]), "\x00" * SIZE),
    "invisible.csv": (lambda p: measure_files([p]), filled("1,2\n", CSV, "\u200b")),
    "shapes.svg": (read_drawing, filled('<rect width="1" height="1"/>', SVG, "</svg>")),
    "path.svg": (read_drawing, filled("L 1 2 ", f'{SVG}<path d="M 0 0 ', '"/></svg>')),
    "path_of_2_MB.svg": (read_drawing, f'{SVG}<path d="{"L 1 2 " * 330_000}"/></svg>'),
    "groups_of_2_MB.svg": (read_drawing, SVG + "<g>" * 280_000 + "</g>" * 280_000),
    "pairs.dxf": (read_drawing, filled("0\nLINE\n")),
    "pairs_of_2_MB.dxf": (read_drawing, "0\nSECTION\n2\nENTITIES\n" + "0\nLINE\n" * 240_000),
    "list.lock.json": (read_lock, filled("[1,", '{"kind": "locked prediction", "a": ')),
    "words.lock.json": (
        read_lock,
        filled('"a",', '{"kind":"locked prediction","records":[', "1]}"),
    ),
}


MESHES = large_meshes.REFUSED | large_meshes.READ


def seconds() -> float:
    """Return the seconds of a processor so far, those of ended children too."""
    return sum(os.times()[:4])


def refused(name: str, folder: Path) -> tuple[list[str], int, float]:
    """Return what is said of a large file, nothing where it is read; its bytes, and the seconds."""
    path = folder / name
    if name in MESHES:
        use: Callable[[Path], Any] = lambda file: understand(file, unit="mm")  # noqa: E731
        path.write_bytes(MESHES[name]())
    else:
        use, text = FILES[name]
        path.write_text(text)
    begun, lines = seconds(), []
    try:
        use(path)
    except (InputError, ValueError) as error:
        lines = list(getattr(error, "problems", [str(error)]))
    return lines, path.stat().st_size, seconds() - begun


def main() -> int:
    """Print the table, return the exit status."""
    bad = 0
    print("| file | bytes | s | said |\n| --- | --- | --- | --- |")
    with tempfile.TemporaryDirectory() as folder:
        for name in (*FILES, *MESHES):
            lines, size, taken = refused(name, Path(folder))
            read = name in large_meshes.READ
            bad += (not lines) != read or taken > (LONGEST_READ if read else LONGEST)
            said = lines[0].replace(folder, "")[:90] if lines else "read"
            print(f"| {name} | {size} | {taken:.2f} | {said} |", flush=True)
    return int(bad > 0)


if __name__ == "__main__":
    sys.exit(main())
