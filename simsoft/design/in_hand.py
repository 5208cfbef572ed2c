"""Samples given what was seen of the bait in hand.

Every draw of the scattering inputs is asked what the bait in hand, as the file has it, would have
done where it was looked at. Draws are kept as often as they explain what was seen. The error of
the model in a number that was seen is one more input, drawn with the rest: what the inputs do not
explain of a look is that error, and all designs share it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from statistics import NormalDist

import numpy as np

from simsoft.case.files import read_tables
from simsoft.case.model import Case
from simsoft.case.observed import GOES, SEEABLE, Seen
from simsoft.case.read import from_tables
from simsoft.core.arrays import Array
from simsoft.design.distribution import WIDEST, Scatter, deviate
from simsoft.design.sweep.row import DONE
from simsoft.design.sweep.run import Progress, local_runner, solve_tasks
from simsoft.design.sweep.runs import STARTS, RunSpec
from simsoft.design.sweep.table import filed_records
from simsoft.design.sweep.task import BaseCase, Mode
from simsoft.engine.rows import OTHER_SHARE, OWN_SHARE
from simsoft.engine.seen import ANSWERS, KINDS, answer_of, as_seen
from simsoft.engine.uncertainty import model_error
from simsoft.geometry.soft_lengths import held_part
from simsoft.solvers.conditioning import REFUSED, belief

_NORMAL = NormalDist()
_TAIL = _NORMAL.cdf(-WIDEST)
DRAWS_A_SAMPLE = 4  # where a draw costs milliseconds


@dataclass(frozen=True)
class OwnError:
    """The model's own error in a number that was seen, as an input.

    Attributes
    ----------
    quantity : str
    middle : float, of its logarithm, where all inputs are in their middle, given the looks
    width : float, before any look
    """

    quantity: str
    middle: float
    width: float

    @property
    def name(self) -> str:
        """Its name among the inputs."""
        return model_error_name(self.quantity)

    def at(self, share: float) -> float:
        """Return the logarithm of the error at a share."""
        return self.middle + self.width * deviate(share)

    def share_of(self, error: float) -> float:
        """Return the share at which the error is so large."""
        share = (_NORMAL.cdf((error - self.middle) / self.width) - _TAIL) / (1.0 - 2.0 * _TAIL)
        return min(max(share, 0.0), 1.0)


@dataclass(frozen=True)
class InHand:
    """What looks leave of the draws.

    Attributes
    ----------
    columns : dict of array, shares of the kept draws by the name of their input
    owns : tuple of OwnError
    told : tuple of str, one line for each look
    """

    columns: dict[str, Array]
    owns: tuple[OwnError, ...]
    told: tuple[str, ...]

    def draws(self, inputs: Sequence[Scatter], others: Array) -> Array:
        """Return the kept draws; ``others`` (draws, inputs) serves inputs that were not drawn."""
        found = others.copy()
        for place, item in enumerate(inputs):
            kept = self.columns.get(item.name)
            if kept is not None:
                found[:, place] = np.resize(kept, len(found))
        return found

    def errors(self, inputs: Sequence[Scatter], shares: Sequence[float]) -> dict[str, float]:
        """Return the logarithm of the model's own error of one draw, by quantity."""
        drawn = {item.name: float(share) for item, share in zip(inputs, shares, strict=True)}
        return {own.quantity: own.at(drawn.get(own.name, 0.5)) for own in self.owns}


def model_error_name(quantity: str) -> str:
    """Return the name of the model's own error in a quantity."""
    return f"the model's own error in {quantity.replace('_', ' ')}"


def own_inputs(owns: Sequence[OwnError]) -> list[Scatter]:
    """Return the model's own errors as inputs that change no key."""
    return [Scatter(own.name, "model", own.at, "", "answer", lambda _: ()) for own in owns]


def bait_base(base: BaseCase) -> BaseCase:
    """Return the base of the bait in hand: the file as it stands, whatever was set."""
    return BaseCase(base.name, base.text, read_tables(base.text, base.name))


