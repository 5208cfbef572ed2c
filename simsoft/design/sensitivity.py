"""Which scatter costs most, and the corner where the brief fails."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from simsoft.core.arrays import Array
from simsoft.design.distribution import Scatter
from simsoft.design.sweep.run import Progress, Runner
from simsoft.design.tolerance import Sample, Trial, points, run_samples

CORNER = 0.05  # share of a distribution that lies beyond a corner
CORNER_INPUTS = 2


@dataclass(frozen=True)
class Effect:
    """What one input does to the margin of the brief.

    Attributes
    ----------
    input : Scatter
    share : float, of the explained variation, 0..1
    rank : float, Spearman's rank correlation of the input with the margin
    """

    input: Scatter
    share: float
    rank: float


def effects(trial: Trial, shares: Array, samples: Sequence[Sample]) -> list[Effect]:
    """Return the inputs by their share of the margin's variation, largest first.

    Squared rank correlations of the same sample (scipy.stats.spearmanr), scaled to one; right
    where the margin rises or falls steadily with every input, whatever the curve.
    """
    from scipy.stats import spearmanr

    margin = np.array([sample.margin for sample in samples])
    ranks = np.zeros(len(trial.inputs))
    if np.ptp(margin) > 0.0:
        for j in range(len(ranks)):
            ranks[j] = float(spearmanr(shares[:, j], margin).statistic)
    total = float((ranks**2).sum()) or 1.0
    found = [
        Effect(item, float(r * r / total), float(r))
        for item, r in zip(trial.inputs, ranks, strict=True)
    ]
    return sorted(found, key=lambda effect: -effect.share)


@dataclass(frozen=True)
class Corner:
    """The two worst inputs at their unfavourable ends, all others in the middle.

    Attributes
    ----------
    settings : tuple of (input, value)
    sample : Sample, run there
    """

    settings: tuple[tuple[Scatter, float], ...]
    sample: Sample


def failing_corner(
    trial: Trial, directory: Path, runner: Runner, design: Sequence[str] = ()
) -> Corner:
    """Run the corner of what is made and how it is used, five per cent from the ends.

    Every such input is first moved alone to both ends; the two that cost most margin make the
    corner, each at its worse end. What the program does not know is no corner that a maker could
    avoid; it stands in the middle, unless nothing else scatters.
    """
    made = [j for j, item in enumerate(trial.inputs) if item.group != "model"]
    made = made or list(range(len(trial.inputs)))
    alone = np.full((2 * len(made), len(trial.inputs)), 0.5)
    for row, j in enumerate(made):
        alone[2 * row, j], alone[2 * row + 1, j] = CORNER, 1.0 - CORNER
    moved = run_samples(trial, alone, directory, runner, None, design)
    worst = sorted((sample.margin, made[i // 2], float(alone[i, made[i // 2]]))
                   for i, sample in enumerate(moved))  # fmt: skip
    chosen: dict[int, float] = {}
    for _, j, share in worst:
        if len(chosen) < CORNER_INPUTS:
            chosen.setdefault(j, share)
    shares = np.full((1, len(trial.inputs)), 0.5)
    settings = []
    for j, share in chosen.items():
        shares[0, j] = share
        settings.append((trial.inputs[j], trial.inputs[j].at(share)))
    sample = run_samples(trial, shares, directory, runner, None, design)[0]
    return Corner(tuple(settings), sample)


@dataclass(frozen=True)
class SobolIndex:
    """Sobol indices of one input with 95 % bootstrap intervals."""

    input: Scatter
    first: float
    first_ends: tuple[float, float]
    total: float
    total_ends: tuple[float, float]


def sobol(
    trial: Trial,
    count: int,
    seed: int,
    directory: Path,
    runner: Runner,
    progress: Progress | None = None,
) -> list[SobolIndex]:
    """Return Sobol indices of the brief's margin (scipy.stats.sobol_indices, Saltelli 2010).

    Costs ``count`` (a power of two) times the number of inputs plus two runs.
    """
    from scipy.stats import qmc, sobol_indices

    d = len(trial.inputs)
    power = max(2, int(np.ceil(np.log2(count))))
    n = 2**power
    both = qmc.Sobol(2 * d, scramble=True, rng=seed).random_base2(power)
    a, b = both[:, :d], both[:, d:]
    mixed = np.tile(a, (d, 1, 1))
    for j in range(d):
        mixed[j, :, j] = b[:, j]
    every = np.concatenate([a, b, mixed.reshape(d * n, d)])
    samples = run_samples(trial, every, directory, runner, progress)
    margin = np.array([sample.margin for sample in samples])
    given = {
        "f_A": margin[None, :n],
        "f_B": margin[None, n : 2 * n],
        "f_AB": margin[2 * n :].reshape(d, 1, n),
    }
    if np.ptp(margin) == 0.0:
        return [SobolIndex(item, 0.0, (0.0, 0.0), 0.0, (0.0, 0.0)) for item in trial.inputs]
    result = sobol_indices(func=given, n=n, rng=seed)
    sure = result.bootstrap(confidence_level=0.95, n_resamples=200)
    first, total = np.ravel(result.first_order), np.ravel(result.total_order)
    ends = [
        (np.ravel(interval.low), np.ravel(interval.high))
        for interval in (
            sure.first_order.confidence_interval,
            sure.total_order.confidence_interval,
        )
    ]
    found = [
        SobolIndex(
            item,
            float(first[j]),
            (float(ends[0][0][j]), float(ends[0][1][j])),
            float(total[j]),
            (float(ends[1][0][j]), float(ends[1][1][j])),
        )
        for j, item in enumerate(trial.inputs)
    ]
    return sorted(found, key=lambda index: -index.total)


@dataclass(frozen=True)
class Agreement:
    """Samples of the fast mode judged again by the full path."""

    same: int
    count: int


def agreement(
    trial: Trial,
    full: Trial,
    count: int,
    seed: int,
    directory: Path,
    runner: Runner,
    design: Sequence[str] = (),
) -> Agreement:
    """Judge the first samples by both ways; only what differs shows the screening's error."""
    shares = points(trial, count, seed)[:count]
    quick = run_samples(trial, shares, directory, runner, None, design)
    whole = run_samples(full, shares, directory, runner, None, design)
    same = sum(a.passes == b.passes for a, b in zip(quick, whole, strict=True))
    return Agreement(same, count)
