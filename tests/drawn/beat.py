"""What a bait's mesh and its true sizes predict, side by side.

``python tests/drawn/beat.py --jobs 2 --out beat.csv`` runs all generated baits that have a soft
part and writes each as it is done; names after it pick baits.
"""

import argparse
import csv
import re
import sys
import tempfile
from concurrent.futures import ProcessPoolExecutor, as_completed
from dataclasses import replace
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
sys.path.insert(0, str(Path(__file__).parents[2]))  # this checkout, whatever is installed

import baits
from true_cases import BEATING, true_case

from simsoft.case.read import loads
from simsoft.drawn.case_text import case_text
from simsoft.drawn.export import write_triangles
from simsoft.drawn.understand import understand
from simsoft.engine.run import run

COLUMNS = ("bait", "kind", "quantity", "speed", "true", "read", "share")
ASKED = ("natural_frequency", "start_speed", "start_frequency", "flap_frequency", "stroke",
         "fold_back", "verdict")  # fmt: skip
RATES = ("natural_frequency", "start_frequency", "flap_frequency", "start_speed")
MODES = 2
NEAR = 0.03  # of every frequency and of the start speed
JUMP = 0.10  # of the start speed: sizes moved by a percent move it by less on one branch
STATED = r"^(length|width|thickness|arc_angle) = .*# \+-([0-9.]+) (?:mm|deg)"


def written(understood):
    """Return the text that ``simsoft new --from`` writes of a mesh."""
    return case_text(understood, "a.html", "a_body.stl")


def predicted(case, kind):
    """Return {(quantity, speed or mode): value} of a case's first part of a kind, without bands."""
    name = next(part.name for part in case.parts if part.kind == kind)
    found = {}
    for record in run(case, bands=False).records:
        part, _, side = record.part.partition("/")
        if part != name or record.quantity not in ASKED or side in ("right", "lower"):
            continue
        if record.scenario == "tank" and record.quantity != "natural_frequency":
            continue
        key = record.at.get("mode", record.at.get("speed", ""))
        if record.quantity == "natural_frequency" and (
            record.at.get("medium") == "air" or key > MODES
        ):
            continue
        found.setdefault((record.quantity, key), record.value)
    return found


def compared(bait, read):
    """Return rows of what the true sizes of a bait predict beside what the mesh's case does."""
    kind = bait.truth["kind"]
    true = predicted(true_case(bait), kind)
    rows = []
    for key in sorted(true, key=str):
        a, b = true[key], read.get(key)
        share = ""
        if isinstance(a, float) and isinstance(b, float) and a:
            share = f"{b / a - 1.0:.5f}"
        a, b = (f"{v:.6g}" if isinstance(v, float) else v for v in (a, b))
        rows.append((bait.name, kind, *key, a, b, share))
    return rows


def off(rows):
    """Return what differs by more than allowed, or is said in other words."""
    found = []
    for name, _, quantity, at, true, read, share in rows:
        if quantity == "verdict" and true != read:
            found.append((name, at, true, read))
        if quantity in RATES and (
            (true is None) != (read is None) or abs(float(share or 0)) > NEAR
        ):
            found.append((name, quantity, at, true, read))
    return found


def moved(bait, text):
    """Yield the bait with one true size of its part moved by the doubt that a case states of it."""
    part = text[text.index("[[parts]]") : text.index("[[scenarios]]")]
    for size, doubt in re.findall(STATED, part, re.MULTILINE):
        for step in (float(doubt), -float(doubt)):
            value = bait.truth[size]
            value = [v + step for v in value] if isinstance(value, list) else value + step
            unit = "deg" if size == "arc_angle" else "mm"
            name = f"{bait.name} with {size} {step:+g} {unit}"
            yield replace(bait, name=name, truth=bait.truth | {size: value})


def jumps(rows, other):
    """Tell whether the starts of two true cases lie on two branches."""
    starts = [next(row[4] for row in r if row[2] == "start_speed") for r in (rows, other)]
    if None in starts:
        return starts[0] != starts[1]
    a, b = map(float, starts)
    return abs(b / a - 1.0) > JUMP


def beside(bait, understood):
    """Return rows of both cases of a bait, and of a second branch where the start has two.

    Where the rows differ by more than allowed, the true sizes are moved one by one by the doubt
    that the reading states. Sizes so near whose start jumps show that the true case stands at
    two branches. The first that predicts what the mesh does, in every quantity, gives the second
    rows; a bait whose start does not jump has none.
    """
    text = written(understood)
    read = predicted(loads(text, "read.toml"), bait.truth["kind"])
    rows = compared(bait, read)
    if off(rows) and any(row[2] == "start_speed" for row in rows):
        for other in moved(bait, text):
            second = compared(other, read)
            if jumps(rows, second) and not off(second):
                return rows, second
    return rows, []


def of_name(name):
    """Return the rows of one bait, its mesh written and read again."""
    bait = next(one for one in baits.all_baits() if one.name == name)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"{name}.stl"
        write_triangles(*baits.arrays(bait.solid), path)
        rows, second = beside(bait, understand(path))
        return rows + second


def main():
    """Run the baits asked for, or all, and write what each predicts."""
    words = argparse.ArgumentParser(description=__doc__)
    words.add_argument("names", nargs="*", default=list(BEATING))
    words.add_argument("--jobs", type=int, default=1)
    words.add_argument("--out", type=Path, required=True)
    asked = words.parse_args()
    with asked.out.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(COLUMNS)
        with ProcessPoolExecutor(asked.jobs) as pool:
            for job in as_completed([pool.submit(of_name, name) for name in asked.names]):
                writer.writerows(job.result())
                file.flush()


if __name__ == "__main__":
    main()
