"""Pick: one value changed so that the brief is met with the best pass probability.

Every candidate is run forward (``candidates``). Where a run has to be marched, candidates that miss
the brief with all inputs in their middle are not sampled: they are never picked. The pick is run
again with bands.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

from simsoft.design.brief import GO, MEETS, Finding
from simsoft.design.candidates import Bench, Candidate, candidate, laid_out, run_and_judge
from simsoft.design.case_tables import quantities, replaced, value_at
from simsoft.design.cost import COSTS, MOULDED, asks_for
from simsoft.design.sweep.axis import Axis
from simsoft.design.text_number import read_quantity
from simsoft.design.tolerance import Trial

# Values with so nearly the best pass probability may be kept as well: judgement, less than the
# sample of 64 leaves in doubt about any of them.
KEEP_WITHIN = 0.10
QUOTED = re.compile(r'"([^"]*)"')  # the sizes of a taper
MOVED = 0.02  # the search for a start speed is no finer, see `sweep.screening`
ALIKE = 1  # decimals of a margin: misses that read alike are told apart by what they cost
SURE = 0.80  # chance from which a smaller change is preferred to a surer one (judgement)


@dataclass(frozen=True)
class Pick:
    """The best single change along one axis.

    Attributes
    ----------
    axis : Axis
    before : str, the case's own value, empty where it states none
    best : Candidate or None, None where no value meets the brief in its middle
    keep : tuple of str, lowest and highest value about the best with nearly its probability
    nearest : Candidate, closest to meeting the brief; the best one where there is one
    candidates : list of Candidate, in the order of the axis
    cost : str, what the change asks for: a new pour, another rig, one more mould
    sure : float, chance from which a smaller change is preferred to a surer one
    idle : bool, the samples do not tell its best from the bait as it stands
    """

    axis: Axis
    before: str
    best: Candidate | None
    keep: tuple[str, str]
    nearest: Candidate
    candidates: list[Candidate]
    cost: str = MOULDED
    sure: float = SURE
    idle: bool = False

    @property
    def least(self) -> Candidate | None:
        """The smallest change that meets the brief as often as ``sure``; None where none does.

        Of a key that does nothing only its own value is left: no change at all.
        """
        own = size_of(self.before)
        good = [
            (abs(size[0] - own[0]), c)
            for c in self.candidates
            if c.middle.passes and c.share >= self.sure and self._worth(c)
            for size in [size_of(c.value)]
            if own is not None and size is not None and size[1] == own[1]
        ]
        return min(good, key=lambda pair: pair[0])[1] if good and own is not None else None

    def _worth(self, tried: Candidate) -> bool:
        return not self.idle or tried.value == self.before

    @property
    def does(self) -> bool:
        """Whether a value meets the brief as often as ``sure``, its change known or not."""
        if self.idle:
            return self.least is not None
        return self.best is not None and self.best.share >= self.sure

    @property
    def chosen(self) -> Candidate:
        """What is advised: the smallest change that does it, else the surest, else the nearest."""
        return self.least or self.best or self.nearest

    @property
    def reason(self) -> Finding | None:
        """The clause that the nearest candidate misses most, None where nothing is missed."""
        return most_missed(self.nearest)


def most_missed(tried: Candidate) -> Finding | None:
    """Return the clause that a candidate misses most in its middle, None where it misses none."""
    missed = [f for f in tried.middle.findings if f.verdict not in (MEETS, GO)]
    return min(missed, key=lambda finding: finding.bands, default=None)


class Hindrance(NamedTuple):
    """Where a clause that the nearest candidate misses is met, and what is missed there.

    Attributes
    ----------
    value : str, the nearest one at which the clause is met
    other : Finding, the clause that is missed there most
    """

    value: str
    other: Finding


def hindrance(found: Pick) -> Hindrance | None:
    """Return what else stands against a pick; None where no value meets the clause it misses."""
    reason = found.reason
    if reason is None:
        return None
    at = found.candidates.index(found.nearest)
    place = found.nearest.middle.findings.index(reason)
    others = [
        (abs(i - at), c.value, missed)
        for i, c in enumerate(found.candidates)
        if c.middle.findings and c.middle.findings[place].verdict in (MEETS, GO)
        for missed in [most_missed(c)]
        if missed is not None
    ]
    if not others:
        return None
    _, value, other = min(others, key=lambda item: item[0])
    return Hindrance(value, other)


def pick_values(bench: Bench, axes: Sequence[Axis], sure: float = SURE) -> list[Pick]:
    """Return the best value of every axis, each changed alone, by forward runs.

    Parameters
    ----------
    bench : Bench
    axes : sequence of Axis, with values
    sure : float, chance from which a smaller change is preferred to a surer one
    """
    trial = bench.trial
    tried = [
        laid_out(bench, value, (f"{axis.path}={value}",)) for axis in axes for value in axis.values
    ]
    middles = run_and_judge(bench, "middles", tried, [one.middle for one in tried])
    cheap = trial.mode == "fast"
    wanted = [
        one.samples if cheap or any(s.passes for s in middle.samples) else []
        for one, middle in zip(tried, middles, strict=True)
    ]
    scattered = run_and_judge(bench, "scatter", tried, wanted)
    found = list(map(candidate, tried, middles, scattered))
    result, start = [], 0
    for axis in axes:
        end = start + len(axis.values)
        cost = asks_for(axis.path, trial.case.shop.mould)
        result.append(choose(axis, _before(trial, axis), found[start:end], cost, sure))
        start = end
    return result


def as_it_stands(bench: Bench) -> Candidate:
    """Return the bait as it stands, run forward and sampled as every change is."""
    own = laid_out(bench, "", ())
    (middle,) = run_and_judge(bench, "as it stands", [own], [own.middle])
    wanted = bench.trial.mode == "fast" or any(s.passes for s in middle.samples)
    samples = own.samples if wanted else []
    (scattered,) = run_and_judge(bench, "as it stands, scatter", [own], [samples])
    return candidate(own, middle, scattered)


def told_from(picks: Sequence[Pick], own: Candidate) -> list[Pick]:
    """Return picks, those marked whose best the samples do not tell from the bait as it stands.

    Its own chance lies within the interval of their best, and no number of the brief is moved.
    """
    return [replace(p, idle=p.best is not None and _alike(p.best, own)) for p in picks]


def _alike(best: Candidate, own: Candidate) -> bool:
    if best.chance is None or own.chance is None or best.chance.low > own.share:
        return False
    return not any(
        abs(new.middle / old.middle - 1.0) > MOVED
        for new in best.changes
        for old in own.changes
        if new.clause == old.clause
    )


def _before(trial: Trial, axis: Axis) -> str:
    raw = value_at(trial.base.tables, axis.path)
    found = quantities(raw)
    return replaced(raw, found) if found else ""


def choose(
    axis: Axis, before: str, candidates: list[Candidate], cost: str = MOULDED, sure: float = SURE
) -> Pick:
    """Return the pick among candidates: met in the middle, then the best probability.

    Equal probabilities go to the larger margin in the middle.
    """
    order = sorted(candidates, key=lambda c: (-c.share, -c.middle.margin))
    good = [c for c in order if c.middle.passes]
    best = good[0] if good else None
    nearest = best or max(candidates, key=lambda c: (c.middle.margin, c.share))
    return Pick(axis, before, best, _keep(candidates, best), nearest, candidates, cost, sure)


def size_of(text: str) -> tuple[float, str] | None:
    """Return number and unit of a value as a case states it, of a taper those at its root."""
    found = read_quantity(next(iter(QUOTED.findall(text)), text))
    return None if found is None else (float(found.number), found.unit)


def _keep(candidates: list[Candidate], best: Candidate | None) -> tuple[str, str]:
    if best is None:
        return ("", "")
    at = candidates.index(best)

    def near(c: Candidate) -> bool:
        return c.middle.passes and c.share >= best.share - KEEP_WITHIN

    low = high = at
    while low > 0 and near(candidates[low - 1]):
        low -= 1
    while high < len(candidates) - 1 and near(candidates[high + 1]):
        high += 1
    return candidates[low].value, candidates[high].value


def ranked(picks: Sequence[Pick]) -> list[Pick]:
    """Return picks, the best first.

    Those that are sure enough by cost and then by chance, then the others by chance, then those
    that miss by how far, and of those that miss alike the cheaper one.
    """
    return sorted(
        picks,
        key=lambda p: (
            p.best is None,
            p.least is None,
            COSTS.index(p.cost) if p.least else 0,
            -(p.chosen.share if p.best else 0.0),
            *miss_order(p.nearest, p.cost),
        ),
    )


def miss_order(tried: Candidate, cost: str) -> tuple[float, int, float]:
    """Return the order of what misses: by its margin, of those that read alike by their cost."""
    margin = tried.middle.margin
    return -round(margin, ALIKE), COSTS.index(cost), -margin
