"""What a change does, told by the same samples of both: the doubt that both share cancels."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq
from scipy.special import ndtr

from simsoft.case.model import Case
from simsoft.case.wishes import SHARES, Clause
from simsoft.design.brief import matching
from simsoft.engine.rows import left_open
from simsoft.results.record import Record

HELD = (0.1, 0.9)  # the ends of the band: it holds eight times in ten
ENDS = 1.2816  # standard normal deviate of these
BEYOND = 8.0  # standard deviations within which all of a normal distribution lies
FEWEST = 8  # pairs below which nothing is told


@dataclass(frozen=True)
class Change:
    """What one answer does from the bait in hand to another design.

    Attributes
    ----------
    clause : Clause, that asks for the answer
    middle, low, high : float, ratio of after to before; the band holds eight times in ten
    less : float, share in which it is less: of the pairs, with what the model leaves open of it
    count : int, pairs in which both have a value
    """

    clause: Clause
    middle: float
    low: float
    high: float
    less: float
    count: int


def changes(
    hand: Case,
    case: Case,
    before: Sequence[Sequence[Record]],
    after: Sequence[Sequence[Record]],
) -> tuple[Change, ...]:
    """Return what every number of a brief does from one design to another.

    A pair without a number on a side is left out. Of a share, which may be zero, nothing is told
    then: what is left would speak for the worse pairs alone.

    Parameters
    ----------
    hand, case : Case, the bait in hand and the other design, with the brief
    before, after : sequences of the records of every sample, drawn alike for both
    """
    found: dict[tuple[str, str | None, float | None, float | None], Change] = {}
    for clause in case.brief:
        key = (clause.quantity, clause.part, clause.speed, clause.temperature)
        if key in found or clause.quantity == "verdict":
            continue
        pairs = list(_pairs(clause, case, before, after))
        enough = len(before) if clause.quantity in SHARES else FEWEST
        if len(pairs) >= max(FEWEST, enough):
            ratios = np.array(pairs)
            wide = left_open(hand, case, clause.quantity, float(np.median(ratios)))
            found[key] = _change(clause, ratios, wide)
    return tuple(found.values())


def _pairs(
    clause: Clause,
    case: Case,
    before: Sequence[Sequence[Record]],
    after: Sequence[Sequence[Record]],
) -> Iterator[float]:
    """Yield the logarithm of every ratio where both sides have a number above zero."""
    for old, new in zip(before, after, strict=True):
        first, second = (_number(clause, case, records) for records in (old, new))
        if first is not None and second is not None:
            yield math.log(second / first)


def _number(clause: Clause, case: Case, records: Sequence[Record]) -> float | None:
    found = matching(clause, case, records)
    value = found[0].value if found else None
    return value if isinstance(value, float) and value > 0.0 else None


def _change(clause: Clause, ratios: np.ndarray, wide: float) -> Change:
    """Return a change with its band and its side, both of one distribution.

    Each pair counts as a normal distribution about its logarithm, as wide as the model leaves
    open of the whole change. The band never crosses one where nearly all of it lies on one side.
    """
    middle, low, high = (math.exp(_quantile(ratios, wide, share)) for share in (0.5, *HELD))
    return Change(clause, middle, low, high, _share_below(ratios, wide, 0.0), len(ratios))


def _share_below(ratios: np.ndarray, wide: float, end: float) -> float:
    """Return the share of the pairs below an end, each as ``wide`` as the model leaves open."""
    if wide == 0.0:
        return float((ratios < end).mean())
    return float(ndtr((end - ratios) / wide).mean())


def _quantile(ratios: np.ndarray, wide: float, share: float) -> float:
    """Return where ``_share_below`` reaches a share."""
    if wide == 0.0:
        return float(np.quantile(ratios, share))
    reach = BEYOND * wide
    low, high = float(ratios.min()) - reach, float(ratios.max()) + reach
    return float(brentq(lambda end: _share_below(ratios, wide, end) - share, low, high))
