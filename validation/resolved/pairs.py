"""What a change between two designs leaves open: ``python validation/resolved/pairs.py``.

Pairs of resolved runs that both beat, by the resolved flow and by the reduced model: how far the
change of a logarithm is off. Pairs of one shape differ in speed alone, as in stiffness by
dimensions: their error is a share of the change. Other shapes leave more open, the farther apart
they are, however small the change is. Open pairs set ``OF_A_BEAT`` in ``simsoft/engine/rows.py``;
leaving each design out in turn says how well they do it. Pairs of sealed runs judge, and set
nothing.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterator
from typing import NamedTuple

import numpy as np
from jobs import bait_case, designs, overrides_of
from tables import HERE, MOVES, Table, best, rows, value

from simsoft.case.model import Case
from simsoft.case.read import load
from simsoft.engine.rows import FAR_APART, OF_A_BEAT
from simsoft.geometry.apart import shape_distance

COLUMNS = {"flap_frequency": "strouhal", "stroke": "stroke_d"}
STIFF = "stiff"
BASE = ("offset", "thick", "speed")  # all made of the one base tail
TRIED = (0.3, 0.5, 0.7, 1.0, 1.5)  # distances at which shapes have nothing in common
EIGHTY, NINETY = 1.2816, 1.6449  # standard normal deviates


class Pairs(NamedTuple):
    """Pairs of runs, one row each.

    Attributes
    ----------
    names : list of pairs of designs
    change, error : arrays, of the change by the reduced model and of its error, in logarithms
    distance : array, between the two shapes
    """

    names: list[tuple[str, str]]
    change: np.ndarray
    error: np.ndarray
    distance: np.ndarray

    def those(self, chosen: np.ndarray) -> Pairs:
        """Return some of the pairs."""
        names = [name for name, keep in zip(self.names, chosen, strict=True) if keep]
        return Pairs(names, self.change[chosen], self.error[chosen], self.distance[chosen])


def family(run: str) -> str:
    """Return what a run shares with its neighbours: the bait, or the base tail at other speeds."""
    word = run.rsplit("-", 1)[0]
    return "speed" if run == "offset-6" else word if not word.startswith("sample") else run


def design(run: str) -> str:
    """Return the design of a run: all of the base tail are one, as a bait at its speeds is."""
    word = family(run)
    return "base" if word in BASE else run if word == "bait" else word


def beats(run: str, results: Table, reduced: Table) -> bool:
    """Return whether a run beats by both models."""
    both = (results.get(run, {}).get("stroke_d"), reduced[run].get("stroke_d"))
    return all(value(stroke) > MOVES for stroke in both)


def cases() -> Callable[[str], Case]:
    """Return what gives the case of a run."""
    stated, kept = {row["run"]: row for row in designs()}, {}

    def case_of(run: str) -> Case:
        if run not in kept:
            row = stated[run]
            bait = row["family"] == "bait"
            kept[run] = bait_case(row) if bait else load(HERE / "tail.toml", overrides_of(row))
        return kept[run]

    return case_of


def pairs(column: str, sealed: str, same: bool) -> Pairs:
    """Return the pairs of one shape, or of others, of open (0) or sealed (1) runs."""
    found = list(_pairs(column, sealed, same))
    numbers = np.array([row[1:] for row in found], dtype=float).reshape(-1, 3).T
    return Pairs([row[0] for row in found], *numbers)


def _pairs(
    column: str, sealed: str, same: bool
) -> Iterator[tuple[tuple[str, str], float, float, float]]:
    results, case_of = best(rows("results.csv")), cases()
    for table in (rows("reduced.csv"), rows("reduced_baits.csv")):
        kept = [r for r in table if table[r]["sealed"] == sealed and STIFF not in r
                and beats(r, results, table)]  # fmt: skip
        for a, b in itertools.combinations(kept, 2):
            alike = family(a) == family(b) and family(a) not in ("offset", "thick", "bait")
            numbers = [value(t[r][column]) for t in (table, results) for r in (a, b)]
            if alike != same or not all(x > 0.0 for x in numbers):
                continue
            change = math.log(numbers[1] / numbers[0])
            error = math.log(numbers[3] / numbers[2]) - change
            far = 0.0 if same else shape_distance(case_of(a), case_of(b))
            yield (design(a), design(b)), change, error, far


def share(found: Pairs) -> float:
    """Return the error of pairs over their change, root mean squares."""
    return float(np.sqrt((found.error**2).mean() / (found.change**2).mean()))


def floor(found: Pairs, of_change: float, far: float) -> float:
    """Return what far shapes leave open beside a share of the change: four in five lie inside."""
    rest = np.sqrt(np.maximum(0.0, (found.error / EIGHTY) ** 2 - (of_change * found.change) ** 2))
    return float(np.quantile(rest / np.minimum(1.0, found.distance / far), 0.8))


def widths(found: Pairs, of_change: float, least: float, far: float) -> np.ndarray:
    """Return one standard deviation of every pair, as `simsoft.engine.rows.left_open` has it."""
    return np.hypot(of_change * found.change, least * np.minimum(1.0, found.distance / far))


def fit(found: Pairs, of_change: float) -> tuple[float, float]:
    """Return the distance that makes the errors likeliest, and the floor that goes with it."""
    tried = {}
    for far in TRIED:
        least = floor(found, of_change, far)
        wide = widths(found, of_change, least, far)
        tried[far] = (-(np.log(wide) + 0.5 * (found.error / wide) ** 2).mean(), least)
    far = max(tried, key=lambda one: tried[one][0])
    return far, tried[far][1]


def held(found: Pairs, of_change: float, least: float, far: float) -> tuple[int, int]:
    """Return how many pairs lie inside the bands of 80 and of 90 %."""
    wide = widths(found, of_change, least, far)
    first, second = (int((abs(found.error) <= z * wide).sum()) for z in (EIGHTY, NINETY))
    return first, second


def left_out(found: Pairs, of_change: float, far: float) -> tuple[float, float]:
    """Return the shares held of pairs with a design in them that the floor was not set by."""
    total = np.zeros(3)
    for one in sorted({name for pair in found.names for name in pair}):
        within = np.array([one in pair for pair in found.names])
        judged, least = found.those(within), floor(found.those(~within), of_change, far)
        total += (*held(judged, of_change, least, far), len(judged.names))
    return total[0] / total[2], total[1] / total[2]


def main() -> None:
    """Print shares and floors of open pairs, and what they hold of left-out and sealed ones."""
    for quantity, column in COLUMNS.items():
        alike, other = (pairs(column, "0", same) for same in (True, False))
        print(f"{quantity}, one shape: {share(alike):.2f} of the change ({len(alike.names)} open "
              f"pairs of {len(set(alike.names))} designs)")  # fmt: skip
        of_change, least = OF_A_BEAT[quantity]
        far, fitted = fit(other, of_change)
        print(f"{quantity}, other shapes ({len(other.names)} open pairs): likeliest distance "
              f"{far:g}, floor there {fitted:.3f}; at {FAR_APART:g} it is "
              f"{floor(other, of_change, FAR_APART):.3f}")  # fmt: skip
        for word, kept in (("open", other), ("sealed", pairs(column, "1", False))):
            inside, count = held(kept, of_change, least, FAR_APART), len(kept.names)
            print(f"  {word}: 80 % band holds {inside[0]} of {count}, 90 % band {inside[1]}")
        out = left_out(other, of_change, FAR_APART)
        print(f"  each design left out in turn: {100 * out[0]:.0f} and {100 * out[1]:.0f} %")


if __name__ == "__main__":
    main()