def look_at(
    base: BaseCase,
    inputs: Sequence[Scatter],
    shares: Array,
    count: int,
    directory: Path,
    workers: int | None,
    progress: Progress | None = None,
) -> InHand:
    """Return the draws that looks leave.

    Parameters
    ----------
    base : BaseCase, of the bait in hand
    inputs : sequence of Scatter, of the bait in hand
    shares : array (draws, inputs), of which the first row is the middle
    count : int, draws to keep
    directory : Path, where runs are kept
    workers : int or None, processes
    """
    case = from_tables(base.tables, base.text, base.name)
    weigh = _Weights(len(shares))
    told = []
    for seen in case.seen:
        found = _answers(base, case, seen, inputs, shares, directory, workers, progress)
        if isinstance(found, str):
            told.append(f"the {_named(seen)} seen is left out: {found}")
        else:
            told.append(weigh.look(case, seen, *found))
    if not weigh.owns:
        return InHand({}, (), tuple(told))
    kept = weigh.kept(count)
    columns = {item.name: shares[weigh.origin[kept], i] for i, item in enumerate(inputs)}
    owns: list[OwnError] = []
    for quantity, (centre, variance, width) in weigh.owns.items():
        own = OwnError(quantity, float(centre[0]), width)
        errors = centre[kept] + np.sqrt(variance[kept]) * _spread(count, len(owns))
        columns[own.name] = np.array([own.share_of(float(error)) for error in errors])
        owns.append(own)
    told.append(
        f"{len(shares) - 1} samples were drawn; given what was seen they count as "
        f"{weigh.effective:.0f}"
    )
    return InHand(columns, tuple(owns), tuple(told))


def _spread(count: int, seed: int) -> Array:
    """Return standard normal deviates, evenly spread and shuffled."""
    even = [_NORMAL.inv_cdf((i + 0.5) / count) for i in range(count)]
    return np.random.default_rng(seed).permutation(even)


class _Weights:
    """How well each draw explains the looks so far, and what it leaves to the model's own error.

    A strange look doubles the draws: some believe it, the others stand as they were. ``origin`` is
    the number of the draw that each comes from.
    """

    def __init__(self, count: int) -> None:
        self.origin = np.arange(count)
        self.log = np.zeros(count)
        self.owns: dict[str, tuple[Array, Array, float]] = {}

    @property
    def shares(self) -> Array:
        """Weights of the draws; the middle, which is no draw, has none."""
        drawn = self.origin > 0
        weights = np.where(drawn, np.exp(self.log - self.log[drawn].max()), 0.0)
        return np.asarray(weights / weights.sum())

    @property
    def effective(self) -> float:
        """Return how many equal draws are as good."""
        return 1.0 / float((self.shares**2).sum())

    def look(self, case: Case, seen: Seen, part: str, answers: Array) -> str:
        """Take one look; ``answers`` are logarithms, NaN where the bait in hand has none."""
        answers = answers[self.origin]
        quantity = ANSWERS.get(seen.quantity, seen.quantity)
        low, width = _own(case, part, quantity)
        size = len(answers)
        new = (np.full(size, low), np.full(size, width**2), width)
        centre, variance, width = self.owns.get(quantity, new)
        wanted = seen.speed if seen.value is None else seen.value
        away = math.log(max(float(wanted or 0.0), 1e-9)) - answers - centre
        side = 0.0 if seen.value is not None else 1.0 if seen.equals in GOES else -1.0
        doubt = math.log1p(seen.doubt)
        chance = self._chance(away, variance, doubt, side)
        line = f"seen: {_named(seen)}"
        if chance < REFUSED:
            return f"{line}: left out, its chance is {chance:.2g}: it or the case is wrong"
        share = 1.0 if side else belief(chance)
        before = self.shares, self.owns | {quantity: (centre, variance, width)}
        spread = np.sqrt(variance + doubt**2)
        z = away / spread
        if side:
            inside = np.array([_NORMAL.cdf(side * x) if x == x else 0.0 for x in z])
            if side < 0.0:
                inside = np.where(np.isnan(answers), 1.0, inside)
            inside = np.maximum(inside, 1e-300)
            hazard = np.nan_to_num(np.exp(-0.5 * z**2) / math.sqrt(2.0 * math.pi) / inside)
            self.log += np.log(inside)
            moved = -side * variance / spread * hazard
            left = variance**2 / spread**2 * hazard * (hazard + side * np.nan_to_num(z))
        else:
            self.log += np.where(np.isnan(z), -700.0, -0.5 * z**2 - np.log(spread))
            moved = variance / spread**2 * np.nan_to_num(away)
            left = variance**2 / spread**2
        self.owns[quantity] = (centre + moved, variance - left, width)
        if share == 1.0:
            return f"{line}: every sample is drawn given it"
        self._as_well(share, *before)
        return f"{line}: strange, so {100.0 * share:.0f} % of the samples are drawn given it"

    def _as_well(
        self, share: float, shares: Array, owns: dict[str, tuple[Array, Array, float]]
    ) -> None:
        """Let the draws as they were stand beside those that took a look, which get a share."""
        both = np.concatenate([share * self.shares, (1.0 - share) * shares])
        self.log = np.log(np.maximum(both, 1e-300))
        self.origin = np.tile(self.origin, 2)
        for quantity, (centre, variance, width) in self.owns.items():
            old = owns[quantity]
            self.owns[quantity] = (
                np.concatenate([centre, old[0]]),
                np.concatenate([variance, old[1]]),
                width,
            )

    def _chance(self, away: Array, variance: Array, doubt: float, side: float) -> float:
        """Return the chance of a look at least so strange, of a side's own."""
        z = away / np.sqrt(variance + doubt**2)
        known = ~np.isnan(z)
        below = np.array(
            [_NORMAL.cdf(x) if good else 0.0 for x, good in zip(z, known, strict=True)]
        )
        if side:  # a draw that does not start at all is above every speed
            share = float(self.shares @ below)
            return share if side > 0.0 else 1.0 - share
        share = float(self.shares[known] @ below[known]) / float(self.shares[known].sum())
        return 2.0 * min(share, 1.0 - share)

    def kept(self, count: int) -> np.ndarray:
        """Return the numbers of the draws kept, each as often as its weight asks.

        Draws are shuffled first: every so manieth point of a Sobol sequence lies in one corner.
        """
        order = np.random.default_rng(0).permutation(len(self.log))
        steps = (np.arange(count) + 0.5) / count
        places = np.searchsorted(np.cumsum(self.shares[order]), steps)
        return np.asarray(order[np.minimum(places, len(order) - 1)])


