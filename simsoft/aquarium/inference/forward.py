"""The solver's answers as a cheap function of the uncertain inputs: a quadratic about a centre.

Every input is moved to both ends of its step, alone, with half the elements and twice the time
step, as for the bands; the logarithm of every answer is a parabola through the three. An
answer that jumps at one end (another motion sets in) is no parabola: there the other end counts.
How far the parabola is off where the data lead is checked by one more run.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from threadpoolctl import threadpool_limits

from simsoft.aquarium.compare import as_measured, prediction_of
from simsoft.aquarium.measured import Measured
from simsoft.case.model import Case
from simsoft.core.arrays import Array, Mask
from simsoft.core.band import Band
from simsoft.engine.jobs import on_all_cores
from simsoft.engine.run import COARSE_STEP
from simsoft.lure.parts import Strip, assemble, values_of
from simsoft.results.record import Record
from simsoft.scenarios.question import solve
from simsoft.scenarios.retrieve.marcher import Detail, half_mesh

Progress = Callable[[str, float], None]

SKIPPED = ("set_fraction",)
JUMP, MUCH = 0.3, 4.0  # change of a logarithm at one end, and times that at the other: no curve
ONE_STEP = 1.0  # prior standard deviations an input is moved


@dataclass(frozen=True)
class Prior:
    """Prior of one input: centre and one standard deviation, in the logarithm where positive.

    Attributes
    ----------
    centre, step : float
    logarithmic : bool
    most : float, of an input whose band ends at its value (a share of a theoretical limit)
    least : float, of an input whose band reaches down to zero: it does not turn negative
    """

    centre: float
    step: float
    logarithmic: bool
    most: float = math.inf
    least: float = -math.inf

    def value(self, z: float) -> float:
        """Return the input [SI] at z standard deviations."""
        moved = self.centre + self.step * z
        inside = math.exp(moved) if self.logarithmic else max(self.least, moved)
        return min(self.most, inside)


def prior_of(band: Band) -> Prior | None:
    """Return the prior of a band (its ends are one standard deviation), None where exact."""
    if band.high <= band.low:
        return None
    if band.low > 0.0:
        most = band.high if band.high == band.value else math.inf
        return Prior(math.log(band.value), 0.5 * math.log(band.high / band.low), True, most)
    least = 0.0 if band.low == 0.0 else -math.inf
    return Prior(band.value, 0.5 * (band.high - band.low), False, least=least)


def priors(strip: Strip) -> dict[str, Prior]:
    """Return the priors of a strip's uncertain inputs by name."""
    found = {name: prior_of(band) for name, band in strip.inputs.items() if name not in SKIPPED}
    return {name: prior for name, prior in found.items() if prior is not None}


@dataclass(frozen=True)
class Surrogate:
    """Parabolas for the answers that measurements ask for.

    Attributes
    ----------
    names : tuple of str, inputs
    centre : array (P,), z about which it was built
    base : array (M,), logarithms of the answers there
    slope, bend : array (M, P), per prior standard deviation (squared)
    known : array (M,) of bool, False where the solver has no value to fit
    jumps : array (M, P) of bool, where an answer jumps at one end of an input
    """

    names: tuple[str, ...]
    centre: Array
    base: Array
    slope: Array
    bend: Array
    known: Mask
    jumps: Mask

    def __call__(self, z: Array) -> Array:
        """Return the logarithms (M,) of the answers at inputs z (P,)."""
        away = z - self.centre
        return self.base + self.slope @ away + self.bend @ away**2


def predicted_logs(
    case: Case, strip: Strip, wanted: Sequence[Measured], values: dict[str, float]
) -> Array:
    """Return the solver's logarithms for what was measured, NaN where it has no value.

    Parameters
    ----------
    case : Case, fitted to the measurements' water and speeds
    strip : Strip
    wanted : sequence of Measured, all in that water
    values : dict, input values by name
    """
    water = assemble(case).water
    detail = Detail(
        elements=half_mesh(strip.elements),
        step_factor=COARSE_STEP,
        step=case.numerics.step,
        pictures=False,
    )
    records: list[Record] = []
    for scenario in case.scenarios:
        outcome = solve(strip, water, values, scenario, detail)
        records += [
            Record(scenario.name, strip.name, name, a.value, None, None, a.unit, "", dict(at),
                   a.reason)
            for (name, at), a in outcome.answers.items()
        ]  # fmt: skip
    result = np.full(len(wanted), math.nan)
    for i, measured in enumerate(wanted):
        record = prediction_of(measured, records)
        if record is not None and isinstance(record.value, int | float) and record.value > 0.0:
            result[i] = math.log(record.value)
    return result


