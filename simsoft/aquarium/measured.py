"""A measured quantity: value, standard uncertainty, method, how many readings, what is doubtful."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from scipy import stats

from simsoft.aquarium.columns import LARGEST
from simsoft.core.arrays import Array
from simsoft.core.quantities import measured_span
from simsoft.results.record import Record

LONGEST_RUNS = 120  # characters
STATED_RATIO = 1e-6  # the least of the stated u counts as no smaller a share of the largest
APART = 0.5  # u over value from which repeats of a positive quantity agree on nothing
TANK = "tank"  # scenario of measured records
At = dict[str, float | int | str]


@dataclass(frozen=True)
class Flag:
    """A doubt about a measurement.

    Attributes
    ----------
    word : str, short name ('alias', 'blur', ...)
    text : str, what is wrong and what to change
    severe : bool, True where the number must not be trusted; False where it is worth knowing
    """

    word: str
    text: str
    severe: bool = True


@dataclass(frozen=True)
class Measured:
    """One measured quantity.

    Attributes
    ----------
    quantity : str, as in the records of a run
    value : float or None; SI, angles in degrees
    u : float or None, standard uncertainty (68 %), same unit
    unit : str
    method : str
    n : int, beats, swings, rows or runs behind the value
    at : dict, conditions in SI ('speed' [m/s], 'temperature' [K], 'view', ...)
    flags : tuple of Flag
    run : str, name of the run or file
    reason : str or None, why there is no value
    """

    quantity: str
    value: float | None
    u: float | None
    unit: str
    method: str
    n: int
    at: At = field(default_factory=dict)
    flags: tuple[Flag, ...] = ()
    run: str = ""
    reason: str | None = None

    @property
    def clear(self) -> bool:
        """True where there is a value and no severe flag."""
        return self.value is not None and not any(flag.severe for flag in self.flags)

    def record(self, part: str = "") -> Record:
        """Return the measurement as a record; the band is the value and its uncertainty."""
        at: At = {**self.at, "n": self.n}
        if self.run:
            at["run"] = self.run
        if self.flags:
            at["flags"] = " ".join(flag.word for flag in self.flags)
        basis = f"measured: {self.method}"
        if self.value is None:
            reason = self.reason or "not measured"
            return Record(TANK, part, self.quantity, None, None, None, self.unit, basis, at, reason)
        u = self.u
        low, high = (None, None) if u is None else (self.value - u, self.value + u)
        return Record(TANK, part, self.quantity, self.value, low, high, self.unit, basis, at)


def lacking(quantity: str, unit: str, method: str, reason: str, n: int = 0) -> Measured:
    """Return a quantity that could not be measured, with the reason in one line."""
    return Measured(quantity, None, None, unit, method, n, reason=reason)


def sound(measured: Measured) -> Measured:
    """Return a measurement whose value is finite and possible, else none with the reason."""
    value, u = measured.value, measured.u
    if value is None:
        return replace(measured, u=None)
    span = measured_span(measured.quantity)
    reason = ""
    if not math.isfinite(value) or (u is not None and not math.isfinite(u)):
        reason = "the rows do not carry the estimate: it does not come out finite"
    elif span is not None and not span[0] < value <= span[1]:
        reason = f"the estimate is impossible: {value:.3g} {measured.unit}".rstrip()
    elif max(abs(value), u or 0.0) > LARGEST:
        reason = f"the estimate is impossible: {value:.3g} +- {u or 0.0:.3g}"
    return replace(measured, value=None, u=None, reason=reason) if reason else measured


def joined_runs(found: Sequence[Measured]) -> str:
    """Return the names of runs on one line, the first ones only where there are many."""
    names = [m.run for m in found if m.run]
    text = " ".join(names)
    if len(text) <= LONGEST_RUNS or len(names) < 2:
        return text
    return f"{names[0][:LONGEST_RUNS]} and {len(names) - 1} more"


def disagreement(values: Array, u: float, unit: str) -> tuple[Flag, ...]:
    """Return a severe flag where repeats of a positive quantity agree on nothing, else none."""
    if u <= APART * float(np.mean(values)):
        return ()
    text = f"repeats lie from {values.min():.3g} to {values.max():.3g} {unit}".rstrip()
    return (Flag("repeats-disagree", f"{text}: look for the one that is wrong"),)


def pooled(found: Sequence[Measured]) -> Measured:
    """Return one value for repeats of one quantity under the same conditions.

    The weighted mean; its uncertainty is the larger of the internal one (from the stated u) and
    the external one (from the scatter of the repeats, with Student's t for few of them).
    Repeats with a severe flag are left out where a clear one exists. Repeats of a positive
    quantity that agree on nothing raise a severe flag.
    """
    having = [m for m in found if m.value is not None]
    clear = [m for m in having if m.clear] or having
    if not clear:
        return found[0]
    if len(clear) == 1:
        return clear[0]
    values = np.array([m.value for m in clear], dtype=float)
    stated = np.array([m.u if m.u is not None else 0.0 for m in clear])
    stated = np.maximum(stated, STATED_RATIO * stated.max())
    weights = np.ones(len(clear)) if (stated <= 0.0).any() else stated**-2.0
    mean = float((weights * values).sum() / weights.sum())
    internal = float(np.sqrt((weights**2 * stated**2).sum()) / weights.sum())
    scatter = float(np.std(values, ddof=1)) / math.sqrt(len(values))
    external = scatter * float(stats.t.ppf(0.8413447, len(values) - 1))
    flags = tuple({flag.word: flag for m in clear for flag in m.flags}.values())
    u = max(internal, external)
    span = measured_span(clear[0].quantity)
    if span is not None and span[0] >= 0.0:
        flags += disagreement(values, u, clear[0].unit)
    runs = joined_runs(clear)
    return replace(
        clear[0],
        value=mean,
        u=u,
        n=len(clear),
        method=f"{clear[0].method}; weighted mean of {len(clear)} runs",
        flags=flags,
        run=runs,
    )