def _named(seen: Seen) -> str:
    unit = SEEABLE[seen.quantity]
    size = f"'{seen.equals}'" if seen.value is None else f"{seen.value:.3g} {unit}".rstrip()
    return f"{seen.quantity.replace('_', ' ')} {size}"


def can_screen_look(case: Case, seen: Seen) -> bool:
    """Tell whether a look is answered without a march."""
    paddles = all(part.paddle is not None and part.model != "plate" for part in case.parts)
    return ANSWERS.get(seen.quantity, seen.quantity) in STARTS and bool(case.parts) and paddles


def _answers(
    base: BaseCase,
    case: Case,
    seen: Seen,
    inputs: Sequence[Scatter],
    shares: Array,
    directory: Path,
    workers: int | None,
    progress: Progress | None,
) -> tuple[str, Array] | str:
    """Return part and logarithms of what the bait in hand answers to each draw, or why not."""
    from simsoft.design.tolerance import Trial, tasks_at

    asked = as_seen(case, seen)
    if asked is None:
        return f"no {KINDS.get(seen.quantity, 'retrieve')} of the case answers it"
    mode: Mode = "fast" if can_screen_look(case, seen) else "full"
    spec = _spec(asked.scenarios[0].name, seen)
    day = [item if item.kind == "override" else _idle(item) for item in inputs]
    trial = Trial(base, case, day, (spec,), mode)
    told = None if progress is None else (lambda text, share: progress(f"seen: {text}", share))
    runner = local_runner(workers, mode)
    solved = solve_tasks(base, [tasks_at(trial, row) for row in shares], directory, runner, told)
    answers, part, why = np.full(len(shares), math.nan), "", ""
    for number, rows in enumerate(solved):
        bad = next((row.reason for row in rows if row.status != DONE), "")
        record = None if bad else answer_of(filed_records(rows, [None]), seen)
        if record is not None and isinstance(record.value, float) and record.value > 0.0:
            answers[number], part = math.log(record.value), record.part
        else:
            why = why or bad or (record.reason if record is not None else "") or "no value"
    if np.isnan(answers[0]) or np.isnan(answers[1:]).all():
        return why
    return part, answers


def _idle(item: Scatter) -> Scatter:
    """Return the scatter of a day as none: a look brings its own doubt of speed and water."""
    still = 1.0 if item.kind == "speed" else 0.0
    return Scatter(item.name, item.group, lambda _: still, item.unit, item.kind, lambda _: ())


def _own(case: Case, part: str, quantity: str) -> tuple[float, float]:
    """Return centre and width of the logarithm of the model's own error."""
    whole = next((p for p in case.parts if part.split("/")[0] == p.name), None)
    errors = {} if whole is None else model_error(held_part(case, whole))
    if quantity in errors:
        low, high = (math.log(end) for end in errors[quantity])
        return 0.5 * (low + high), 0.5 * (high - low)
    return 0.0, OWN_SHARE.get(quantity, OTHER_SHARE)


def _spec(scenario: str, seen: Seen) -> RunSpec:
    """Return the run that answers one look."""
    path = f"scenarios.{scenario}"
    overrides: tuple[str, ...] = ()
    if seen.quantity in ("start_speed", "verdict"):
        overrides = (f"{path}.onset=true", f"{path}.march=false")
    elif seen.speed is not None:
        overrides = (f'{path}.speed=["{seen.speed:.9g} m/s"]', f"{path}.march=true")
    after: tuple[str, ...] = ()
    if seen.temperature is not None:
        after = (f"water.temperature={seen.temperature:.9g} K",)
    return RunSpec(overrides, after, (scenario,), None)
