"""Two designs by repeated runs: repeats under the same conditions, matched, at the same speed.

Runs of a design are repeats where speed, water and wind are about the same. Repeats of one design
meet those of the other under about the same conditions, and all of them are moved to one speed.
Nothing is ever pooled across designs.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import TypeVar

import numpy as np

from simsoft.aquarium.compare import NO_BEAT, OF_SPEED
from simsoft.aquarium.measured import At, Measured
from simsoft.aquarium.welch import (
    FEWEST,
    Apart,
    Repeats,
    repeats_of,
    shares_apart,
    welch_difference,
)
from simsoft.core.arrays import Array

T = TypeVar("T")
Pair = tuple[T, T]
# Conditions of a run: how far apart repeats of a design, and matched repeats of two, may lie.
# Relative for speed and frequency, else in SI (common practice, no source).
CLOSE = {"speed": 0.05, "frequency": 0.05, "temperature": 1.0, "salinity": 2e-3, "head_wind": 0.5}
MATCHED = {"speed": 0.15, "frequency": 0.1, "temperature": 1.0, "salinity": 2e-3, "head_wind": 0.5}
RELATIVE = ("speed", "frequency")
# Exponent of the speed, and its standard uncertainty: computed here from six pairs of speeds of
# three demo tails; of the drag of a bluff body, textbook; of all others, a judgement.
EXPONENTS = {"flap_frequency": (1.4, 0.9), "stroke": (0.7, 1.3), "drag": (2.0, 0.5)}
OTHER_EXPONENT = (1.0, 1.0)
SAME_SPEEDS = 1e-4  # relative, speeds closer than this need no moving
NO_SPEED = "at what speed is not said"
# Conditions a run of a folder is left out for where it alone does not say them, and their columns.
STATED = {"speed": "speed_mps", "temperature": "temp_C"}


@dataclass(frozen=True)
class Contrast:
    """One quantity of two designs under the same conditions.

    Attributes
    ----------
    quantity, unit : str
    at : dict, the conditions both are compared at; speed [m/s] is the one both were moved to
    sides : pair of Repeats, None where a design has none under them
    apart : Apart or None, where they cannot be compared
    reason : str, why not; '' where they are
    beats : pair of (runs that beat, runs that do not), where one did not
    speeds : pair of float [m/s], mean ones of the runs, where they were moved to one speed
    """

    quantity: str
    unit: str
    at: At
    sides: Pair[Repeats | None]
    apart: Apart | None
    reason: str = ""
    beats: Pair[Pair[int]] | None = None
    speeds: Pair[float] | None = None

    @property
    def alone(self) -> bool:
        """True where one design has no run under these conditions."""
        return self.beats is None and (self.sides[0] is None) != (self.sides[1] is None)

    @property
    def resolved(self) -> bool:
        """True where the designs differ by more than the band."""
        if self.beats is not None:
            return shares_apart(*self.beats)
        return self.apart is not None and self.apart.resolved


def contrasts(
    first: Sequence[Measured], second: Sequence[Measured], names: Pair[str] = ("first", "second")
) -> list[Contrast]:
    """Return what the runs of two designs say of their differences, quantity by quantity.

    Parameters
    ----------
    first, second : sequence of Measured, every run of a design for itself
    names : pair of str, of the designs
    """
    found: list[Contrast] = []
    for key in dict.fromkeys(_key(m) for m in [*first, *second]):
        own = [m for m in first if _key(m) == key], [m for m in second if _key(m) == key]
        found += _of_quantity(key[0], own, names)
    return found


def doubtful(found: Sequence[Measured]) -> list[Measured]:
    """Return the runs that have a value, but a severe doubt with it: they are left out."""
    return [m for m in found if m.value is not None and not m.clear]


def unsaid(found: Sequence[Measured]) -> list[tuple[Measured, str]]:
    """Return the runs of one design left out for a condition that its others say, and its column.

    A run without speed is no repeat of one that has it; one without temperature is left out where
    most say theirs.
    """
    left: list[tuple[Measured, str]] = []
    for key in dict.fromkeys(_key(m) for m in found):
        own = [m for m in found if _key(m) == key and _usable(m)]
        for condition, column in STATED.items():
            silent = [m for m in own if condition not in m.at]
            said = len(own) - len(silent)
            if said and (condition == "speed" or said > len(silent)):
                left += [(m, column) for m in silent]
                own = [m for m in own if condition in m.at]
    return left


def _key(measured: Measured) -> tuple[str, str]:
    return measured.quantity, str(measured.at.get("part", ""))


def _usable(measured: Measured) -> bool:
    return measured.clear or _still(measured)


def _still(measured: Measured) -> bool:
    return measured.value is None and (measured.reason or "").startswith(NO_BEAT)


def _used(runs: Sequence[Measured]) -> list[Measured]:
    left = [m for m, _ in unsaid(runs)]
    return [m for m in runs if _usable(m) and m not in left]


def _of_quantity(quantity: str, runs: Pair[list[Measured]], names: Pair[str]) -> list[Contrast]:
    """Return the contrasts of one quantity of one part, all conditions."""
    used = _used(runs[0]), _used(runs[1])
    unit = next((m.unit for m in [*runs[0], *runs[1]] if m.unit), "")
    silent = [m for m in [*used[0], *used[1]] if "speed" not in m.at]
    if quantity in OF_SPEED and silent:
        of = " and ".join(
            n for n, side in zip(names, used, strict=True) if side and side[0] in silent
        )
        reason = f"{NO_SPEED} of {of}; {STATED['speed']} in runs.csv or in the file"
        return [Contrast(quantity, unit, {}, (None, None), None, reason)]
    groups = list(_groups(used[0])), list(_groups(used[1]))
    near = sorted(
        (min(len(a), len(b)) < FEWEST, _distance(a, b), i, j)
        for i, a in enumerate(groups[0])
        for j, b in enumerate(groups[1])
        if _match(a, b)
    )
    left = set(range(len(groups[0]))), set(range(len(groups[1])))
    found: list[Contrast] = []
    for _, _, i, j in near:
        if i in left[0] and j in left[1]:
            left[0].remove(i)
            left[1].remove(j)
            found.append(_contrast(quantity, unit, (groups[0][i], groups[1][j]), names))
    for side in (0, 1):
        reason = f"no run of {names[1 - side]} under these conditions"
        for i in left[side]:
            group = groups[side][i]
            values = [m for m in group if m.value is not None]
            one = _repeats(values) if values else None
            sides = (one, None) if side == 0 else (None, one)
            found.append(Contrast(quantity, unit, _conditions(group), sides, None, reason))
    return sorted(found, key=lambda c: float(c.at.get("speed", 0.0)))


def _groups(runs: Sequence[Measured], keys: Iterable[str] = CLOSE) -> Iterator[list[Measured]]:
    """Yield the runs parted wherever a condition steps by more than repeats may."""
    key, *others = keys
    said = sorted((m for m in runs if key in m.at), key=lambda m: float(m.at[key]))
    silent = [m for m in runs if key not in m.at]
    parted = [silent] if silent else []
    for m in said:
        last = parted[-1][-1] if parted and key in parted[-1][-1].at else None
        if last is not None and _near(key, float(last.at[key]), float(m.at[key]), CLOSE):
            parted[-1].append(m)
        else:
            parted.append([m])
    for part in parted:
        if others:
            yield from _groups(part, others)
        else:
            yield part


def _near(key: str, a: float, b: float, table: dict[str, float]) -> bool:
    if key in RELATIVE:
        return abs(a - b) <= table[key] * max(abs(a), abs(b))
    return abs(a - b) <= table[key]


def _conditions(group: Sequence[Measured]) -> At:
    """Return the mean conditions of repeats, speeds as geometric mean."""
    at: At = {}
    for key in CLOSE:
        values = [float(m.at[key]) for m in group if key in m.at]
        if not values:
            continue
        if key in RELATIVE and min(values) > 0.0:
            at[key] = _plain(math.exp(float(np.mean(np.log(values)))))
        else:
            at[key] = _plain(float(np.mean(values)))
    if "part" in group[0].at:
        at["part"] = group[0].at["part"]
    return at


def _plain(value: float) -> float:
    """Return a condition without what the last bits of a mean add."""
    return float(f"{value:.6g}")


def _match(first: Sequence[Measured], second: Sequence[Measured]) -> bool:
    a, b = _conditions(first), _conditions(second)
    both = [key for key in CLOSE if key in a and key in b]
    return all(_near(key, float(a[key]), float(b[key]), MATCHED) for key in both)


def _distance(first: Sequence[Measured], second: Sequence[Measured]) -> float:
    a, b = _conditions(first), _conditions(second)
    both = [key for key in CLOSE if key in a and key in b]
    return sum(
        abs(float(a[key]) - float(b[key]))
        / (MATCHED[key] * (max(abs(float(a[key])), 1e-9) if key in RELATIVE else 1.0))
        for key in both
    )


def _repeats(values: Sequence[Measured], factors: Sequence[float] | None = None) -> Repeats:
    moved = factors or [1.0] * len(values)
    return repeats_of(
        [float(m.value or 0.0) * f for m, f in zip(values, moved, strict=True)],
        [float(m.u or 0.0) * f for m, f in zip(values, moved, strict=True)],
    )


def _contrast(quantity: str, unit: str, runs: Pair[list[Measured]], names: Pair[str]) -> Contrast:
    """Return the contrast of matched repeats."""
    first, second = ([m for m in side if m.value is not None] for side in runs)
    at = _conditions([*runs[0], *runs[1]])
    beat = (len(first), len(runs[0]) - len(first)), (len(second), len(runs[1]) - len(second))
    beats = beat if beat[0][1] or beat[1][1] else None
    if not first or not second:
        sides = _repeats(first) if first else None, _repeats(second) if second else None
        still = [name for name, side in zip(names, (first, second), strict=True) if not side]
        reason = f"no beat of {' and of '.join(still)}"
        return Contrast(quantity, unit, at, sides, None, reason, beats)
    speeds, factors, common = _equalised(quantity, first, second)
    if speeds is not None:
        at["speed"] = _plain(math.sqrt(speeds[0] * speeds[1]))
    one, other = _repeats(first, factors[0]), _repeats(second, factors[1])
    few = [name for name, side in zip(names, (one, other), strict=True) if side.n < FEWEST]
    if few:
        reason = f"one run of {' and of '.join(few)}; two of each tell their scatter"
        return Contrast(quantity, unit, at, (one, other), None, reason, beats)
    found = welch_difference(one, other, common)
    if found.low is None:
        reason = "the runs do not scatter and state no uncertainty of their own"
        return Contrast(quantity, unit, at, (one, other), None, reason, beats)
    return Contrast(quantity, unit, at, (one, other), found, "", beats, speeds)


def _equalised(
    quantity: str, first: Sequence[Measured], second: Sequence[Measured]
) -> tuple[Pair[float] | None, Pair[list[float]], float]:
    """Return mean speeds, factors that move each run to their mean, and the doubt of moving.

    A value goes with a power of the speed. Its exponent is fitted within the designs, held by the
    usual one where their speeds say little. Speeds are None where nothing is moved.
    """
    speeds = [float(m.at.get("speed", 0.0)) for m in (*first, *second)]
    if quantity not in OF_SPEED or max(speeds) <= min(speeds) * (1.0 + SAME_SPEEDS):
        return None, ([1.0] * len(first), [1.0] * len(second)), 0.0
    x = np.log(speeds)
    a, b = x[: len(first)], x[len(first) :]
    apart_by = float(b.mean()) - float(a.mean())
    middle = 0.5 * (float(a.mean()) + float(b.mean()))
    exponent, u = _exponent(quantity, first, second, a, b)
    factors = [float(f) for f in np.exp(exponent * (middle - x))]
    size = float(np.mean([abs(float(m.value or 0.0)) for m in (*first, *second)]))
    means = math.exp(float(a.mean())), math.exp(float(b.mean()))
    return means, (factors[: len(first)], factors[len(first) :]), u * abs(apart_by) * size


def _exponent(
    quantity: str,
    first: Sequence[Measured],
    second: Sequence[Measured],
    a: Array,
    b: Array,
) -> tuple[float, float]:
    """Return the exponent of the speed and its u: usual and fitted one, weighed."""
    usual, doubt = EXPONENTS.get(quantity, OTHER_EXPONENT)
    values = [np.array([float(m.value or 0.0) for m in side]) for side in (first, second)]
    free = len(a) + len(b) - 3
    if free < 1 or min(float(v.min()) for v in values) <= 0.0:
        return usual, doubt
    x = np.concatenate([a - a.mean(), b - b.mean()])
    logs = [np.log(v) for v in values]
    y = np.concatenate([side - side.mean() for side in logs])
    square = float(x @ x)
    if square == 0.0:
        return usual, doubt
    slope = float(x @ y) / square
    left = float((y - slope * x) @ (y - slope * x)) / free
    weights = doubt**-2, square / max(left, 1e-12)
    return (weights[0] * usual + weights[1] * slope) / sum(weights), sum(weights) ** -0.5
