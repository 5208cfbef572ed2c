"""Candidates for the next run of a case, and how far each narrows the doubt about it."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from simsoft.aquarium.inference.calibrate import MODEL_SHARE, Calibration, calibrate_designs
from simsoft.aquarium.inference.forward import Surrogate, build_surrogate, priors
from simsoft.aquarium.inference.plan import BENCH, Choice, RunCandidate, rank_runs, wished
from simsoft.aquarium.measured import Measured
from simsoft.case.model import Case
from simsoft.core.arrays import Array
from simsoft.core.errors import InputError
from simsoft.core.quantities import words
from simsoft.lure.parts import assemble

Progress = Callable[[str, float], None]


@dataclass(frozen=True)
class Advice:
    """What to measure next.

    Attributes
    ----------
    target : str, what the verdict hangs on
    factor : float, its standard deviation now, as a factor
    choices : tuple of Choice, best first
    jumps : tuple of str, inputs at one end of whose band another motion sets in
    """

    target: str
    factor: float
    choices: tuple[Choice, ...]
    jumps: tuple[str, ...] = ()


def advise(
    case: Case, found: Sequence[Measured] = (), progress: Progress | None = None
) -> list[Advice]:
    """Return for every number the verdict hangs on which runs would narrow it most.

    Parameters
    ----------
    case : Case, with a retrieve scenario
    found : sequence of Measured, runs made already
    progress : function of a label and the share done

    Raises
    ------
    InputError
        The case has no retrieve scenario or no uncertain input.
    """
    retrieve = next((s for s in case.scenarios if s.kind == "retrieve"), None)
    if retrieve is None:
        raise InputError(f"{case.title}: a retrieve scenario is needed to plan runs for")
    still = any(s.kind == "hold" for s in case.scenarios)
    wanted = wished(retrieve.speeds, case.water.temperature, natural=still)
    surrogate = build_surrogate(case, wanted, None, progress)
    covariance, centre = _known(
        surrogate, calibrate_designs([(case, found)], progress) if found else None
    )
    slope = surrogate.slope + 2.0 * surrogate.bend * (centre - surrogate.centre)
    candidates = _candidates(wanted, surrogate, slope) + _bench(case, surrogate)
    advice = []
    for i, m in enumerate(wanted):
        if not surrogate.known[i] or m.quantity not in ("start_speed", "flap_frequency"):
            continue
        label = _label(m)
        now = math.sqrt(float(slope[i] @ covariance @ slope[i]))
        choices = tuple(rank_runs(covariance, slope[i], candidates))
        jumps = tuple(n for n, j in zip(surrogate.names, surrogate.jumps[i], strict=True) if j)
        advice.append(Advice(label, math.exp(now), choices, jumps))
    if not advice:
        raise InputError(f"{case.title}: the solver gives neither start speed nor beat to plan for")
    return advice


def _known(surrogate: Surrogate, calibration: Calibration | None) -> tuple[Array, Array]:
    """Return covariance and mean of the surrogate's inputs."""
    count = len(surrogate.names)
    if calibration is None:
        return np.eye(count), np.zeros(count)
    names = calibration.posterior.names
    index = [names.index(name) for name in surrogate.names]
    covariance = calibration.posterior.covariance[np.ix_(index, index)]
    return covariance, calibration.posterior.mean[index]


def _label(m: Measured) -> str:
    word = words(m.quantity)
    return f"{word} at {float(m.at['speed']):g} m/s" if "speed" in m.at else word


def _candidates(
    wanted: Sequence[Measured], surrogate: Surrogate, slope: Array
) -> list[RunCandidate]:
    """Return runs: beat and stroke of one speed are filmed together."""
    groups: dict[str, list[int]] = {}
    for i, m in enumerate(wanted):
        if not surrogate.known[i]:
            continue
        if "speed" in m.at:
            label = f"film a run at {float(m.at['speed']):g} m/s"
        elif m.quantity == "start_speed":
            label = "a speed ramp"
        else:
            label = "flick the tail in still water"
        groups.setdefault(label, []).append(i)
    return [
        RunCandidate(
            label,
            slope[rows],
            np.array([float(wanted[i].u or 0.0) for i in rows]),
            np.array([MODEL_SHARE[wanted[i].quantity] for i in rows]),
        )
        for label, rows in groups.items()
    ]


def _bench(case: Case, surrogate: Surrogate) -> list[RunCandidate]:
    """Return bench tests: an input read directly, in prior standard deviations."""
    prior = priors(assemble(case).strips[0])
    groups: dict[str, list[tuple[Array, float]]] = {}
    for name, u, label in BENCH:
        if name in surrogate.names:
            direct = np.zeros(len(surrogate.names))
            direct[surrogate.names.index(name)] = 1.0
            groups.setdefault(label, []).append((direct, u / prior[name].step))
    return [
        RunCandidate(
            label,
            np.array([d for d, _ in rows]),
            np.array([s for _, s in rows]),
            np.zeros(len(rows)),
        )
        for label, rows in groups.items()
    ]
