"""What a change between two designs leaves open: ``python validation/resolved/pairs.py``.

Pairs of resolved runs that both beat, by the resolved flow and by the reduced model: how far the
change of a logarithm is off, over the change itself. Pairs of one shape differ in speed alone, as
in stiffness by dimensions; the others in shape. Open pairs set ``UNSHARED`` in
``simsoft/engine/rows.py``, pairs of sealed runs judge it.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator

import numpy as np
from tables import MOVES, Table, best, rows, value

COLUMNS = {"flap_frequency": "strouhal", "stroke": "stroke_d"}
STIFF = "stiff"


def family(run: str) -> str:
    """Return what a run shares with its neighbours: the bait, or the base tail at other speeds."""
    word = run.rsplit("-", 1)[0]
    return "speed" if run == "offset-6" else word if not word.startswith("sample") else run


def beats(run: str, results: Table, reduced: Table) -> bool:
    """Return whether a run beats by both models."""
    both = (results.get(run, {}).get("stroke_d"), reduced[run].get("stroke_d"))
    return all(value(stroke) > MOVES for stroke in both)


def pairs(column: str, sealed: str, same: bool) -> Iterator[tuple[float, float]]:
    """Yield change by the reduced model and error of that change, both in logarithms."""
    results = best(rows("results.csv"))
    for table in (rows("reduced.csv"), rows("reduced_baits.csv")):
        kept = [r for r in table if table[r]["sealed"] == sealed and STIFF not in r
                and beats(r, results, table)]  # fmt: skip
        for a, b in itertools.combinations(kept, 2):
            alike = family(a) == family(b) and family(a) not in ("offset", "thick", "bait")
            numbers = [value(t[r][column]) for t in (table, results) for r in (a, b)]
            if alike != same or not all(x > 0.0 for x in numbers):
                continue
            change = math.log(numbers[1] / numbers[0])
            yield change, math.log(numbers[3] / numbers[2]) - change


def share(column: str, same: bool) -> tuple[float, int]:
    """Return the error of open pairs over their change, root mean squares, and their number."""
    found = np.array(list(pairs(column, "0", same)))
    return float(np.sqrt((found[:, 1] ** 2).mean() / (found[:, 0] ** 2).mean())), len(found)


def held(column: str, same: bool, left: float, sigmas: float) -> tuple[int, int]:
    """Return how many sealed pairs lie within ``sigmas`` of ``left`` times their change."""
    found = [(abs(error), abs(change)) for change, error in pairs(column, "1", same)]
    return sum(error <= sigmas * left * change for error, change in found), len(found)


def main() -> None:
    """Print shares of open pairs and what they hold of sealed ones."""
    for quantity, column in COLUMNS.items():
        for same in (True, False):
            left, count = share(column, same)
            inside, of = held(column, same, left, 1.28)
            word = "one shape" if same else "other shapes"
            print(f"{quantity}, {word}: {left:.2f} of the change ({count} open pairs); "
                  f"80 % band holds {inside} of {of} sealed pairs")  # fmt: skip


if __name__ == "__main__":
    main()
