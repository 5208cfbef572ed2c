"""Two values changed at once, where no single one meets the brief often enough.

Which pairs are tried is foretold from the single changes: what two of them do to the margin of
each clause adds up. That only chooses; every pair that is told was run forward, in its middle and
then by the same sample as the single ones, the least change first.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from simsoft.core.arrays import Array
from simsoft.design.brief import Finding
from simsoft.design.candidates import (
    Bench,
    Candidate,
    Judged,
    Tried,
    candidate,
    laid_out,
    run_and_judge,
)
from simsoft.design.cost import COSTS
from simsoft.design.pick import ALIKE, Pick, miss_order, size_of
from simsoft.design.tolerance import CLIPPED

# All judgements: how many pairs of keys are tried and from which foretold margins, in half bands,
# their values; how many pairs are sampled at a time, and in all.
PAIRS, RUNGS = 8, (0.7, 1.2, 2.0)
AT_ONCE, MOST_SAMPLED = 4, 16
LIKELY = 0.7  # half bands of margin in the middle from which four in five samples may meet


@dataclass(frozen=True)
class Two:
    """Two changes at once.

    Attributes
    ----------
    levers : tuple of Pick, the single ones of both keys
    values : tuple of str
    cost : str, the dearer of both
    size : float, of the change: the sum of both, each over the range looked through
    tried : Candidate
    """

    levers: tuple[Pick, Pick]
    values: tuple[str, str]
    cost: str
    size: float
    tried: Candidate

    @property
    def sets(self) -> list[str]:
        """Both changes as overrides."""
        return [f"{p.axis.path}={v}" for p, v in zip(self.levers, self.values, strict=True)]

    def does(self, sure: float) -> bool:
        """Tell whether they meet the brief in their middle, and as often as ``sure``."""
        return self.tried.middle.passes and self.tried.share >= sure


@dataclass(frozen=True)
class _Pair:
    """A pair of values to be tried, and its foretold margin."""

    levers: tuple[Pick, Pick]
    values: tuple[str, str]
    cost: str
    size: float
    foretold: float

    @property
    def order(self) -> tuple[int, float]:
        """What it asks for, then its size."""
        return COSTS.index(self.cost), self.size


def two_at_once(bench: Bench, picks: Sequence[Pick], sure: float) -> list[Two]:
    """Return the pairs of changes tried, the advised one first.

    First stands the least change, by what it asks for and then by its size, of those that meet the
    brief as often as ``sure``; then the others by chance, then by margin.

    Parameters
    ----------
    bench : Bench
    picks : sequence of Pick, of every key alone
    sure : float
    """
    own = laid_out(bench, "", ())
    (alone,) = run_and_judge(bench, "as it stands", [own], [own.middle])
    before = _margins(alone.samples[0].findings) if alone.samples else np.zeros(0)
    pairs = list(_wanted(picks, before)) if len(before) else []
    if not pairs:
        return []
    found = _run(bench, pairs, sure)
    first = min(found, key=lambda two: _rank(two, sure))
    if first.does(sure):
        found += _run(bench, _smaller(first, before, found), sure)
    return sorted(found, key=lambda two: _rank(two, sure))


def _smaller(first: Two, before: Array, found: Sequence[Two]) -> list[_Pair]:
    """Return smaller changes of the same keys that come next in what is foretold of them."""
    known = {two.values for two in found if two.levers == first.levers}
    left = [
        pair
        for pair in _pairs_of(*first.levers, before)
        if pair.size < first.size and pair.values not in known
    ]
    return sorted(left, key=lambda pair: -pair.foretold)[:AT_ONCE]


def _run(bench: Bench, pairs: Sequence[_Pair], sure: float) -> list[Two]:
    """Return pairs run forward, each in its middle, and sampled until one is sure enough."""
    tried = [laid_out(bench, ", ".join(p.values), _design(p)) for p in pairs]
    middles = run_and_judge(bench, "two at once", tried, [one.middle for one in tried])
    scattered = _sampled(bench, pairs, tried, middles, sure)
    return [
        Two(pair.levers, pair.values, pair.cost, pair.size, candidate(one, middle, sample))
        for pair, one, middle, sample in zip(pairs, tried, middles, scattered, strict=True)
    ]


def _rank(two: Two, sure: float) -> tuple[bool, bool, float, float, float]:
    does = two.does(sure)
    cost = float(COSTS.index(two.cost)) if does else -two.tried.share
    return (
        not does, not two.tried.middle.passes, cost, two.size if does else 0.0,
        -two.tried.middle.margin,
    )  # fmt: skip


def _design(pair: _Pair) -> tuple[str, ...]:
    return tuple(f"{p.axis.path}={v}" for p, v in zip(pair.levers, pair.values, strict=True))


def _margins(findings: Sequence[Finding]) -> Array:
    """Return the margin of every clause in half bands, clipped as those of samples are."""
    return np.clip([finding.bands for finding in findings], -CLIPPED, CLIPPED)


def _wanted(picks: Sequence[Pick], before: Array) -> Iterator[_Pair]:
    """Yield the pairs of values worth a run: of the best pairs of keys a few rungs each."""
    by_keys = []
    for first, second in itertools.combinations(picks, 2):
        if first.axis.path == second.axis.path:  # one key has one value
            continue
        pairs = sorted(_pairs_of(first, second, before), key=lambda pair: pair.size)
        if not pairs:
            continue
        chosen = sorted(pairs, key=lambda pair: -pair.foretold)[: len(RUNGS)]
        enough = [next((p for p in pairs if p.foretold >= rung), None) for rung in RUNGS]
        if enough[0] is not None:  # the best foretold, and the least that may do it
            chosen = list({id(p): p for p in [chosen[0], *enough] if p is not None}.values())
        by_keys.append(chosen)
    by_keys.sort(key=_worth)
    for chosen in by_keys[:PAIRS]:
        yield from chosen


def _worth(chosen: Sequence[_Pair]) -> tuple[bool, float, float]:
    """Return the order of a pair of keys: what may do it by cost and size, else by its margin."""
    likely = [pair for pair in chosen if pair.foretold >= RUNGS[0]]
    if not likely:
        return True, -max(pair.foretold for pair in chosen), 0.0
    cost, size = min(pair.order for pair in likely)
    return False, float(cost), size


def _pairs_of(first: Pick, second: Pick, before: Array) -> Iterator[_Pair]:
    cost = max(first.cost, second.cost, key=COSTS.index)
    sides = [list(_moves(lever, before)) for lever in (first, second)]
    for (one, near, did), (other, far, does) in itertools.product(*sides):
        margin = float(np.min(before + did + does))
        yield _Pair((first, second), (one, other), cost, near + far, margin)


def _moves(lever: Pick, before: Array) -> Iterator[tuple[str, float, Array]]:
    """Yield every other value of a key, the size of its change and what it does to the margins."""
    sizes = [size[0] for c in lever.candidates if (size := size_of(c.value)) is not None]
    span = max(sizes, default=0.0) - min(sizes, default=0.0)
    own = size_of(lever.before)
    for one in lever.candidates:
        if one.value == lever.before or len(one.middle.findings) != len(before):
            continue
        size = size_of(one.value)
        known = own is not None and size is not None and size[1] == own[1] and span > 0.0
        far = abs(size[0] - own[0]) / span if known else 1.0  # type: ignore[index]
        yield one.value, far, _margins(one.middle.findings) - before


def _sampled(
    bench: Bench,
    pairs: Sequence[_Pair],
    tried: Sequence[Tried],
    middles: Sequence[Judged],
    sure: float,
) -> list[Judged]:
    """Return the samples of the pairs, the least change first, until one is sure enough."""
    found = [Judged([], ()) for _ in pairs]
    margin = [m.samples[0].margin if m.samples else -CLIPPED for m in middles]
    passing = [i for i, m in enumerate(middles) if m.samples and m.samples[0].passes]
    order = sorted(passing, key=lambda i: (margin[i] < LIKELY, *_next(pairs[i], margin[i])))
    for start in range(0, min(len(order), MOST_SAMPLED), AT_ONCE):
        some = order[start : start + AT_ONCE]
        batch = [tried[i] for i in some]
        for i, one in zip(
            some, run_and_judge(bench, "two at once, scatter", batch, [b.samples for b in batch]),
            strict=True,
        ):  # fmt: skip
            found[i] = one
        if any(np.mean([s.passes for s in found[i].samples]) >= sure for i in some):
            break
    return found


def _next(pair: _Pair, margin: float) -> tuple[float, float]:
    """Return when a pair is sampled: by cost and size where likely, else by its margin."""
    cost, size = pair.order
    return (cost, size) if margin >= LIKELY else (-margin, 0.0)


def advised(picks: Sequence[Pick], two: Sequence[Two], sure: float) -> Pick | Two | None:
    """Return what is advised of single changes and pairs; None where none meets the brief.

    One change that is sure enough comes before two, two that are before one that is not; of those
    that are not, the likelier.

    Parameters
    ----------
    picks : sequence of Pick, ranked
    two : sequence of Two, the advised one first
    sure : float
    """
    single = next((p for p in picks if p.does), picks[0])
    double = two[0] if two and two[0].tried.middle.passes else None
    if single.best is None:
        return double
    if single.does or double is None:
        return single
    return double if double.tried.share > single.chosen.share else single


def nearest_to_brief(picks: Sequence[Pick], two: Sequence[Two]) -> Pick | Two:
    """Return what comes nearest to the brief in its middle, a single change before a pair."""
    double = min(two, key=lambda t: (*miss_order(t.tried, t.cost), t.size), default=None)
    if double is None:
        return picks[0]
    pair, single = double.tried.middle.margin, picks[0].nearest.middle.margin
    return double if round(pair, ALIKE) > round(single, ALIKE) else picks[0]