def build_surrogate(
    case: Case,
    wanted: Sequence[Measured],
    centre: dict[str, float] | None = None,
    progress: Progress | None = None,
) -> Surrogate:
    """Return the surrogate of a case for its measurements.

    Parameters
    ----------
    case : Case
    wanted : sequence of Measured, in one water
    centre : dict of z by input name, default the priors' centre
    progress : function of a label and the share done
    """
    fitted = as_measured(case, wanted)
    strip = _strip_of(fitted, wanted)
    prior = priors(strip)
    names = tuple(prior)
    middle = np.array([(centre or {}).get(name, 0.0) for name in names])
    points = [middle]
    for i in range(len(names)):
        for step in (-ONE_STEP, ONE_STEP):
            moved = middle.copy()
            moved[i] += step
            points.append(moved)

    def logs_at(z: Array) -> Array:
        values = {name: prior[name].value(float(x)) for name, x in zip(names, z, strict=True)}
        return predicted_logs(fitted, strip, wanted, values_of(strip, **values))

    def report(share: float) -> None:
        if progress is not None:
            progress(f"{case.title}: {strip.name}", share)

    with threadpool_limits(limits=1, user_api="blas"):
        found = on_all_cores(logs_at, points, report)
    capped = np.array([math.isfinite(prior[name].most) for name in names])
    return _parabolas(names, middle, np.array(found), capped)


def _strip_of(case: Case, wanted: Sequence[Measured]) -> Strip:
    strips = assemble(case).strips
    part = next((m.at["part"] for m in wanted if "part" in m.at), None)
    return next((strip for strip in strips if strip.name == part), strips[0])


def _parabolas(names: tuple[str, ...], middle: Array, found: Array, capped: Mask) -> Surrogate:
    """Fit the parabolas; a missing end, or one with a jump, leaves the straight line to the other.

    So does an input both of whose ends move an answer to one side.

    Parameters
    ----------
    names : tuple of str, P inputs
    middle : array (P,), z of the centre
    found : array (1 + 2 P, M), answers at the centre and at both ends of every input
    capped : array (P,) of bool, inputs that cannot pass their value, so that one end stays put
    """
    base = found[0]
    low, high = found[1::2].T, found[2::2].T
    down, up = base[:, None] - low, high - base[:, None]
    less, more = np.fmin(abs(down), abs(up)), np.fmax(abs(down), abs(up))
    alone = np.isnan(down) ^ np.isnan(up)  # the other end may have jumped before it was lost
    jumps = (more > JUMP) & ((more > MUCH * less) | alone) & ~capped
    down, up = (np.where(jumps & (abs(d) == more), math.nan, d) for d in (down, up))
    slope = np.where(np.isnan(down), up, np.where(np.isnan(up), down, 0.5 * (down + up)))
    bend = 0.5 * (up - down)
    # Both ends to one side is another motion at one of them, not a curve: nothing is learned of it.
    bend = np.where(np.abs(bend) > np.abs(slope), 0.0, bend)
    return Surrogate(
        names=names,
        centre=middle,
        base=np.nan_to_num(base),
        slope=np.nan_to_num(slope) / ONE_STEP,
        bend=np.nan_to_num(bend) / ONE_STEP**2,
        known=np.isfinite(base),
        jumps=jumps & np.isfinite(base)[:, None],
    )


def exact_at(case: Case, wanted: Sequence[Measured], z: dict[str, float]) -> Array:
    """Return the solver's own logarithms at inputs z, to check a surrogate against."""
    fitted = as_measured(case, wanted)
    strip = _strip_of(fitted, wanted)
    prior = priors(strip)
    values = {name: prior[name].value(z.get(name, 0.0)) for name in prior}
    with threadpool_limits(limits=1, user_api="blas"):
        return predicted_logs(fitted, strip, wanted, values_of(strip, **values))
