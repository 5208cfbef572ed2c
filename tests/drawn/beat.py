"""What a bait's mesh and its true sizes predict, side by side.

``python tests/drawn/beat.py --jobs 2 --out beat.csv`` runs all generated baits that have a soft
part and writes each as it is done; names after it pick baits.
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
from true_cases import BEATING, true_case

from simsoft.case.read import loads
from simsoft.drawn.case_text import case_text
from simsoft.drawn.export import write_triangles
from simsoft.drawn.understand import understand
from simsoft.engine.run import run
from simsoft.results.record import why_untrusted

COLUMNS = ("bait", "kind", "quantity", "speed", "true", "read", "share", "march")
ASKED = ("natural_frequency", "start_speed", "start_frequency", "flap_frequency", "stroke",
         "fold_back", "verdict")  # fmt: skip
RATES = ("natural_frequency", "start_frequency", "flap_frequency", "start_speed")
MODES = 2
NEAR = 0.03  # of every frequency and of the start speed


def written(understood):
    """Return the text that ``simsoft new --from`` writes of a mesh."""
    return case_text(understood, "a.html", "a_body.stl")


def predicted(case, kind):
    """Return what a case's first part of a kind does, without bands, and what is in doubt.

    Two dicts by (quantity, speed or mode): the value, and why the answer says that a march there
    is not to be trusted.
    """
    name = next(part.name for part in case.parts if part.kind == kind)
    found, doubted = {}, {}
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
        if record.quantity == "stroke" and why_untrusted(record):
            doubted["flap_frequency", key] = why_untrusted(record)
    return found, doubted


def compared(bait, read):
    """Return rows of what the true sizes of a bait predict beside what the mesh's case does."""
    kind = bait.truth["kind"]
    (true, mine), (read, others) = predicted(true_case(bait), kind), read
    rows = []
    for key in sorted(true, key=str):
        a, b = true[key], read.get(key)
        share = ""
        if isinstance(a, float) and isinstance(b, float) and a:
            share = f"{b / a - 1.0:.5f}"
        a, b = (f"{v:.6g}" if isinstance(v, float) else v for v in (a, b))
        rows.append((bait.name, kind, *key, a, b, share, mine.get(key) or others.get(key) or ""))
    return rows


def off(rows):
    """Return what differs by more than allowed, or is said in other words.

    A rate of which an answer says that its march did not settle is no measure of the reading.
    """
    found = []
    for name, _, quantity, at, true, read, share, doubt in rows:
        if quantity == "verdict" and true != read:
            found.append((name, at, true, read))
        if (
            quantity in RATES
            and not doubt
            and ((true is None) != (read is None) or abs(float(share or 0)) > NEAR)
        ):
            found.append((name, quantity, at, true, read))
    return found


def of_name(name):
    """Return the rows of one bait, its mesh written and read again."""
    bait = next(one for one in baits.all_baits() if one.name == name)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"{name}.stl"
        write_triangles(*baits.arrays(bait.solid), path)
        return compared(bait, predicted(loads(written(understand(path)), "read.toml"),
                                        bait.truth["kind"]))  # fmt: skip


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
