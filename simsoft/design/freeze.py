"""What has to be known before metal is cut: sizes, recipe window, worst corner, chance and cost."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from simsoft.case.overrides import apply
from simsoft.case.read import from_tables
from simsoft.design.brief import GO, Finding
from simsoft.design.cad import Parameter, Shot, cavity, parameters, shot
from simsoft.design.cost import Cost, cost
from simsoft.design.sensitivity import Corner, failing_corner
from simsoft.design.sweep.run import Progress, local_runner
from simsoft.design.sweep.task import BaseCase
from simsoft.design.tolerance import (
    Probability,
    given_looks,
    make_trial,
    points,
    probability,
    run_samples,
)

POINTS = (-9.0, -6.0, -3.0, 0.0, 3.0, 6.0, 9.0)  # Shore points about the case's own
SHORE = (1.0, 99.0)

MIDDLES = 64  # draws that say where the middle lies, given what was seen


@dataclass(frozen=True)
class Freeze:
    """What a freeze sheet says besides the run itself.

    Attributes
    ----------
    sizes, cut : list of Parameter, of the part and of its cavity
    poured : Shot
    chance : Probability, that the brief is met
    costs : Cost
    corner : Corner
    window : tuple of (durometer [points], whether the middle values meet the brief), softest
        first; empty where no durometer is stated
    scale : str, Shore scale of the window
    """

    sizes: list[Parameter]
    cut: list[Parameter]
    poured: Shot
    chance: Probability
    costs: Cost
    corner: Corner
    window: tuple[tuple[float, bool], ...]
    scale: str


def freeze_of(
    base: BaseCase,
    directory: Path,
    samples: int,
    seed: int,
    workers: int | None,
    progress: Progress | None,
) -> Freeze:
    """Return what has to be known before metal is cut; InputError where there is no brief.

    Parameters
    ----------
    base : BaseCase
    directory : Path, where runs are kept
    samples : int
    seed : int
    workers : int or None
    progress : function or None
    """
    trial = given_looks(make_trial(base), samples, seed, directory, workers, progress)
    runner = local_runner(workers, trial.mode)
    shares = points(trial, samples, seed)
    found = run_samples(trial, shares, directory, runner, progress)
    chance = probability([sample.passes for sample in found])
    case = trial.case
    return Freeze(
        sizes=parameters(base.tables),
        cut=cavity(case, base.tables),
        poured=shot(case),
        chance=chance,
        costs=cost(case.shop, 1.0 - chance.value),
        corner=failing_corner(trial, directory, local_runner(1, trial.mode)),
        window=_window(base, directory, workers),
        scale=str(case.material.hardness_scale or ""),
    )


def _window(base: BaseCase, directory: Path, workers: int | None) -> tuple[tuple[float, bool], ...]:
    """Return for durometers about the case's own whether their middle values meet the brief."""
    case = from_tables(base.tables, base.text, base.name)
    own, scale = case.material.hardness, case.material.hardness_scale
    if own is None or case.profile is not None:
        return ()
    found = []
    for value in (own + step for step in POINTS):
        if SHORE[0] <= value <= SHORE[1]:
            tables, _ = apply(base.tables, [f"material.durometer={value:g} {scale}"])
            trial = make_trial(BaseCase(base.name, base.text, tables))
            trial = given_looks(trial, MIDDLES, 1, directory, workers)
            middle = np.full((1, len(trial.inputs)), 0.5)
            runner = local_runner(workers, trial.mode)
            found.append((value, run_samples(trial, middle, directory, runner)[0].passes))
    return tuple(found)


def meeting(window: Sequence[tuple[float, bool]], own: float) -> tuple[float, float] | None:
    """Return the ends of the stretch of durometers about the case's own that meet the brief."""
    values = [value for value, _ in window]
    if own not in values or not dict(window)[own]:
        return None
    first = last = values.index(own)
    while first > 0 and window[first - 1][1]:
        first -= 1
    while last + 1 < len(window) and window[last + 1][1]:
        last += 1
    return values[first], values[last]


def open_reasons(findings: Sequence[Finding], known: Freeze) -> list[str]:
    """Return why a design is not ready for metal; none where it is.

    It is ready when every clause is met by its whole band, the worst corner of making and use
    meets the brief, and no further loop of resin can pay for itself.
    """
    reasons = [f"{f.clause.name}: {f.verdict}" for f in findings if f.verdict != GO]
    if not known.corner.sample.passes:
        where = " and ".join(item.name for item, _ in known.corner.settings)
        reasons.append(f"the worst corner fails: {where}")
    if known.costs.loop_can_pay:
        share = 100.0 * (1.0 - known.chance.value)
        reasons.append(f"{share:.0f} % of samples miss the brief: one more resin loop can pay")
    return reasons
