"""How far sizes read from meshes lie off the true ones: thirty baits after eight damages.

``python tests/drawn/sizes.py --jobs 2 --out sizes.csv`` writes a row for each size of each reading
as it is done. Names after it and ``--damages`` pick readings; rows of others stay in the file.
"""

import argparse
import csv
import sys
import tempfile
from concurrent.futures import ProcessPoolExecutor, as_completed
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
sys.path.insert(0, str(Path(__file__).parents[2]))  # this checkout, whatever is installed

import baits
import damages
import measures
import numpy as np

from simsoft.case.read import loads
from simsoft.drawn.case_text import case_text
from simsoft.drawn.export import write_triangles
from simsoft.drawn.understand import understand
from simsoft.lure.assembly import assemble_whole, mass_properties
from simsoft.lure.parts import assemble

ASKED_UP = ("plank",)  # the one of thirty whose mesh cannot tell which side is up
COLUMNS = ("bait", "damage", "size", "error")
# What the maker needs: thickness to what a caliper reads, the rest to what the action feels.
ALLOWED = {
    "volume": 0.001, "length": 0.1, "body_length": 0.2,
    "stem_length": 0.2, "stem_thickness": 0.03, "stem_width": 0.1,
    "paddle_area": 0.01, "paddle_thickness": 0.05, "angle": 2.0, "offset": 0.1, "outline": 0.15,
    "part_length": 0.2, "part_width": 0.1, "part_thickness": 0.03,
    "neck_width": 0.1, "neck_thickness": 0.03,
}  # fmt: skip


def read(bait, damage, folder):
    """Return what is understood of a bait after a damage; its mesh is written to a folder."""
    make = damages.ALL.get(damage, damages.plain)
    rng = np.random.default_rng([len(bait.name), len(damage)])
    points, faces = make(bait, rng)
    path = Path(folder) / f"{bait.name}-{damage}.stl"
    write_triangles(points, faces, path)
    # both ends of a plain bait may be alike: the maker is asked, and answers
    nose = damages.word_of(bait, make, [-1, 0, 0]) if bait.truth["kind"] is None else None
    # a plain body that is no round one may lie flat or stand on its edge
    up = damages.word_of(bait, make, [0, 0, 1]) if bait.name in ASKED_UP else None
    return understand(path, nose=nose, up=up, unit="inch" if damage == "inches" else None)


def case_volume(understood):
    """Return the volume [mm^3] of the case that is written of a mesh."""
    case = loads(case_text(understood, "a.html", "a_body.stl"), "a.toml")
    return 1e9 * mass_properties(assemble_whole(case, assemble(case))).volume


def of_name(name, asked):
    """Return the rows of one bait after damages; a case's volume beside its mesh's too."""
    bait = next(one for one in baits.all_baits() if one.name == name)
    rows = []
    with tempfile.TemporaryDirectory() as folder:
        for damage in asked:
            found = read(bait, damage, folder)
            off = measures.errors(bait, found)
            off["case_volume"] = case_volume(found) / found.solid.volume() - 1.0
            rows += [(name, damage, size, f"{float(error):.6f}") for size, error in off.items()]
    return rows


def kept(path, names, asked):
    """Return the rows of a file that are of other readings than those asked for."""
    if not path.exists():
        return []
    with path.open(encoding="utf-8") as file:
        return [
            row for row in list(csv.reader(file))[1:] if row[0] not in names or row[1] not in asked
        ]


def main():
    """Read the baits asked for, or all, and write how far every size is off."""
    words = argparse.ArgumentParser(description=__doc__)
    words.add_argument("names", nargs="*", default=[bait.name for bait in baits.all_baits()])
    words.add_argument("--damages", nargs="*", choices=list(damages.ALL), default=list(damages.ALL))
    words.add_argument("--jobs", type=int, default=1)
    words.add_argument("--out", type=Path, required=True)
    asked = words.parse_args()
    others = kept(asked.out, asked.names, asked.damages)
    with asked.out.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerows([COLUMNS, *others])
        with ProcessPoolExecutor(asked.jobs) as pool:
            jobs = [pool.submit(of_name, name, asked.damages) for name in asked.names]
            for job in as_completed(jobs):
                writer.writerows(job.result())
                file.flush()


if __name__ == "__main__":
    main()
